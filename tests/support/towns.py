"""A place search on this computer that knows two invented towns of one name."""

import contextlib
import json
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

TOWNS = [
    {"id": 1, "name": "Sandquay", "latitude": 53.21, "longitude": -8.87, "elevation": 12.0,
     "feature_code": "PPL", "timezone": "Europe/Dublin", "country": "Ireland",
     "admin1": "Connacht"},
    {"id": 2, "name": "Sandquay", "latitude": -41.3, "longitude": 174.8, "feature_code": "PPL",
     "timezone": "Pacific/Auckland", "country": "New Zealand"},
]  # fmt: skip


class _Search(BaseHTTPRequestHandler):
    def do_GET(self):
        """Answer as the service does, whatever the name."""
        self.server.asked.append(self.path)
        body = json.dumps({"results": TOWNS, "generationtime_ms": 0.2}).encode()
        self.send_response(200)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        """Say nothing."""


@contextlib.contextmanager
def place_search(asked=None):
    """Yield the address of the search; ``asked`` takes the paths it is asked for."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Search)
    server.asked = [] if asked is None else asked
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join(5)
    server.server_close()

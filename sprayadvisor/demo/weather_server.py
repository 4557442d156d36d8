"""A weather service on this computer: the API's shape, invented weather, faults on demand.

It listens on the loopback address only, on a port the system chooses. The demo runs against it,
so that nothing leaves the computer; tests switch its faults on.
"""

from __future__ import annotations

import json
import logging
import socket
import struct
import sys
import threading
from collections.abc import Mapping
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType
from typing import NamedTuple, Self
from urllib.parse import parse_qsl, urlsplit

from sprayadvisor.demo.weather_answers import (
    AIR_QUALITY,
    FORECAST,
    Json,
    Places,
    RefusalError,
    Source,
    answers,
    nearest,
)
from sprayadvisor.demo.weather_faults import CANNED, SPOIL, STREAM_WORDS, Canned, Fault, Switchboard

HOST = "127.0.0.1"
_POLL_S = 0.02  # how soon a stop is noticed
_DRIP_S = 0.02
_RESET = struct.pack("ii", 1, 0)  # SO_LINGER: drop what is unsent and reset

log = logging.getLogger(__name__)


class Received(NamedTuple):
    """One request as it came."""

    path: str
    query: dict[str, str]
    headers: dict[str, str]


class WeatherServer:
    """Forecast and air quality for as long as the ``with`` block lasts.

    Args:
        weather: the weather: a function of latitude and longitude that returns hourly columns in
            the API's names with ``time`` among them, in m/s, °C and mm, or None where there is no
            data; or a mapping of (latitude, longitude) to such columns, of which the nearest
            within half a degree counts.
        air: the same for the air quality; without it there is no such service here.
    """

    def __init__(self, weather: Source | Places, air: Source | Places | None = None) -> None:
        self._services = {"/v1/forecast": (_source(weather), FORECAST)}
        if air is not None:
            self._services["/v1/air-quality"] = (_source(air), AIR_QUALITY)
        self._lock = threading.Lock()
        self._first: dict[str, Json | list[Json]] = {}
        self.faults = Switchboard()
        self.received: list[Received] = []
        self.stopping = threading.Event()
        self._http = _Server((HOST, 0), _Handler, self)
        self._thread = threading.Thread(
            target=self._http.serve_forever, args=(_POLL_S,), name="weather-server", daemon=True
        )

    @property
    def url(self) -> str:
        """Base address, to be used as ``forecast.base_url``."""
        return f"http://{HOST}:{self._http.server_port}"

    def __enter__(self) -> Self:
        """Start to listen."""
        self._thread.start()
        return self

    def __exit__(
        self,
        exc_type: type[BaseException] | None,
        exc: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        """Stop; connections that hang are let go."""
        self.stopping.set()
        self._http.shutdown()
        self._http.server_close()
        self._thread.join()

    def serves(self, path: str) -> bool:
        """Return whether there is a service under a path."""
        return path in self._services

    def answer(
        self, path: str, query: Mapping[str, str], fault: Fault | None, column: str
    ) -> Json | list[Json]:
        """Return the answer to a request, spoiled if the fault lies in the data.

        Raises:
            RefusalError: the API would refuse this request.
        """
        source, api = self._services[path]
        sound = answers(query, source, api)
        with self._lock:
            first = self._first.setdefault(path, sound)
            if fault is Fault.OLD_DATA:
                return first
        if fault is Fault.WRONG_COUNT:
            return sound[:-1] if isinstance(sound, list) else []
        spoil = SPOIL.get(fault) if fault else None
        if spoil and api is FORECAST:  # they befall columns that only the forecast has
            for place in sound if isinstance(sound, list) else [sound]:
                spoil(place, column)
        return sound


def _source(weather: Source | Places) -> Source:
    return nearest(weather) if isinstance(weather, Mapping) else weather


class _Server(ThreadingHTTPServer):
    """Carries the weather server to its handlers."""

    daemon_threads = True

    def __init__(
        self,
        address: tuple[str, int],
        handler: type[BaseHTTPRequestHandler],
        weather: WeatherServer,
    ) -> None:
        self.weather = weather
        super().__init__(address, handler)

    def handle_error(self, *_: object) -> None:
        """Keep quiet about clients that hang up; they are part of what is tried here."""
        error = sys.exception()
        if not isinstance(error, ConnectionError):
            log.error("The weather server failed to answer.", exc_info=error)


class _Handler(BaseHTTPRequestHandler):
    """Answers one request and closes."""

    server: _Server
    timeout = 5

    def handle(self) -> None:
        """Take a connection, or close it unread."""
        if not self.server.weather.faults.refuses():
            super().handle()

    def do_GET(self) -> None:
        """Answer a request."""
        weather = self.server.weather
        parts = urlsplit(self.path)
        query = dict(parse_qsl(parts.query))
        weather.received.append(Received(parts.path, query, dict(self.headers)))
        fault, column = weather.faults.take()
        if fault is Fault.BLACK_HOLE:
            weather.stopping.wait()
        elif (canned := self._canned(fault, query)) is not None:
            self._send(canned)
        elif not weather.serves(parts.path):
            self._send(CANNED[Fault.NOT_FOUND])
        else:
            self._answer(parts.path, query, fault, column)

    def _canned(self, fault: Fault | None, query: Mapping[str, str]) -> Canned | None:
        """Return the fixed reply of a fault, if it has one that befalls this request."""
        if fault is Fault.URI_TOO_LONG and "," not in query.get("latitude", ""):
            return None
        return CANNED.get(fault) if fault else None

    def _answer(
        self, path: str, query: Mapping[str, str], fault: Fault | None, column: str
    ) -> None:
        """Send weather, or the refusal of the API, or as much of it as the fault allows."""
        try:
            answer = self.server.weather.answer(path, query, fault, column)
        except RefusalError as refusal:
            body = json.dumps({"error": True, "reason": str(refusal)})
            self._send(Canned(400, body))
            return
        body = json.dumps(answer, ensure_ascii=False, separators=(",", ":"))
        half = body[: len(body) // 2]
        if fault is Fault.SLOW_DRIP:
            self._drip(body.encode())
        elif fault is Fault.RESET:
            self._break_off(body.encode())
        elif fault is Fault.BROKEN_JSON:
            self._send(Canned(200, half))
        elif fault is Fault.STREAM_FAILURE:
            self._send(Canned(200, half + STREAM_WORDS))
        else:
            self._send(Canned(200, body))

    def _head(self, reply: Canned, length: int) -> None:
        """Send status and headers."""
        self.send_response(reply.status)
        self.send_header("Content-Type", f"{reply.content_type}; charset=utf-8")
        self.send_header("Content-Length", str(length))
        if reply.location:
            self.send_header("Location", reply.location)
        self.end_headers()

    def _send(self, reply: Canned) -> None:
        """Send a whole reply."""
        body = reply.body.encode()
        self._head(reply, len(body))
        self.wfile.write(body)

    def _drip(self, body: bytes) -> None:
        """Send a byte at a time until the client or the server has had enough."""
        self._head(Canned(200, ""), len(body))
        for byte in body:
            if self.server.weather.stopping.wait(_DRIP_S):
                return
            self.wfile.write(bytes([byte]))

    def _break_off(self, body: bytes) -> None:
        """Send half the body and reset the connection."""
        self._head(Canned(200, ""), len(body))
        self.wfile.write(body[: len(body) // 2])
        self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, _RESET)
        self.connection.close()

    def log_message(self, *_: object) -> None:
        """Log quietly and without the query, which is long."""
        log.debug("%s %s", self.command, urlsplit(self.path).path)

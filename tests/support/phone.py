"""A real browser the size of a phone, and the page served to it over a real socket."""

import contextlib
import shutil
import socket
import threading
import time

import uvicorn

from sprayadvisor.web.app import create_app

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run",
]  # fmt: skip
SIZE = {"width": 390, "height": 844}


@contextlib.contextmanager
def at_a_socket(services, app=None):
    """Serve the page of some services on loopback, or an app before it; yield its address."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        config = uvicorn.Config(
            app or create_app(services),
            log_config=None,
            access_log=False,
            ws="none",
            lifespan="off",
        )
        server = uvicorn.Server(config)
        thread = threading.Thread(target=server.run, args=([listening],), daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.02)
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        server.should_exit = True
        thread.join(5)


@contextlib.contextmanager
def chromium():
    """Yield a browser without a window."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


def phone(browser, address, scheme="light", **changes):
    """Return a tab the size of a phone; ``goto`` takes paths of the page."""
    usual = {"viewport": SIZE, "color_scheme": scheme, "base_url": address, "has_touch": True}
    return browser.new_context(**(usual | changes)).new_page()

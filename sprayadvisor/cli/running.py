"""What runs beside the page, or alone: the clock, its watch, and whoever works out the page.

begin ─ tick at once, then each minute ─ a signal ─ let what is in hand end ─ leave
"""

from __future__ import annotations

import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from types import FrameType
from typing import TYPE_CHECKING

from sprayadvisor.errors import Fault, SettingsError

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    import uvicorn

    from sprayadvisor.bootstrap import Services

# Whoever stops a service kills it after ten seconds; phones that are being answered get the first.
PHONES_S = 1
DRAIN_S = 7.5
BOARD_S = 1.0
BACKLOG = 128
# An answer lets go of the interpreter at every array and has to wait for it each time while a brief
# is being worked out: at Python's own 5 ms that came to seconds.
SWITCH_S = 0.0005
_SIGNALS = (signal.SIGTERM, signal.SIGINT)

log = logging.getLogger(__name__)


@contextmanager
def clock(built: Services) -> Iterator[None]:
    """Tick until the end, then let the unit in hand end, or leave within ten seconds."""
    from sprayadvisor.schedule import Schedule

    ticking = built.clock  # opens the database, or says here why not
    if built.settings.now:
        log.warning("The clock stands still at %s.", built.settings.now.isoformat())
    schedule = Schedule(ticking.tick, built.health.failed)
    schedule.start()
    watch = threading.Thread(target=schedule.watch, args=(built.stopping,), daemon=True)
    watch.start()
    log.info("The clock runs. Briefs go to %d recipients.", len(built.settings.recipients))
    try:
        yield
    finally:
        built.stopping.set()
        log.info("Stopping; what is in hand is finished first.")
        if not schedule.stop(DRAIN_S):
            log.warning("It takes too long; what is in hand will be done again at the next start.")
            leave_at_once()


@contextmanager
def clock_and_board(built: Services) -> Iterator[None]:
    """Tick, and work out beside it what the page shows."""
    board = threading.Thread(target=built.board.run, args=(built.stopping,), daemon=True)
    with clock(built):
        board.start()
        try:
            yield
        finally:
            built.stopping.set()
            built.board.wake()
    # Nothing of it is kept, so nothing is lost; but a thread in the middle of a library should not
    # see the interpreter go.
    board.join(BOARD_S)
    if board.is_alive():
        leave_at_once()


def alone(built: Services) -> None:
    """Run the clock without a page until a signal comes."""
    with stopped_by_signal(built.stopping.set), clock(built):
        built.stopping.wait()
    log.info("Stopped.")


def with_page(built: Services) -> None:
    """Run the clock and the page until a signal comes.

    Raises:
        SettingsError: the page cannot listen where it shall.
    """
    sys.setswitchinterval(SWITCH_S)
    import uvicorn

    from sprayadvisor.web.app import create_app

    web = built.settings.web
    app = create_app(built, lambda: clock_and_board(built))
    config = uvicorn.Config(
        app,
        log_config=None,
        access_log=False,  # addresses hold links, and links are keys
        server_header=False,
        date_header=True,
        proxy_headers=True,
        forwarded_allow_ips="127.0.0.1,::1",
        timeout_graceful_shutdown=PHONES_S,
        timeout_keep_alive=15,
        limit_concurrency=500,
        backlog=BACKLOG,
        ws="none",
    )
    with _listening(web.host, web.port) as listening:
        where = web.address or f"http://{web.host}:{web.port}"
        log.info("The page is at %s.", where)
        if not web.address.startswith("https:") if web.address else web.passphrase is not None:
            log.warning("Without https the passphrase can be read on its way; see deploy/.")
        _serve(_server(config), listening, built)
    log.info("Stopped.")


def _server(config: uvicorn.Config) -> uvicorn.Server:
    """Return a server that leaves signals to us: it would end the process by the one it got."""
    import uvicorn

    class Server(uvicorn.Server):
        def capture_signals(self) -> AbstractContextManager[None]:  # type: ignore[override]  # the library writes it as a generator
            return nullcontext()

    return Server(config)


def _serve(server: uvicorn.Server, listening: socket.socket, built: Services) -> None:
    def stop() -> None:
        built.stopping.set()
        server.should_exit = True

    with stopped_by_signal(stop):
        server.run(sockets=[listening])


@contextmanager
def _listening(host: str, port: int) -> Iterator[socket.socket]:
    """Listen at an address.

    Raises:
        SettingsError: somebody else does, or it is not an address of this machine.
    """
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
    except OSError as error:
        raise _unheard(host, port, error) from error
    with socket.socket(family, kind, protocol) as listening:
        try:
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            listening.bind(address)
        except OSError as error:
            raise _unheard(host, port, error) from error
        yield listening


def _unheard(host: str, port: int, error: OSError) -> SettingsError:
    """Return why the page cannot listen, and what to do about it."""
    why = (error.strerror or str(error)).lower()
    problem = f"the page cannot listen at {host}, port {port} ({why})"
    remedy = "choose another web.port or web.host, or stop what uses it; --no-web does without"
    return SettingsError([Fault("settings", "web.port", problem, remedy)])


@contextmanager
def stopped_by_signal(stop: Callable[[], None]) -> Iterator[None]:
    """Call ``stop`` on the first signal; a second one ends the process as usual."""
    before = {number: signal.getsignal(number) for number in _SIGNALS}

    def on_signal(_number: int, _frame: FrameType | None) -> None:
        stop()
        for number, handler in before.items():
            signal.signal(number, handler)

    for number in _SIGNALS:
        signal.signal(number, on_signal)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def leave_at_once() -> None:
    """End without waiting for threads; the database is made for that."""
    logging.shutdown()
    os._exit(0)

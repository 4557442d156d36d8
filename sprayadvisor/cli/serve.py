"""The ``serve`` command: the clock that makes and sends briefs and change notices by itself."""

from __future__ import annotations

import logging
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING, Annotated

import typer

from sprayadvisor.cli.app import services
from sprayadvisor.errors import Fault, SettingsError

if TYPE_CHECKING:
    from sprayadvisor.bootstrap import Services
    from sprayadvisor.settings import Settings

DRAIN_S = 8.0  # whoever stops a service kills it after ten seconds
_SIGNALS = (signal.SIGTERM, signal.SIGINT)

log = logging.getLogger(__name__)


def serve(
    ctx: typer.Context,
    no_web: Annotated[bool, typer.Option("--no-web", help="The clock alone, no page.")] = False,
    log_json: Annotated[
        bool, typer.Option("--log-json", help="Log JSON objects instead of lines.")
    ] = False,
) -> None:
    """Run until stopped: briefs at their times, an hourly look at open jobs, notices of changes."""
    from sprayadvisor.cli.logs import set_up_logging

    built = services(ctx)
    set_up_logging(as_json=log_json)
    refuse_what_keeps_silent(built.settings)
    if not no_web:
        log.info("There is no page in this version: the clock runs alone.")
    run(built)


def refuse_what_keeps_silent(settings: Settings) -> None:
    """Refuse settings with which nobody would ever hear anything, or at the wrong hour.

    Raises:
        SettingsError: with every such fault.
    """
    faults = []
    if not settings.recipients:
        why = "there are no recipients, so no brief would reach anyone"
        faults.append(Fault("settings", "recipients", why, "name at least one address"))
    if settings.base is None:
        why = "there is no [base], so nobody knows when your evening is"
        faults.append(Fault("settings", "base.zone", why, "add [base] with place and time zone"))
    if faults:
        raise SettingsError(faults)


def run(built: Services) -> None:
    """Tick until a signal comes, then let the unit in hand end, and leave within ten seconds."""
    from sprayadvisor.schedule import Schedule

    clock = built.clock  # opens the database, or says here why not
    if built.settings.now:
        log.warning("The clock stands still at %s.", built.settings.now.isoformat())
    schedule = Schedule(clock.tick, built.health.failed)
    with _stopped_by_signal(built.stopping):
        schedule.start()
        log.info("The clock runs. Briefs go to %d recipients.", len(built.settings.recipients))
        schedule.watch(built.stopping)
        log.info("Stopping; what is in hand is finished first.")
        drained = schedule.stop(DRAIN_S)
    if not drained:
        log.warning("It takes too long; what is in hand will be done again at the next start.")
        _leave_at_once()
    log.info("Stopped.")


@contextmanager
def _stopped_by_signal(stopping: threading.Event) -> Iterator[None]:
    """Set ``stopping`` on the first signal; a second one ends the process as usual."""
    before = {number: signal.getsignal(number) for number in _SIGNALS}

    def stop(_number: int, _frame: FrameType | None) -> None:
        stopping.set()
        for number, handler in before.items():
            signal.signal(number, handler)

    for number in _SIGNALS:
        signal.signal(number, stop)
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _leave_at_once() -> None:
    """End without waiting for threads; the database is made for that."""
    logging.shutdown()
    os._exit(0)

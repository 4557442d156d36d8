"""Looking at everything a brief hangs on, one line each: fine, look at, or broken."""

from __future__ import annotations

import logging
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from sprayadvisor.errors import FaultsError, SprayadvisorError
from sprayadvisor.services.ports.budget import Window
from sprayadvisor.services.ports.outbox import LedgerLine, Sending

SKEW_S = 120.0  # a brief two minutes off harms nobody; more, and its times are wrong
LITTLE_MB, TOO_LITTLE_MB = 500, 50
_MB = 1_000_000
_LATELY = timedelta(days=7)
_LONGEST_YEAR = 366

log = logging.getLogger(__name__)


class State(StrEnum):
    """How a thing is."""

    FINE = "fine"
    LOOK = "look at"
    BROKEN = "broken"


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found of one thing.

    Attributes:
        about: the thing.
        state: how it is.
        words: a sentence; of what is not fine, with what to do about it.
    """

    about: str
    state: State
    words: str


Check = tuple[str, Callable[[], Iterable[Finding]]]


def examine(checks: Iterable[Check]) -> Iterator[Finding]:
    """Yield what each check finds; one that cannot be made is a finding itself."""
    for about, check in checks:
        try:
            yield from check()
        except FaultsError as error:
            yield from (Finding(about, State.BROKEN, str(fault)) for fault in error.faults)
        except SprayadvisorError as error:
            yield Finding(about, State.BROKEN, str(error))
        except Exception as error:
            log.exception("A defect kept %s from being looked at.", about)
            words = f"It could not be looked at ({type(error).__name__}); please report this."
            yield Finding(about, State.BROKEN, words)


def plan_finding(plan: str) -> Finding:
    """Return what the plan of the weather service means."""
    if plan == "free":
        words = (
            "The free plan is for non-commercial use only; a business sets forecast.plan to "
            '"customer" with a key, or to "own" with a server.'
        )
        return Finding("plan", State.LOOK, words)
    return Finding("plan", State.FINE, f"The forecast plan is {plan}.")


def clock_finding(skew_s: float | None, *, is_fixed: bool) -> Finding:
    """Return how this computer's clock compares with the forecast service's.

    Args:
        skew_s: seconds by which it is ahead; None if nobody was asked.
        is_fixed: whether the settings hold it still.
    """
    if is_fixed:
        return Finding(
            "clock", State.LOOK, "The clock stands still; take `now` out of the settings."
        )
    if skew_s is None:
        return Finding("clock", State.LOOK, "The clock could not be compared with another one.")
    if abs(skew_s) > SKEW_S:
        side = "ahead of" if skew_s > 0 else "behind"
        words = (
            f"This computer's clock is {abs(skew_s) / 60:.0f} min {side} the forecast service's; "
            "have it set over the network."
        )
        return Finding("clock", State.BROKEN, words)
    return Finding("clock", State.FINE, f"The clock is right to {abs(skew_s):.0f} s.")


def zone_finding(zone: str, now: datetime, source: str) -> Finding:
    """Return when the clocks of a zone change next, and where that is known from."""
    change = _next_change(ZoneInfo(zone), now)
    words = (
        f"{zone}: the clocks change next on {change:%Y-%m-%d}"
        if change
        else (f"{zone}: the clocks do not change within a year")
    )
    return Finding("time zone", State.FINE, f"{words} ({source}).")


def _next_change(zone: ZoneInfo, now: datetime) -> datetime | None:
    """Return the first local day that ends with another offset than it began with."""
    noon = now.astimezone(zone).replace(hour=12, minute=0, second=0, microsecond=0)
    for days in range(_LONGEST_YEAR):
        day = noon + timedelta(days=days)
        if day.utcoffset() != (day + timedelta(days=1)).utcoffset():
            return day + timedelta(days=1)
    return None


def disk_finding(free_bytes: int, folder: str) -> Finding:
    """Return how much room there is for the database and mails."""
    free_mb = free_bytes // _MB
    if free_mb < TOO_LITTLE_MB:
        words = f"{free_mb} MB are free in {folder}; make room, or nothing can be kept."
        return Finding("disk", State.BROKEN, words)
    if free_mb < LITTLE_MB:
        words = f"{free_mb} MB are free in {folder}; make room soon."
        return Finding("disk", State.LOOK, words)
    return Finding("disk", State.FINE, f"{free_mb / 1000:.1f} GB are free in {folder}.")


def budget_findings(used: Collection[tuple[Window, float]]) -> Iterator[Finding]:
    """Yield how much of each window's share of calls is used."""
    if not used:
        yield Finding("calls", State.FINE, "The plan has no limit.")
    for window, weight in used:
        full = weight >= 0.9 * window.allowed
        words = f"{weight:.0f} of {window.allowed:.0f} calls are used this {window.name}"
        remedy = "; no more are made then, and the last forecast is used." if full else "."
        yield Finding("calls", State.LOOK if full else State.FINE, words + remedy)


def message_findings(ledger: Collection[LedgerLine], now: datetime) -> Iterator[Finding]:
    """Yield what was sent last, what waits with a problem, and what failed lately."""
    sent = [line for line in ledger if line.state is Sending.SENT and line.closed_at]
    newest = max(sent, key=lambda line: line.closed_at or now, default=None)
    if newest is None or newest.closed_at is None:
        yield Finding("messages", State.LOOK, "Nothing was sent so far.")
    else:
        at = f"{newest.closed_at:%Y-%m-%d %H:%M} UTC"
        words = f"Sent last: {newest.key.kind} {newest.key.subject}, at {at}."
        yield Finding("messages", State.FINE, words)
    waiting = [line for line in ledger if line.problem and line.closed_at is None]
    for line in waiting[:1]:
        more = f" ({len(waiting)} messages wait)" if len(waiting) > 1 else ""
        yield Finding("messages", State.BROKEN, f"Waits{more}: {line.problem}")
    ended = (Sending.FAILED, Sending.EXPIRED)
    lost = [x for x in ledger if x.state in ended and x.closed_at and now - x.closed_at < _LATELY]
    for line in lost[-1:]:
        words = f"{len(lost)} messages of the last 7 days were not sent; the last: {line.problem}"
        yield Finding("messages", State.LOOK, words)

"""How many calls the weather services allow, and what one call costs.

A call costs more the more variables and days it asks for, and as much again for each place. The
services count in fixed windows of UTC: the minute, the hour, the day, the month. Formula and limits
are the service's own, from its public documentation and source, 2026.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, Protocol

SHARE = 0.8  # of a limit; others may ask from the same address
Plan = Literal["free", "customer", "own"]


@dataclass(frozen=True, slots=True)
class Limits:
    """The most that may be asked in a window; None where there is no limit."""

    minute: float | None = None
    hour: float | None = None
    day: float | None = None
    month: float | None = None


LIMITS: dict[Plan, Limits] = {
    "free": Limits(600, 5_000, 10_000, 300_000),
    "customer": Limits(month=1_000_000),  # the smallest paid plan
    "own": Limits(),
}


@dataclass(frozen=True, slots=True)
class Window:
    """A window of UTC, and what may be asked in it.

    Attributes:
        name: ``minute``, ``hour``, ``day`` or ``month``.
        begins: inclusive.
        ends: exclusive.
        allowed: weight that is asked for at most.
    """

    name: str
    begins: datetime
    ends: datetime
    allowed: float


class Budget(Protocol):
    """Counts what is asked, over restarts and for all processes on one database."""

    def take(self, weight: float, at: datetime) -> Window | None:
        """Count a call and return None; or count nothing and return the window that is full.

        Args:
            weight: what the call costs.
            at: now, aware.

        Raises:
            StoreError: it cannot be counted.
        """
        ...


def call_weight(variables: int, days: int, places: int) -> float:
    """Return what one call costs.

    Args:
        variables: how many series are asked for.
        days: how many days of them.
        places: for how many places.
    """
    tens = variables / 10
    return places * max(1.0, tens, tens * days / 14)


def windows(limits: Limits, at: datetime) -> Iterator[Window]:
    """Yield the windows that a moment lies in, where there is a limit, the shortest first."""
    minute = at.replace(second=0, microsecond=0)
    hour, day = minute.replace(minute=0), minute.replace(hour=0, minute=0)
    month = day.replace(day=1)
    next_month = (month + timedelta(days=32)).replace(day=1)
    for name, limit, begins, ends in (
        ("minute", limits.minute, minute, minute + timedelta(minutes=1)),
        ("hour", limits.hour, hour, hour + timedelta(hours=1)),
        ("day", limits.day, day, day + timedelta(days=1)),
        ("month", limits.month, month, next_month),
    ):
        if limit is not None:
            yield Window(name, begins, ends, SHARE * limit)

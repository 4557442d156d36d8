"""What was asked of the weather services, counted by the minute."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import Connection, Engine, func, insert, select

from sprayadvisor.adapters.store.engine import read, write
from sprayadvisor.adapters.store.schema import CALLS
from sprayadvisor.services.ports.budget import Limits, Window, windows


@dataclass(frozen=True, slots=True)
class SqlBudget:
    """``Budget`` in a database; its contract is there.

    Attributes:
        engine: the database.
        limits: what the plan allows.
    """

    engine: Engine
    limits: Limits

    def take(self, weight: float, at: datetime) -> Window | None:
        """Count a call, unless a window has no room for it."""
        now = at.astimezone(UTC)
        with write(self.engine) as connection:
            for window in windows(self.limits, now):
                if _used(connection, window) + weight > window.allowed:
                    return window
            row = {"minute": now.replace(second=0, microsecond=0), "weight": weight}
            connection.execute(insert(CALLS).values(row))
        return None

    def used(self, at: datetime) -> list[tuple[Window, float]]:
        """Return the windows of a moment with what was asked in each."""
        with read(self.engine) as connection:
            return [
                (window, _used(connection, window))
                for window in windows(self.limits, at.astimezone(UTC))
            ]


def _used(connection: Connection, window: Window) -> float:
    """Return what was asked in a window."""
    inside = (CALLS.c.minute >= window.begins, CALLS.c.minute < window.ends)
    return float(connection.execute(select(func.sum(CALLS.c.weight)).where(*inside)).scalar() or 0)

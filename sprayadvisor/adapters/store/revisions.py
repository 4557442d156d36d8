"""Whether bookings or weather have changed, told by their newest rows."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Engine, Table, func, select

from sprayadvisor.adapters.store.engine import read
from sprayadvisor.adapters.store.schema import JOB_EVENTS, SNAPSHOTS


@dataclass(frozen=True, slots=True)
class SqlRevisions:
    """``Revisions`` in a database; its contract is there.

    Attributes:
        engine: the database.
    """

    engine: Engine

    def bookings(self) -> int:
        """Return the number of the newest event: every change to a job or a site leaves one."""
        return self._newest(JOB_EVENTS)

    def weather(self) -> int:
        """Return the number of the newest answer."""
        return self._newest(SNAPSHOTS)

    def _newest(self, table: Table) -> int:
        with read(self.engine) as connection:
            return int(connection.execute(select(func.max(table.c.id))).scalar() or 0)

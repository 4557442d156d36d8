"""The weather as it was received, packed."""

from __future__ import annotations

import gzip
import zlib
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine, insert, select

from sprayadvisor.adapters.store.engine import read, write
from sprayadvisor.adapters.store.schema import SNAPSHOTS
from sprayadvisor.errors import StoreError
from sprayadvisor.services.ports import Snapshot


@dataclass(frozen=True, slots=True)
class SqlSnapshots:
    """``SnapshotStore`` in a database; its contract is there."""

    engine: Engine

    def save(
        self, place: str, kind: str, fetched_at: datetime, request: str, payload: bytes
    ) -> None:
        """Keep an answer."""
        packed = gzip.compress(payload, mtime=0)
        with write(self.engine) as connection:
            connection.execute(
                insert(SNAPSHOTS).values(
                    place=place,
                    kind=kind,
                    fetched_at=fetched_at,
                    request=request,
                    payload_gz=packed,
                )
            )

    def latest(self, place: str, kind: str = "forecast") -> Snapshot | None:
        """Return the answer fetched last for a place."""
        newest = (
            select(SNAPSHOTS)
            .where(SNAPSHOTS.c.place == place, SNAPSHOTS.c.kind == kind)
            .order_by(SNAPSHOTS.c.fetched_at.desc(), SNAPSHOTS.c.id.desc())
            .limit(1)
        )
        with read(self.engine) as connection:
            row = connection.execute(newest).one_or_none()
        if row is None:
            return None
        try:
            payload = gzip.decompress(row.payload_gz)
        except (OSError, EOFError, zlib.error) as error:
            raise StoreError(
                f"The stored {kind} of {row.fetched_at:%Y-%m-%d %H:%M} UTC for {place} is damaged; "
                "fetch the weather again."
            ) from error
        return Snapshot(row.place, row.kind, row.fetched_at, row.request, payload)

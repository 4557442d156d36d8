"""The weather as it was received, packed."""

from __future__ import annotations

import gzip
import zlib
from dataclasses import dataclass

from sqlalchemy import Engine, insert, select

from sprayadvisor.adapters.store.engine import read, write
from sprayadvisor.adapters.store.schema import SNAPSHOTS
from sprayadvisor.errors import StoreError
from sprayadvisor.services.ports import Snapshot


@dataclass(frozen=True, slots=True)
class SqlSnapshots:
    """``SnapshotStore`` in a database; its contract is there."""

    engine: Engine

    def save(self, snapshot: Snapshot) -> None:
        """Keep an answer."""
        packed = gzip.compress(snapshot.payload, mtime=0)
        with write(self.engine) as connection:
            connection.execute(
                insert(SNAPSHOTS).values(
                    place=snapshot.place,
                    kind=snapshot.kind,
                    fetched_at=snapshot.fetched_at,
                    request=snapshot.request,
                    payload_gz=packed,
                    values_since=snapshot.values_since,
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
        return Snapshot(row.place, row.kind, row.fetched_at, row.request, payload, row.values_since)

"""Records of jobs, in a database."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Engine, delete, insert, select

from sprayadvisor.adapters.store.engine import read, write
from sprayadvisor.adapters.store.schema import RECORDS
from sprayadvisor.advice.record import CoatRecord, JobRecord, Met, Part
from sprayadvisor.errors import StoreError


@dataclass(frozen=True, slots=True)
class SqlRecords:
    """``RecordStore`` in a database; its contract is there."""

    engine: Engine

    def keep(self, record: JobRecord) -> None:
        """Keep a record in place of an earlier one."""
        row = {
            "job": record.ref,
            "kept_at": record.kept_at,
            "parts": sorted(part.value for part in record.parts),
            "coats": [_plain(coat) for coat in record.coats],
            "advice": record.advice,
            "reason": record.reason,
        }
        with write(self.engine) as connection:
            connection.execute(delete(RECORDS).where(RECORDS.c.job == record.ref))
            connection.execute(insert(RECORDS).values(row))

    def of(self, ref: str) -> JobRecord | None:
        """Return the record of a job."""
        with read(self.engine) as connection:
            found = connection.execute(select(RECORDS).where(RECORDS.c.job == ref)).mappings()
            row = found.one_or_none()
        if row is None:
            return None
        try:
            return JobRecord(
                ref,
                frozenset(Part(part) for part in row["parts"]),
                tuple(_coat(coat) for coat in row["coats"]),
                row["advice"],
                row["reason"],
                row["kept_at"],
            )
        except (KeyError, TypeError, ValueError) as error:
            raise StoreError(
                f"The record kept of job {ref} is damaged; keep it anew from its page."
            ) from error

    def forget(self, ref: str) -> None:
        """Remove the record of a job."""
        with write(self.engine) as connection:
            connection.execute(delete(RECORDS).where(RECORDS.c.job == ref))


def _plain(coat: CoatRecord) -> dict[str, Any]:
    """Return a coat as what JSON holds."""
    plain: dict[str, Any] = json.loads(json.dumps(asdict(coat), default=datetime.isoformat))
    return plain


def _coat(plain: dict[str, Any]) -> CoatRecord:
    at = plain["at"]
    return CoatRecord(
        stage=plain["stage"],
        at=datetime.fromisoformat(at) if at else None,
        noted=plain["noted"],
        met=tuple(Met(**met) for met in plain["met"]),
        product=plain["product"],
        revision=plain["revision"],
        choices=tuple(plain["choices"]),
        unnoted=tuple(plain.get("unnoted", ())),  # records of earlier versions have none
    )

"""What was said of each job, in a database."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Engine, delete, insert, select

from sprayadvisor.adapters.store.engine import read, write
from sprayadvisor.adapters.store.rows import word
from sprayadvisor.adapters.store.schema import SAID
from sprayadvisor.advice.rest import StageTime
from sprayadvisor.advice.said import Said
from sprayadvisor.advice.verdict import Word


@dataclass(frozen=True, slots=True)
class SqlSaid:
    """``SaidStore`` in a database; its contract is there."""

    engine: Engine

    def keep(self, ref: str, day: date, subject: str, said: Said) -> None:
        """Keep what was said of a job."""
        row = {
            "job": ref,
            "day": day,
            "subject": subject,
            "at": said.at,
            "kind": said.kind,
            "word": said.word.value,
            "cause": said.cause,
            "times": [_time_row(time) for time in said.times],
        }
        with write(self.engine) as connection:
            connection.execute(delete(SAID).where(SAID.c.job == ref, SAID.c.subject == subject))
            connection.execute(insert(SAID).values(row))

    def newest(self, ref: str, day: date) -> tuple[tuple[str, Said], ...]:
        """Return subject and content of all that was said of a job, newest first."""
        wanted = (
            select(SAID)
            .where(SAID.c.job == ref, SAID.c.day == day)
            # Not by time: a clock may have been set back since.
            .order_by(SAID.c.id.desc())
        )
        with read(self.engine) as connection:
            rows = connection.execute(wanted).mappings().all()
        return tuple((row["subject"], _said(row)) for row in rows)


def _time_row(time: StageTime) -> list[Any]:
    begin, end = (int(moment.timestamp()) for moment in (time.begin, time.end))
    return [time.id, time.kind, begin, end, time.no_return]


def _said(row: Mapping[Any, Any]) -> Said:
    times = tuple(
        StageTime(name, kind, _moment(begin), _moment(end), no_return)
        for name, kind, begin, end, no_return in row["times"]
    )
    known = word(Word, row["word"], f"job {row['job']}")
    return Said(row["at"], row["kind"], known, row["cause"], times)


def _moment(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, tz=UTC)

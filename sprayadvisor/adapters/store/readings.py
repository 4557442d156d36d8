"""What was read at the car, in a database."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine, insert, select, update

from sprayadvisor.adapters.store.engine import read, write
from sprayadvisor.adapters.store.rows import word
from sprayadvisor.adapters.store.schema import READINGS
from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.verdict import Word
from sprayadvisor.services.ports.readings import KeptReading

_READING = (
    "taken_at", "panel_temp_c", "air_temp_c", "rh_pct", "wind_ms", "wind_from_deg", "panel",
)  # fmt: skip
_KEPT = ("asked_at", "stage", "mist_s", "stripe_min", "matt_at", "struck_at")


@dataclass(frozen=True, slots=True)
class SqlReadings:
    """``ReadingStore`` in a database; its contract is there."""

    engine: Engine

    def keep(self, ref: str, kept: KeptReading) -> None:
        """Keep a reading with a job."""
        row = {
            "job": ref,
            "word": kept.word.value,
            **{name: getattr(kept.reading, name) for name in _READING},
            **{name: getattr(kept, name) for name in _KEPT},
        }
        with write(self.engine) as connection:
            connection.execute(insert(READINGS).values(row))

    def of(self, ref: str) -> tuple[KeptReading, ...]:
        """Return what was read at a job, oldest first."""
        wanted = select(READINGS).where(READINGS.c.job == ref).order_by(READINGS.c.id)
        with read(self.engine) as connection:
            rows = connection.execute(wanted).mappings().all()
        return tuple(
            KeptReading(
                reading=Reading(**{name: row[name] for name in _READING}),
                word=word(Word, row["word"], f"job {ref}"),
                number=row["id"],
                **{name: row[name] for name in _KEPT},
            )
            for row in rows
        )

    def strike(self, ref: str, number: int, at: datetime) -> bool:
        """Strike out a reading that counts."""
        wanted = (READINGS.c.job == ref) & (READINGS.c.id == number)
        counts = wanted & READINGS.c.struck_at.is_(None)
        with write(self.engine) as connection:
            changed = connection.execute(update(READINGS).where(counts).values(struck_at=at))
        return changed.rowcount == 1

"""What was read at the car is kept with the job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.verdict import Word


@dataclass(frozen=True, slots=True)
class KeptReading:
    """One reading, what it was taken for and what was answered.

    Attributes:
        reading: what was measured.
        asked_at: when it was asked about, aware, UTC.
        stage: stage of the process that came next.
        word: the verdict.
        mist_s: how long breath mist stayed, seconds.
        stripe_min: how long a damp stripe took to dry, minutes.
    """

    reading: Reading
    asked_at: datetime
    stage: str
    word: Word
    mist_s: float | None = None
    stripe_min: float | None = None


class ReadingStore(Protocol):
    """Keeps readings. Nothing is ever changed or deleted."""

    def keep(self, ref: str, kept: KeptReading) -> None:
        """Keep a reading with the job ``ref``, which there must be.

        Raises:
            StoreError: it could not be kept.
        """
        ...

    def of(self, ref: str) -> tuple[KeptReading, ...]:
        """Return what was read at a job, oldest first.

        Raises:
            StoreError: the store cannot be read.
        """
        ...

"""What was read at the car is kept with the job."""

from __future__ import annotations

from dataclasses import dataclass, field
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
        matt_at: since when the coat before was matt all over, UTC; None where nobody said.
        struck_at: when the painter struck it out as wrong, UTC; None for one that counts.
        number: in its store; 0 before it is kept.
    """

    reading: Reading
    asked_at: datetime
    stage: str
    word: Word
    mist_s: float | None = None
    stripe_min: float | None = None
    matt_at: datetime | None = None
    struck_at: datetime | None = None
    number: int = field(default=0, compare=False)


class ReadingStore(Protocol):
    """Keeps readings. Nothing is ever deleted or changed, but a wrong one may be struck out."""

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

    def strike(self, ref: str, number: int, at: datetime) -> bool:
        """Strike out a reading of the job ``ref``; return whether there was one that counted.

        Raises:
            StoreError: it could not be kept.
        """
        ...

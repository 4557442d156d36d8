"""What happened to a job and what was said of it, in the order in which it happened."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from sprayadvisor.advice.due import Key, Kind, Rhythm, keys_of
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.verdict import Word
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.ports.clock import SaidStore
from sprayadvisor.services.rhythm import CHANGE


class Delivered(Protocol):
    """Knows which messages have left for good."""

    def delivered(self, keys: Collection[Key]) -> Collection[Key]:
        """Return those of the keys that have."""
        ...


@dataclass(frozen=True, slots=True)
class Happened:
    """One thing that happened.

    Attributes:
        at: when, UTC.
        what: in a few words.
        word: the verdict that was said; None where none was.
        sent: whether a message that said it has reached anybody's server.
    """

    at: datetime
    what: str
    word: Word | None = None
    sent: bool = False


@dataclass(frozen=True, slots=True)
class History:
    """Tells what happened.

    Attributes:
        bookings: the jobs with their events; any method here may raise its store's ``StoreError``.
        said: what was said.
        post: what was sent.
        rhythm: to whom.
    """

    bookings: Bookings
    said: SaidStore
    post: Delivered
    rhythm: Rhythm

    def of(self, job: Job) -> tuple[Happened, ...]:
        """Return what happened to a job, oldest first."""
        events = [
            Happened(one.at, f"{one.event.value}: {one.note}" if one.note else one.event.value)
            for one in self.bookings.history(job.ref)
        ]
        told = [
            Happened(said.at, _told(subject), said.word, self._left(subject, job))
            for subject, said in self.said.newest(job.ref, job.day)
        ]
        return tuple(sorted([*events, *told], key=lambda one: one.at))

    def _left(self, subject: str, job: Job) -> bool:
        """Return whether any recipient's message has left."""
        if subject in (Kind.EVENING, Kind.MORNING):
            keys = keys_of(Kind(subject), job.day, self.rhythm)
        else:
            keys = tuple(Key(who, CHANGE, subject) for who in self.rhythm.recipients)
        return bool(self.post.delivered(keys))


def _told(subject: str) -> str:
    """Return what a thing that was said is called."""
    return f"{subject} brief" if subject in (Kind.EVENING, Kind.MORNING) else "change notice"

"""What happened to a job and what was said of it, in the order in which it happened."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Protocol

from sprayadvisor.advice.due import Key, Kind, Rhythm, keys_of
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.words import short_day
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.ports import Event, JobEvent
from sprayadvisor.services.ports.clock import SaidStore
from sprayadvisor.services.rhythm import CHANGE

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


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
        processes: every process by its name, for what their stages are called.
    """

    bookings: Bookings
    said: SaidStore
    post: Delivered
    rhythm: Rhythm
    processes: Mapping[str, Process] = field(default_factory=dict)

    def of(self, job: Job) -> tuple[Happened, ...]:
        """Return what happened to a job, oldest first."""
        events = [Happened(one.at, self._words(one, job)) for one in self.bookings.history(job.ref)]
        told = [
            Happened(said.at, _told(subject), said.word, self._left(subject, job))
            for subject, said in self.said.newest(job.ref, job.day)
        ]
        return tuple(sorted([*events, *told], key=lambda one: one.at))

    def _words(self, one: JobEvent, job: Job) -> str:
        """Return an event as a person says it: stages by their names, days with their weekdays."""
        if one.event is Event.AT:
            process = self.processes.get(job.process)
            names = {stage.id: stage.name for stage in process.stages} if process else {}
            return f"begun: {names.get(one.note, one.note)}"
        if one.event is Event.MOVED:
            days = _DAY.sub(lambda day: short_day(date.fromisoformat(day[0])), one.note)
            return f"{one.event.value}: {days}"
        return f"{one.event.value}: {one.note}" if one.note else one.event.value

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

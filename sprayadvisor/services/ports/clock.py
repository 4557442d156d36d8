"""What the clock needs: open jobs, briefs, where the painter is, what was said, and a post."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import date
from typing import Protocol

from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.advice.due import Key
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.said import Notice, Report, Said


class Jobs(Protocol):
    """Where the open jobs come from."""

    def list(self, first_day: date | None = None, last_day: date | None = None) -> tuple[Job, ...]:
        """Return the booked jobs from one day to another."""
        ...


class Briefs(Protocol):
    """Makes briefs."""

    def make(self, day: date, moment: Moment) -> Brief:
        """Return the brief of a local day."""
        ...


class Reports(Protocol):
    """Knows where the painter said he is."""

    def report(self, job: Job) -> Report | None:
        """Return it for one job."""
        ...


class SaidStore(Protocol):
    """Keeps what was said of each job."""

    def keep(self, ref: str, day: date, subject: str, said: Said) -> None:
        """Keep it as the newest thing, in place of what has the same subject.

        Args:
            ref: of the job.
            day: the day it was about.
            subject: what it was, together with ``ref``.
            said: what was said.
        """
        ...

    def newest(self, ref: str, day: date) -> tuple[tuple[str, Said], ...]:
        """Return subject and content of all that was said of a job for a day, newest first."""
        ...


class Post(Protocol):
    """Puts messages into the outbox and sends what waits there."""

    def known(self, keys: Collection[Key]) -> Collection[Key]:
        """Return those of the keys that the outbox has, whatever became of them."""
        ...

    def delivered(self, keys: Collection[Key]) -> Collection[Key]:
        """Return those of the keys whose message has left for good."""
        ...

    def put(self, brief: Brief, recipient: str) -> object:
        """Put a brief in, unless the outbox has it."""
        ...

    def put_notice(self, key: Key, made: Notice, entry: Entry) -> object:
        """Put a change notice in, unless the outbox has it."""
        ...

    def put_missed(self, key: Key) -> object:
        """Put in the note that the brief of this key was never made, unless the outbox has it."""
        ...

    def send(self, stopping: Callable[[], bool]) -> object:
        """Send what waits, until nothing does or it shall stop."""
        ...

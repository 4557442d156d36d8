"""Whether the clock lives: when it last ticked, and what last went wrong."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

SILENT_AFTER = timedelta(minutes=15)  # a slow forecast and many mails fit into one tick


@dataclass(frozen=True, slots=True)
class State:
    """What is known at a moment.

    Attributes:
        began_at: when this process began, UTC.
        ticked_at: when a tick last ended, well or not; None before the first.
        problem: what last went wrong, a sentence; empty if nothing has. A good tick does not take
            it away, for some things are tried once an hour only.
        problem_at: when that was.
    """

    began_at: datetime
    ticked_at: datetime | None = None
    problem: str = ""
    problem_at: datetime | None = None

    def alive(self, now: datetime) -> bool:
        """Return whether the clock has ticked lately. A clock set back does not make it dead."""
        return now - (self.ticked_at or self.began_at) < SILENT_AFTER


class Health:
    """Keeps the state; any thread may write and read it.

    Args:
        now: the clock, aware, UTC.
    """

    def __init__(self, now: Callable[[], datetime]) -> None:
        self._now = now
        self._lock = threading.Lock()
        self._state = State(now())

    @property
    def state(self) -> State:
        """What is known now."""
        with self._lock:
            return self._state

    def ticked(self, problems: tuple[str, ...] = ()) -> None:
        """Note the end of a tick.

        Args:
            problems: what went wrong in it, a sentence each; the first one is kept.
        """
        now = self._now()
        with self._lock:
            self._state = replace(self._state, ticked_at=now)
        if problems:
            self.failed(problems[0])

    def failed(self, problem: str) -> None:
        """Note that something went wrong."""
        with self._lock:
            self._state = replace(self._state, problem=problem, problem_at=self._now())

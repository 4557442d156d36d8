"""The tick: once a minute, never two at a time, and at once when it starts. It decides nothing.

A scheduler goes by the computer's clock. Set back by an hour, that would keep it silent for an hour
and more, so the clock is watched against one that nobody can set.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime

from apscheduler.events import EVENT_JOB_ERROR, EVENT_JOB_MISSED, JobExecutionEvent
from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.schedulers.background import BackgroundScheduler

WATCH_S = 5.0
JUMP_S = 30.0  # a clock that is being corrected step by step is not one that was set

log = logging.getLogger(__name__)


class Schedule:
    """Ticks in the background from ``start`` to ``stop``.

    Args:
        tick: what to do; it shall not raise, and shall end soon once told to stop.
        missed: called with a sentence when a tick raised all the same or was left out.
        every_s: seconds from tick to tick.
        wall: the computer's clock, seconds.
        steady: a clock that only goes forward, seconds.
    """

    def __init__(
        self,
        tick: Callable[[], None],
        missed: Callable[[str], None],
        *,
        every_s: float = 60.0,
        wall: Callable[[], float] = time.time,
        steady: Callable[[], float] = time.monotonic,
    ) -> None:
        self._tick, self._missed = tick, missed
        self._wall, self._steady = wall, steady
        self._apart = wall() - steady()
        self._lock = threading.Lock()
        self._stopped = False
        self._idle = threading.Event()
        self._idle.set()
        self._scheduler = BackgroundScheduler(
            timezone=UTC,
            executors={"default": ThreadPoolExecutor(1)},
            # A tick that is late is a tick all the same; several late ones are one.
            job_defaults={"misfire_grace_time": None, "coalesce": True, "max_instances": 1},
        )
        self._scheduler.add_job(
            self._run, "interval", seconds=every_s, id="tick", next_run_time=datetime.now(UTC)
        )
        self._scheduler.add_listener(self._note, EVENT_JOB_ERROR | EVENT_JOB_MISSED)

    def start(self) -> None:
        """Begin; the first tick is at once."""
        self._scheduler.start()

    def stop(self, patience_s: float) -> bool:
        """Let no tick begin any more and return whether the running one ended in time."""
        with self._lock:
            self._stopped = True
        if self._scheduler.running:
            self._scheduler.shutdown(wait=False)
        return self._idle.wait(patience_s)

    def watch(self, stopping: threading.Event) -> None:
        """Return once ``stopping`` is set; until then tick at once whenever the clock was set."""
        while not stopping.wait(WATCH_S):
            self.look_at_the_clock()

    def look_at_the_clock(self) -> None:
        """Tick at once if the computer's clock was set since the last look."""
        apart = self._wall() - self._steady()
        jump, self._apart = apart - self._apart, apart
        if abs(jump) > JUMP_S:
            log.warning("The computer's clock was set by %+.0f s.", jump)
            self._scheduler.modify_job("tick", next_run_time=datetime.now(UTC))

    def _run(self) -> None:
        with self._lock:
            if self._stopped:  # it was handed over just before the stop
                return
            self._idle.clear()
        try:
            self._tick()
        finally:
            self._idle.set()

    def _note(self, event: JobExecutionEvent) -> None:
        error = getattr(event, "exception", None)
        why = f"a defect ({type(error).__name__})" if error else "it was left out"
        self._missed(f"A tick failed: {why}; see the log.")

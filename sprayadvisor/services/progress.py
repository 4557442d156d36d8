"""How a job goes on: the stage the painter is at, and how it ended.

What was reported is in the job's history and nowhere else. A job that ended is looked at no more.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.model import Job, JobState
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.said import Report
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.services import typed
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.ports import Event

SAME_WITHIN = timedelta(minutes=2)  # a second tap, or a form gone back to


@dataclass(frozen=True, slots=True)
class Progress:
    """Keeps where the painter is and how jobs ended.

    Attributes:
        bookings: the jobs; any method here may raise its store's ``StoreError``.
        processes: every process by its name.
        now: the clock, aware.
    """

    bookings: Bookings
    processes: Mapping[str, Process]
    now: Callable[[], datetime]

    def at(self, ref: str, stage: str, *, by: str = "") -> tuple[Job, Stage]:
        """Note that the painter begins a stage, and return the job and that stage.

        Said again a moment later of the same stage, it was said once.

        Raises:
            InputError: the job's process has no such stage.
            BookingError: there is no such job, it is over or still to come, its process is gone,
                or somebody else just changed it.
        """
        job = self._begun(ref)
        process = self.processes.get(job.process)
        if process is None:
            raise BookingError(
                f"There is no usable process {job.process!r} for job {ref}; "
                "correct the job or the process file."
            )
        stages = {one.id: one for one in process.stages}
        wanted = stage.strip().lower()
        if wanted not in stages:
            raise InputError(typed.unknown("stage", stage, stages))
        last, now = self.bookings.history(ref)[-1], self._moment()
        said = last.event is Event.AT and last.note == wanted
        if not (said and abs(now - last.at) <= SAME_WITHIN):
            self.bookings.store.replace(job, now, Event.AT, wanted, by=by, was=job)
        return job, stages[wanted]

    def done(self, ref: str, *, by: str = "") -> Job:
        """Note that a job is done and return it.

        Raises:
            BookingError: there is no such job, it is over or still to come, or somebody else just
                changed it.
        """
        return self._end(ref, JobState.DONE, Event.DONE, "", by)

    def spoiled(self, ref: str, why: str, *, by: str = "") -> Job:
        """Note that a job was spoiled, and why, and return it.

        Raises:
            InputError: ``why`` is empty or does not fit one line.
            BookingError: as in ``done``.
        """
        note = typed.line(why, "why")
        if not note:
            raise InputError("Say in a few words what spoiled it.")
        return self._end(ref, JobState.SPOILED, Event.SPOILED, note, by)

    def report(self, job: Job) -> Report | None:
        """Return where the painter last said he is, on the day of the job; None if nowhere."""
        process = self.processes.get(job.process)
        ids = [stage.id for stage in process.stages] if process else []
        zone = ZoneInfo(job.site.zone)
        for event in reversed(self.bookings.history(job.ref)):
            of_the_day = event.at.astimezone(zone).date() == job.day
            if event.event is Event.AT and of_the_day and event.note in ids:
                return Report(tuple(ids[ids.index(event.note) :]), event.at)
        return None

    def _end(self, ref: str, state: JobState, event: Event, note: str, by: str) -> Job:
        was = self._begun(ref)
        job = replace(was, state=state)
        self.bookings.store.replace(job, self._moment(), event, note, by=by, was=was)
        return job

    def _begun(self, ref: str) -> Job:
        """Return a job that may have begun.

        Raises:
            BookingError: it is over, or its day is still to come.
        """
        job = self.bookings.booked(ref)
        today = self.now().astimezone(ZoneInfo(job.site.zone)).date()
        if job.day > today:
            raise BookingError(
                f"Job {ref} is on {job.day}, which is still to come; change its day first."
            )
        return job

    def _moment(self) -> datetime:
        return self.now().astimezone(UTC)

"""Taking, changing and cancelling jobs: what the page, the command line and a file all call."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from datetime import UTC, date, datetime, timedelta
from typing import Protocol
from zoneinfo import ZoneInfo

from sprayadvisor.advice.model import Job, JobState, Site
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.services import typed
from sprayadvisor.services.job_form import read_job
from sprayadvisor.services.job_sites import site_of
from sprayadvisor.services.ports import BookingStore, Event, JobEvent, JobForm

_NUMBERING_TRIES = 10


class Catalogue(Protocol):
    """Whatever knows the processes by name."""

    @property
    def processes(self) -> Mapping[str, object]:
        """Every process by its name."""
        ...


@dataclass(frozen=True, slots=True)
class Bookings:
    """The jobs of one business.

    Attributes:
        store: where they are kept; any method here may raise its ``StoreError``.
        catalogue: the processes a job may ask for.
        now: the clock, aware.
    """

    store: BookingStore
    catalogue: Catalogue
    now: Callable[[], datetime]

    def add(self, form: JobForm, *, by: str = "") -> Job:
        """Take a new job and return it, numbered if the form gives no reference.

        Raises:
            InputError: a field is missing, cannot be understood or cannot be true.
            BookingError: the reference is taken, or the site's name is taken by another place.
        """
        site = self._site(form, None)
        job = read_job(form, site, self.today(site), None)
        self.check_new(job)
        if job.ref:
            self.store.add(job, self.moment(), by=by)
            return job
        return self._add_numbered(job, by)

    def twin(self, form: JobForm) -> Job | None:
        """Return the booked job that this form would book a second time; None if there is none.

        Raises:
            InputError: as in ``add``.
        """
        site = self._site(form, None)
        job = read_job(form, site, self.today(site), None)
        booked = self.store.between(job.day, job.day, (JobState.BOOKED,))
        alike = (one for one in booked if replace(one, ref=job.ref, times_moved=0) == job)
        return next(alike, None)

    def change(self, ref: str, form: JobForm, *, by: str = "", was: Job | None = None) -> Job:
        """Change what the form says and return the job as it is now; another day is a move.

        Args:
            ref: of the job.
            form: what shall be different.
            by: through which door the change comes.
            was: the job as whoever filled in the form saw it; None: as it is stored now.

        Raises:
            InputError: a field cannot be understood or cannot be true, or nothing would change.
            BookingError: there is no such job, it is over, or somebody else just changed it.
        """
        was = was or self.booked(ref)
        if form.ref and form.ref != ref:
            raise InputError(f"Job {ref} keeps its reference; add a new job to have another.")
        site = self._site(form, was.site)
        job = read_job(form, site, self.today(site), was)
        if job == was:
            raise InputError(f"Nothing about job {ref} would change; say what shall.")
        if job.process != was.process:
            self._check_process(job)
        if job.day == was.day:
            event, note = Event.CHANGED, ", ".join(differing(was, job))
        else:
            self._check_day(job)
            event, note = Event.MOVED, f"{was.day} to {job.day}"
            job = replace(job, times_moved=was.times_moved + 1)
        self.store.replace(job, self.moment(), event, note, by=by, was=was)
        return job

    def cancel(self, ref: str, why: str = "", *, by: str = "") -> Job:
        """Cancel a job and return it. It stays in the store with its history.

        Raises:
            InputError: ``why`` does not fit one line.
            BookingError: there is no such job, it is over, or somebody else just changed it.
        """
        note = typed.line(why, "why")
        was = self.booked(ref)
        job = replace(was, state=JobState.CANCELLED)
        self.store.replace(job, self.moment(), Event.CANCELLED, note, by=by, was=was)
        return job

    def get(self, ref: str) -> Job:
        """Return one job.

        Raises:
            BookingError: there is no such job.
        """
        job = self.store.get(ref)
        if job is None:
            raise BookingError(
                f"There is no job {ref}; look for it with “sprayadvisor job list --all”, or under "
                "Bookings on the page."
            )
        return job

    def sites(self) -> tuple[Site, ...]:
        """Return every stored site, in order of name."""
        return tuple(self.store.sites())

    def history(self, ref: str) -> tuple[JobEvent, ...]:
        """Return what happened to a job, oldest first.

        Raises:
            BookingError: there is no such job.
        """
        return self.store.history(self.get(ref).ref)

    def list(
        self,
        first_day: date | None = None,
        last_day: date | None = None,
        *,
        everything: bool = False,
    ) -> tuple[Job, ...]:
        """Return jobs in order of day and arrival.

        Args:
            first_day: from this day on; None means from today on, as the site's calendar has it.
            last_day: up to and with this day; None means without end.
            everything: also days gone by (without ``first_day``) and jobs that are over.
        """
        states = tuple(JobState) if everything else (JobState.BOOKED,)
        last = last_day or date.max
        if first_day or everything:
            return self.store.between(first_day or date.min, last, states)
        # No calendar on earth is more than a day behind UTC.
        earliest = self.moment().date() - timedelta(days=1)
        jobs = self.store.between(earliest, last, states)
        return tuple(job for job in jobs if job.day >= self.today(job.site))

    def booked(self, ref: str) -> Job:
        """Return a job that is neither done nor spoiled nor cancelled.

        Raises:
            BookingError: there is no such job, or it is over.
        """
        job = self.get(ref)
        if job.state is not JobState.BOOKED:
            raise BookingError(f"Job {ref} is {job.state}; add a new job instead.")
        return job

    def _add_numbered(self, job: Job, by: str) -> Job:
        """Store the job under the next number, and the one after if somebody was quicker."""
        for _ in range(_NUMBERING_TRIES):
            numbered = replace(job, ref=self.store.next_ref())
            try:
                self.store.add(numbered, self.moment(), by=by)
            except BookingError:
                continue
            return numbered
        raise BookingError("No number was free, as others add jobs too; try again in a moment.")

    def _site(self, form: JobForm, current: Site | None) -> Site:
        """Return the site that is meant, with what the form says about it."""
        return site_of(form, current, {site.name: site for site in self.store.sites()})

    def check_new(self, job: Job) -> None:
        """Refuse a job that cannot be taken on.

        Raises:
            InputError: its process is not known, or its day is over although it is still booked.
        """
        self._check_process(job)
        if job.state is JobState.BOOKED:
            self._check_day(job)

    def _check_process(self, job: Job) -> None:
        """Refuse a process that is not in the catalogue."""
        if job.process not in self.catalogue.processes:
            unknown = typed.unknown("process", job.process, self.catalogue.processes)
            raise InputError(unknown, field="process")

    def _check_day(self, job: Job) -> None:
        """Refuse a day that is over at the site."""
        today = self.today(job.site)
        if job.day < today:
            raise InputError(
                f"day is {job.day}, which is over; it is {today} in {job.site.zone}: "
                "give today or a later day.",
                field="day",
            )

    def today(self, site: Site) -> date:
        """Return the date at a site."""
        return self.now().astimezone(ZoneInfo(site.zone)).date()

    def moment(self) -> datetime:
        """Return this moment in UTC."""
        return self.now().astimezone(UTC)


def differing(was: Job | Site, now: Job | Site) -> list[str]:
    """Return the names of what changed; the history must not repeat a customer's details."""
    names = [field.name for field in fields(was)]
    return [name for name in names if getattr(was, name) != getattr(now, name)]

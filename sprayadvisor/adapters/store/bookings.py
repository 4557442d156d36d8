"""Jobs, sites and what happened to them, in a database."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Select, func, insert, select, update

from sprayadvisor.adapters.store.engine import insert_into, read, write
from sprayadvisor.adapters.store.rows import job_from_row, job_row, site_from_row, site_row, word
from sprayadvisor.adapters.store.schema import JOB_EVENTS, JOBS, SITES
from sprayadvisor.advice.model import Job, JobState, Site
from sprayadvisor.errors import BookingError
from sprayadvisor.services.ports import Event, JobEvent

_WITH_SITE: Select[*tuple[Any, ...]] = select(
    JOBS, *(column.label(f"site_{column.name}") for column in SITES.c)
).join_from(JOBS, SITES)


@dataclass(frozen=True, slots=True)
class SqlBookings:
    """``BookingStore`` in a database; its contract is there."""

    engine: Engine

    def add(self, job: Job, at: datetime, *, by: str = "") -> None:
        """Store a new job."""
        self.add_all((job,), at, by=by)

    def add_all(self, jobs: Sequence[Job], at: datetime, *, by: str = "") -> None:
        """Store new jobs."""
        with write(self.engine) as connection:
            for job in jobs:
                _keep_site(connection, job.site)
                _put_in(connection, job)
                _keep_event(connection, job.ref, JobEvent(at, Event.ADDED, by, ""))

    def get(self, ref: str) -> Job | None:
        """Return one job."""
        with read(self.engine) as connection:
            return _get(connection, _WITH_SITE, ref)

    def between(
        self,
        first_day: date,
        last_day: date,
        states: Collection[JobState] = (JobState.BOOKED,),
    ) -> tuple[Job, ...]:
        """Return the jobs of these days."""
        wanted = (
            _WITH_SITE.where(JOBS.c.day.between(first_day, last_day))
            .where(JOBS.c.state.in_([state.value for state in states]))
            .order_by(JOBS.c.day, JOBS.c.arrive_from, JOBS.c.ref)
        )
        with read(self.engine) as connection:
            rows = connection.execute(wanted).mappings().all()
        return tuple(job_from_row(dict(row)) for row in rows)

    def replace(
        self,
        job: Job,
        at: datetime,
        event: Event,
        note: str = "",
        *,
        by: str = "",
        was: Job | None = None,
    ) -> None:
        """Put a job in the place of the stored one."""
        with write(self.engine) as connection:
            stored = _get(connection, _WITH_SITE.with_for_update(of=JOBS), job.ref)
            if stored is None:
                raise BookingError(f"There is no job {job.ref}; add it first.")
            if was is not None and stored != was:
                raise BookingError(
                    f"Job {job.ref} was changed by somebody else just now; look again and retry."
                )
            _keep_site(connection, job.site)
            connection.execute(update(JOBS).where(JOBS.c.ref == job.ref).values(job_row(job)))
            _keep_event(connection, job.ref, JobEvent(at, event, by, note))

    def next_ref(self) -> str:
        """Return a short reference that is free now."""
        with read(self.engine) as connection:
            number = connection.execute(select(func.count()).select_from(JOBS)).scalar_one() + 1
            while connection.execute(select(JOBS.c.ref).filter_by(ref=f"J{number}")).first():
                number += 1
        return f"J{number}"

    def sites(self) -> tuple[Site, ...]:
        """Return every stored site."""
        with read(self.engine) as connection:
            rows = connection.execute(select(SITES).order_by(SITES.c.name)).mappings().all()
        return tuple(site_from_row(dict(row)) for row in rows)

    def history(self, ref: str) -> tuple[JobEvent, ...]:
        """Return what happened to a job."""
        wanted = select(JOB_EVENTS).where(JOB_EVENTS.c.job == ref).order_by(JOB_EVENTS.c.id)
        with read(self.engine) as connection:
            rows = connection.execute(wanted).all()
        return tuple(
            JobEvent(row.at, word(Event, row.event, f"job {ref}"), row.by, row.note) for row in rows
        )


def _get(connection: Connection, wanted: Select[*tuple[Any, ...]], ref: str) -> Job | None:
    """Return the job with this reference."""
    row = connection.execute(wanted.where(JOBS.c.ref == ref)).mappings().one_or_none()
    return None if row is None else job_from_row(dict(row))


def _put_in(connection: Connection, job: Job) -> None:
    """Store a new job's row."""
    put = insert_into(connection, JOBS).values(job_row(job)).on_conflict_do_nothing()
    # A row count would do on SQLite, but psycopg gives -1 for an INSERT.
    if connection.execute(put.returning(JOBS.c.ref)).first() is None:
        raise BookingError(f"There is already a job {job.ref}; give another reference.")


def _keep_site(connection: Connection, site: Site) -> None:
    """Store a site or bring the stored one of its name up to date."""
    row = site_row(site)
    put = insert_into(connection, SITES).values(row)
    connection.execute(put.on_conflict_do_update(index_elements=[SITES.c.name], set_=row))


def _keep_event(connection: Connection, ref: str, event: JobEvent) -> None:
    """Add one line to a job's history."""
    connection.execute(
        insert(JOB_EVENTS).values(
            job=ref, at=event.at, event=event.event.value, by=event.by, note=event.note
        )
    )

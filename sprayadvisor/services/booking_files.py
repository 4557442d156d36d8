"""Bookings from a file, and into one. A file only ever adds: it changes nothing that is stored.

A reference is what a row is known by. Where a job of that reference is stored and the row would
change nothing about it, the row is passed over, so that a file read twice records nothing twice.
Where it would, the row is refused. So is a row that says something else about a site than what is
stored, or than another row says.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from sprayadvisor.advice.model import Job, JobState, Site
from sprayadvisor.errors import BookingError, BookingFileError, Fault, InputError, RowFault
from sprayadvisor.services import typed
from sprayadvisor.services.bookings import Bookings, differing
from sprayadvisor.services.job_form import at_field, read_job, read_site, site_changes
from sprayadvisor.services.job_sites import refuse_if_swapped, site_name
from sprayadvisor.services.ports import JobForm
from sprayadvisor.services.ports.booking_file import BookingFile, Row
from sprayadvisor.services.row_form import COLUMNS, NEEDED, filled_in, row_of

_BY = "file"


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of a file.

    Attributes:
        read_as: encoding and separator that were taken, in words.
        added: references of the new jobs, in the file's order.
        there: references of jobs that were stored already, just so.
        faults: one for each row that was refused.
    """

    read_as: str
    added: tuple[str, ...]
    there: tuple[str, ...]
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class BookingFiles:
    """Bookings from files and into them.

    Attributes:
        bookings: where jobs are kept.
        file: reads and writes the files.
    """

    bookings: Bookings
    file: BookingFile

    def take(self, path: Path, *, keep_good: bool = False) -> Taken:
        """Take the jobs of a file, in one transaction.

        Args:
            path: the file.
            keep_good: take the good rows even if others are refused; else it is all or none.

        Raises:
            BookingFileError: the file as a whole cannot be read.
            BookingError: somebody else added one of the jobs meanwhile; nothing was taken.
        """
        table = self.file.read(path, COLUMNS, NEEDED)
        if not (table.rows or table.faults):
            fault = RowFault(
                str(path), "", "there is no row below the columns", "add a row for a job"
            )
            raise BookingFileError([fault])
        intake = _Intake.of(self.bookings, str(path))
        intake.learn_sites(table.rows)
        for row in table.rows:
            intake.take(row)
        faults = tuple(sorted((*table.faults, *intake.faults), key=lambda fault: fault.line or 0))
        new = intake.new if keep_good or not faults else []
        if new:
            store = self.bookings.store
            store.add_all(new, self.bookings.moment(), by=_BY)
        return Taken(table.read_as, tuple(job.ref for job in new), tuple(intake.there), faults)

    def text_of(self, jobs: Iterable[Job]) -> str:
        """Return the text of a file that would bring about these jobs."""
        return self.file.written(COLUMNS, [row_of(job) for job in jobs])


@dataclass(slots=True)
class _Intake:
    """One file on its way in: what was found to be good, to be there, and to be wrong."""

    bookings: Bookings
    where: str
    stored: dict[str, Job]
    sites: dict[str, Site]
    bad_sites: dict[str, InputError] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    new: list[Job] = field(default_factory=list)
    there: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    @classmethod
    def of(cls, bookings: Bookings, where: str) -> _Intake:
        """Return an intake that knows what is stored."""
        jobs = bookings.store.between(date.min, date.max, tuple(JobState))
        sites = {site.name: site for site in bookings.store.sites()}
        return cls(bookings, where, {job.ref: job for job in jobs}, sites)

    def learn_sites(self, rows: Sequence[Row]) -> None:
        """Put together what all rows say about each new site, whichever row says it."""
        said: dict[str, dict[str, object]] = {}
        for row in rows:
            try:
                form = filled_in(row.texts).form
                name, changes = typed.line(site_name(form), "site"), site_changes(form)
            except InputError:
                continue  # told when the row itself is taken
            if name not in self.sites:
                said[name] = {**changes, **said.get(name, {})}
        for name, changes in said.items():
            if {"latitude", "longitude", "zone"} <= changes.keys():
                self._learn_site(Site(name=name, **changes))  # type: ignore[arg-type]  # by its readers

    def _learn_site(self, site: Site) -> None:
        try:
            refuse_if_swapped(site, self.sites.values())
        except InputError as error:
            self.bad_sites[site.name] = error
        else:
            self.sites[site.name] = site

    def take(self, row: Row) -> None:
        """Judge one row."""
        try:
            self._judge(row)
        except (InputError, BookingError) as error:
            self.faults.append(_row_fault(self.where, row.line, error))

    def _judge(self, row: Row) -> None:
        said = filled_in(row.texts)
        with at_field("ref"):
            ref = typed.reference(said.form.ref or "", "ref")
        if ref in self.lines:
            raise InputError(
                f"ref {ref!r} stands on line {self.lines[ref]} too; remove one row, or give it a "
                "reference of its own.",
                field="ref",
            )
        self.lines[ref] = row.line
        site = self._site(said.form)
        was = self.stored.get(ref)
        job = replace(read_job(said.form, site, self.bookings.today(site), was), **said.record)
        if was is not None:
            self._meet(was, job)
            return
        self.bookings.check_new(job)
        self.new.append(job)

    def _site(self, form: JobForm) -> Site:
        """Return the site a row names, which the row must not contradict."""
        name = site_name(form)
        if name in self.bad_sites:
            raise self.bad_sites[name]
        known = self.sites.get(name)
        site = read_site(form, name, known, self.sites)
        if known is not None and site != known:
            other = differing(known, site)
            raise InputError(
                f"Site {name!r} has another {' and '.join(other)} in the database or in another "
                "row; make them agree, or change the site through a job there first.",
                field=other[0],
            )
        return site

    def _meet(self, was: Job, job: Job) -> None:
        """Pass over a job that is there just so; refuse to change it."""
        if job != was:
            raise InputError(
                f"There is a job {was.ref} already, with another "
                f"{' and '.join(differing(was, job))}; change it with: job change {was.ref}; or "
                "give this row another reference.",
                field="ref",
            )
        self.there.append(was.ref)


def _row_fault(where: str, line: int, error: InputError | BookingError) -> RowFault:
    """Return the sentence of an error as a fault of one row."""
    problem, _, remedy = str(error).removesuffix(".").rpartition("; ")
    return RowFault(where, getattr(error, "field", ""), problem, remedy, line)

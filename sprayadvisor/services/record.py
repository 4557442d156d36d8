"""The record of a job: what was noted, read and forecast, put together; kept as the painter wants.

history ── when each coat began ─┐
readings ─ what was measured ────┼─ draft ── the painter chooses ──▸ kept
forecast ─ the rest ─────────────┘
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.job_climates import Group, job_climates
from sprayadvisor.advice.members import single
from sprayadvisor.advice.model import Job, Kit
from sprayadvisor.advice.plan import Plan, PlanStage
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.record import USUAL, CoatRecord, JobRecord, Met, Part, met, only, suited
from sprayadvisor.advice.rest import StageTime, compiled_ids
from sprayadvisor.advice.setups import Setup
from sprayadvisor.services import typed
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.brief import Catalogue, WeatherSource
from sprayadvisor.services.ports import Event
from sprayadvisor.services.ports.clock import SaidStore
from sprayadvisor.services.ports.readings import KeptReading, ReadingStore
from sprayadvisor.services.ports.records import RecordStore
from sprayadvisor.services.weather import place_key

NEAR = timedelta(minutes=90)  # a reading for the same stage counts if it was taken this near
_LATER_COAT = re.compile(r"-(?!1$)\d+$")


@dataclass(frozen=True, slots=True)
class Records:
    """Drafts, keeps and shows records.

    Attributes:
        bookings: the jobs; any method here may raise its store's ``StoreError``.
        weather: the forecasts.
        catalogue: sheets and processes.
        readings: what was measured.
        said: what was advised.
        store: what the painter chose to keep.
        policy: the user's bounds.
        kit: what is in the van.
        now: the clock, aware.
    """

    bookings: Bookings
    weather: WeatherSource
    catalogue: Catalogue
    readings: ReadingStore
    said: SaidStore
    store: RecordStore
    policy: Policy
    kit: Kit
    now: Callable[[], datetime]

    def of(self, ref: str) -> JobRecord:
        """Return the record that is kept of a job, else a draft with the usual parts.

        Raises:
            BookingError: there is no such job.
        """
        return self.store.of(self.bookings.get(ref).ref) or only(self.draft(ref), USUAL)

    def draft(self, ref: str) -> JobRecord:
        """Return all that is known of how a job was done.

        Raises:
            BookingError: there is no such job.
        """
        job = self.bookings.get(ref)
        said = self.said.newest(job.ref, job.day)
        advice = said[0][1].word.value if said else ""
        plan = self._plan(job)
        if plan is None:
            return JobRecord(job.ref, frozenset(Part), (), advice)
        times = next((one.times for _, one in said if one.times), ())
        climate = self._climate(job)
        coats = tuple(self._coat(job, plan, stage, times, climate) for stage in _told(plan))
        return JobRecord(job.ref, frozenset(Part), coats, advice)

    def keep(self, ref: str, parts: Collection[Part], reason: str) -> JobRecord:
        """Keep these parts of what is known now, and the painter's reason; return the record.

        Raises:
            InputError: the reason does not fit one line.
            BookingError: there is no such job.
        """
        told = typed.line(" ".join(reason.split()), "reason", 1000)
        kept = replace(
            only(self.draft(ref), parts), reason=told, kept_at=self.now().astimezone(UTC)
        )
        self.store.keep(kept)
        return kept

    def forget(self, ref: str) -> None:
        """Keep nothing of a job any more.

        Raises:
            BookingError: there is no such job.
        """
        self.store.forget(self.bookings.get(ref).ref)

    def _plan(self, job: Job) -> Plan | None:
        process = self.catalogue.processes.get(job.process)
        if process is None:
            return None
        setup = Setup(job, self.kit, process, self.catalogue.sheets_of(process))
        return setup.plan(self.policy)

    def _climate(self, job: Job) -> Climate | None:
        """Return what the forecast says the panels met, None where there is none."""
        outlook = self.weather.for_sites([job.site], self.policy)[place_key(job.site)].outlook
        if outlook is None or outlook.missing:
            return None
        return job_climates([Group([job], single(outlook))])[job.ref].climate

    def _coat(
        self,
        job: Job,
        plan: Plan,
        stage: PlanStage,
        times: tuple[StageTime, ...],
        climate: Climate | None,
    ) -> CoatRecord:
        """Return what is known of one product."""
        noted = self._noted(job, stage)
        planned = next((time.begin for time in times if time.id == stage.id), None)
        at = noted or planned
        sheet = plan.sheets[stage.role or ""]
        found = self._met(job, stage, at, climate, noted=noted is not None)
        return CoatRecord(
            stage=stage.name,
            at=at,
            noted=noted is not None,
            met=found,
            product=sheet.name,
            revision=sheet.revision,
            choices=suited(sheet, found) if stage.kind == "coat" else (),
            unnoted=_unnoted(plan, stage),
        )

    def _noted(self, job: Job, stage: PlanStage) -> datetime | None:
        """Return when the painter said that he begins this stage, on the day of the job."""
        zone = ZoneInfo(job.site.zone)
        for event in reversed(self.bookings.history(job.ref)):
            of_the_day = event.at.astimezone(zone).date() == job.day
            if event.event is Event.AT and of_the_day and stage.id in compiled_ids(event.note):
                return event.at
        return None

    def _met(
        self,
        job: Job,
        stage: PlanStage,
        at: datetime | None,
        climate: Climate | None,
        *,
        noted: bool,
    ) -> tuple[Met, ...]:
        """Return what a coat met: as measured, else as forecast."""
        if at is None:
            return ()
        read = self._reading(job, stage, at, noted=noted)
        return met(climate, at, read.reading if read else None)

    def _reading(
        self, job: Job, stage: PlanStage, at: datetime, *, noted: bool
    ) -> KeptReading | None:
        """Return the reading a stage was begun on.

        That is the last before it was noted to begin. Where there is none, or no such note, it is
        the one nearest to its time, of several at that time the last.
        """
        near = [
            kept
            for kept in self.readings.of(job.ref)
            if kept.struck_at is None
            and stage.id in compiled_ids(kept.stage)
            and abs(kept.reading.taken_at - at) <= NEAR
        ]
        before = [one for one in near if noted and max(one.reading.taken_at, one.asked_at) <= at]
        if before:
            return max(reversed(before), key=lambda kept: kept.reading.taken_at)
        return min(reversed(near), key=lambda kept: abs(kept.reading.taken_at - at), default=None)


def _told(plan: Plan) -> list[PlanStage]:
    """Return the first coat of each stage of the process that sprays something, and each bake."""
    laid = [stage for stage in plan.stages if stage.kind in ("coat", "lamp") and stage.role]
    return [stage for stage in laid if not _LATER_COAT.search(stage.id)]


def _unnoted(plan: Plan, stage: PlanStage) -> tuple[str, ...]:
    """Return what nobody can note of a stage, so that nobody takes it for observed."""
    if stage.kind != "coat":
        return ()
    first = stage.id.removesuffix("-1")
    later = any(
        other.id.startswith(f"{first}-") and _LATER_COAT.search(other.id) for other in plan.stages
    )
    return (*(("the later coats",) if later else ()), "when it was matt")

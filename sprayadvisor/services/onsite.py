"""The check at the car: gather job and weather, ask the advice, keep what was read.

reference ─ booking ─ process, sheets ─┐
asked ─────────────────────────────────┼─ answer at the car ─→ kept with the job
place ─ forecast ─ members ────────────┘
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sprayadvisor.advice.as_read import as_read
from sprayadvisor.advice.at_the_car import answer, reading_alone
from sprayadvisor.advice.car import Car
from sprayadvisor.advice.ensemble import members_of
from sprayadvisor.advice.model import Job, Kit
from sprayadvisor.advice.onsite import Asked, OnSiteAnswer, felt
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.rest import stage_index
from sprayadvisor.advice.setups import Setup
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.render.onsite_json import onsite_json
from sprayadvisor.render.told_onsite import ToldOnSite, onsite_text, tell_onsite
from sprayadvisor.services import typed
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.brief import MEMBERS, Catalogue, WeatherSource, seed_of
from sprayadvisor.services.courtesy import Courtesy
from sprayadvisor.services.onsite_form import OnSiteForm, read_form
from sprayadvisor.services.ports.readings import KeptReading, ReadingStore
from sprayadvisor.services.progress import Progress
from sprayadvisor.services.readings_kept import matt_since, same
from sprayadvisor.services.weather import place_key
from sprayadvisor.units import Display


@dataclass(frozen=True, slots=True)
class Next:
    """One stage that may come next.

    Attributes:
        id: of the stage of the process.
        name: what the painter calls it.
        kind: of the stage, such as coat or flash.
        beside: whether it is done while another one runs.
    """

    id: str
    name: str
    kind: str
    beside: bool

    @property
    def wet(self) -> bool:
        """Whether something is sprayed in it."""
        return self.kind == "coat"


@dataclass(frozen=True, slots=True)
class OnSite:
    """Answers at the car.

    Attributes:
        bookings: the jobs.
        progress: where the painter said he is.
        weather: the forecasts.
        catalogue: sheets and processes.
        readings: where what was read is kept.
        policy: the user's bounds.
        kit: what is in the van.
        display: how numbers are shown.
        now: the clock, aware.
        courtesy: lets answers go before what runs in the background.
    """

    bookings: Bookings
    progress: Progress
    weather: WeatherSource
    catalogue: Catalogue
    readings: ReadingStore
    policy: Policy
    kit: Kit
    display: Display
    now: Callable[[], datetime]
    courtesy: Courtesy = field(default_factory=Courtesy)

    def ask(self, reference: str, asked: Asked) -> OnSiteAnswer:
        """Return whether the next stage of a job may begin now, and keep what was read.

        Readings with a doubt are not kept, and nothing is judged on them. A reading sent twice is
        kept once.

        Args:
            reference: of the job.
            asked: what was measured and said.

        Raises:
            BookingError: there is no such job, it is over, not today, or its process is gone.
            InputError: the stage is not known, nobody said which comes next, or the shelter or
                the lamp cannot be.
            StoreError: the bookings cannot be read, or the reading cannot be kept.
        """
        now = self.now()
        job = self._of_today(reference, now)
        process = self._process(job)
        ids, begun_at = self._next(job, process, asked)
        if asked.lamp and not job.lamp_usable(self.kit):
            raise InputError(
                f"lamp: none can run at {job.site.name}: power {job.site.power.value}, lamp "
                f"{self.kit.lamp_kw:g} kW; ask without it, or correct site and kit."
            )
        if not 0 <= asked.reading.panel < len(job.panels):
            raise InputError(f"panel: job {job.ref} has {len(job.panels)}; name one of them.")
        said_matt = asked.matt_at is not None
        asked = self._with_matt(job, asked, ids[0], now)
        setup = Setup(job, self.kit, process, self.catalogue.sheets_of(process))
        with self.courtesy.urgent():
            found = self._answer(setup, asked, ids, begun_at, now)
        found = replace(found, said_at=None if asked.next_stage else begun_at)
        if not found.doubts:
            self._keep(job, ids[0], found, said_matt=said_matt)
        return found

    def asked(self, reference: str, form: OnSiteForm) -> Asked:
        """Return what was typed as what is asked.

        Raises:
            BookingError: there is no such job.
            InputError: a field cannot be read.
        """
        return read_form(form, self.bookings.get(reference), self.now(), self.display)

    def stages(self, reference: str) -> tuple[Next, ...]:
        """Return the stages that may come next in a job, in their order.

        Raises:
            BookingError: there is no such job, or its process is gone.
        """
        process = self._process(self.bookings.get(reference))
        return tuple(
            Next(one.id, one.name, one.kind, one.alongside is not None) for one in process.stages
        )

    def next_of(self, reference: str) -> str:
        """Return the stage the painter said he begins, today; empty if he said nothing.

        Raises:
            BookingError: there is no such job.
        """
        report = self.progress.report(self.bookings.get(reference))
        return report.ids[0] if report else ""

    def kept(self, reference: str) -> tuple[KeptReading, ...]:
        """Return what was read at a job, oldest first.

        Raises:
            BookingError: there is no such job.
        """
        return self.readings.of(self.bookings.get(reference).ref)

    def strike(self, reference: str, number: int) -> bool:
        """Strike out a reading of a job as wrong; return whether there was one that counted.

        Raises:
            BookingError: there is no such job.
            StoreError: it cannot be kept.
        """
        ref = self.bookings.get(reference).ref
        return self.readings.strike(ref, number, self.now().astimezone(UTC))

    def told(self, answer: OnSiteAnswer) -> ToldOnSite:
        """Return an answer in words."""
        return tell_onsite(answer, self.display)

    def as_text(self, answer: OnSiteAnswer) -> str:
        """Return an answer as plain text."""
        return onsite_text(answer, self.display)

    def as_json(self, answer: OnSiteAnswer) -> dict[str, Any]:
        """Return an answer for a machine."""
        return onsite_json(answer)

    def _answer(
        self,
        setup: Setup,
        asked: Asked,
        ids: tuple[str, ...],
        begun_at: datetime | None,
        now: datetime,
    ) -> OnSiteAnswer:
        """Return the answer, or why there is none."""
        key = place_key(setup.job.site)
        weather = self.weather.for_sites([setup.job.site], self.policy)[key]
        outlook = weather.outlook
        stage = next(one for one in setup.process.stages if one.id == ids[0])
        plan = setup.plan(self.policy)
        bare = OnSiteAnswer(
            setup.job,
            asked,
            now,
            Word.UNKNOWN,
            stage=stage.id,
            stage_name=stage.name,
            felt=felt(asked.mist_s, asked.stripe_min),
            conditions=reading_alone(asked.reading),
            as_read=as_read(plan, stage_index(plan, ids), asked.reading),
        )
        if outlook is None:
            return replace(bare, why=weather.problem)
        if outlook.missing:
            return replace(bare, why=f"the forecast gives no {outlook.lacks} here")
        members = members_of(outlook, weather.runs, MEMBERS, seed=seed_of(key))
        noted = self.progress.report(setup.job)
        car = Car(setup, self.policy, members, weather.air, ids, begun_at, noted)
        found = answer(car, asked, now, self.display)
        return replace(found, provenance=outlook.provenance, weather_problem=weather.problem)

    def _of_today(self, reference: str, now: datetime) -> Job:
        """Return a job that may be under way."""
        job = self.bookings.booked(reference)
        today = now.astimezone(ZoneInfo(job.site.zone)).date()
        if job.day != today:
            raise BookingError(
                f"Job {job.ref} is on {job.day}, and today is {today}; the brief tells about other "
                "days, or change the day of the job."
            )
        return job

    def _process(self, job: Job) -> Process:
        process = self.catalogue.processes.get(job.process)
        if process is None:
            raise BookingError(
                f"There is no usable process {job.process!r} for job {job.ref}; "
                "correct the job or the process file."
            )
        return process

    def _next(
        self, job: Job, process: Process, asked: Asked
    ) -> tuple[tuple[str, ...], datetime | None]:
        """Return the stage that comes next with all that follow, and when it was begun, if so.

        Raises:
            InputError: there is no such stage, or nobody said which comes next.
        """
        ids = [stage.id for stage in process.stages]
        wanted = asked.next_stage.strip().lower()
        if wanted and wanted not in ids:
            raise InputError(typed.unknown("next", asked.next_stage, ids))
        if wanted:
            return tuple(ids[ids.index(wanted) :]), None
        report = self.progress.report(job)
        if report is None:
            coats = ", ".join(stage.id for stage in process.stages if stage.kind == "coat")
            raise InputError(
                f"next: nobody said which stage comes next; name it, such as {coats}, or say where "
                "you are by `job at`."
            )
        return report.ids, report.at

    def _with_matt(self, job: Job, asked: Asked, stage: str, now: datetime) -> Asked:
        """Return what is asked; since when the coat before is matt need be said only once."""
        if asked.matt_at is not None:
            return asked
        report = self.progress.report(job)
        since = matt_since(self.kept(job.ref), stage, report.at if report else None, now)
        return replace(asked, matt_at=since)

    def _keep(self, job: Job, stage: str, found: OnSiteAnswer, *, said_matt: bool) -> None:
        """Keep what was read, unless that was just done or nothing was."""
        asked = found.asked
        if not (asked.reading.measured or found.felt or said_matt):
            return
        kept = KeptReading(
            asked.reading,
            found.made_at,
            stage,
            found.word,
            asked.mist_s,
            asked.stripe_min,
            asked.matt_at,
        )
        before = self.readings.of(job.ref)
        if before and same(before[-1], kept):
            return
        self.readings.keep(job.ref, kept)

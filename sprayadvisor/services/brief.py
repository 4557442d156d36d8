"""The brief of a day: the one page to read first.

    bookings ── jobs of the day ──┐
    catalogue ─ process, sheets ──┼─ plan ───────────────┐
    weather ─── outlook by place ─┴─ members ─ climate ──┴─ play ─ windows, verdict ─┐
                                                                                     │
    brief ◂── day: order, clashes, whom to ring, what to load ◂── entry of each job ◂┘

Gather, decide, act: ``Briefs.make`` fetches everything, hands plain values to the advice, and
returns a value. Making it into words and sending it are other steps. A job that cannot be judged is
in the brief as *unknown* with the reason; it never keeps the others from being told.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Protocol
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.advice.day import (
    air_line,
    arrival_of,
    clashes,
    heads_up,
    house,
    in_order,
    load,
    offers,
)
from sprayadvisor.advice.diary import Busy, busy_with, held_up, kept_apart, there_from
from sprayadvisor.advice.ensemble import members_of
from sprayadvisor.advice.entries import entry
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.job_climates import Group, JobClimate, job_climates
from sprayadvisor.advice.judge import Judgement, judge
from sprayadvisor.advice.model import Job, Kit, Site
from sprayadvisor.advice.outlook import Outlook
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.printed import example_plan, in_a_row
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.remedies import World, remedies
from sprayadvisor.advice.said import Report
from sprayadvisor.advice.setups import Setup
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.advice.two_visits import LATEST_DAYS, two_visits
from sprayadvisor.advice.under_way import go_on
from sprayadvisor.advice.van import VanTemps, van_temps
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import Fault
from sprayadvisor.services.brief_notes import doubt, problems, sources, unknowns
from sprayadvisor.services.weather import SiteWeather, place_key

MEMBERS = 32  # guessed errors of a forecast do not bear finer odds than these

NOT_KNOWN_MIN = 240.0  # a job whose process is gone takes as long as a common one


class Jobs(Protocol):
    """Where the jobs of a day come from."""

    def list(self, first_day: date | None = None, last_day: date | None = None) -> tuple[Job, ...]:
        """Return the booked jobs from one day to another."""
        ...


class WeatherSource(Protocol):
    """Where the weather comes from; a place without any is an entry that says why."""

    def for_sites(self, sites: Sequence[Site], policy: Policy) -> Mapping[str, SiteWeather]:
        """Return the weather by place key."""
        ...


class Catalogue(Protocol):
    """The sheets and processes that could be loaded."""

    @property
    def sheets(self) -> Mapping[str, Sheet]:
        """Every sheet by name."""
        ...

    @property
    def processes(self) -> Mapping[str, Process]:
        """Every process by name."""
        ...

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What could not be loaded."""
        ...

    def sheets_of(self, process: Process) -> dict[str, Sheet]:
        """Return the sheets of a process by role."""
        ...


@dataclass(frozen=True, slots=True)
class Briefs:
    """Makes briefs.

    Attributes:
        jobs: the bookings.
        weather: the forecasts.
        catalogue: sheets and processes.
        policy: the user's bounds.
        kit: what is in the van.
        business: name of the business.
        base: where the van sleeps; None leaves its night out.
        zone: zone of the brief's own times.
        now: the clock, aware.
        give_way: called before each job, so that whatever is more urgent may go first.
        report: where the painter said he is in a job; then its rest is judged.
    """

    jobs: Jobs
    weather: WeatherSource
    catalogue: Catalogue
    policy: Policy
    kit: Kit
    business: str
    base: Site | None
    zone: str
    now: Callable[[], datetime]
    give_way: Callable[[], None] = lambda: None
    report: Callable[[Job], Report | None] = lambda _: None

    def make(self, day: date, moment: Moment) -> Brief:
        """Return the brief of a local day: the drawing above, in code.

        Raises:
            StoreError: the bookings cannot be read. Anything else that fails is told in the brief.
        """
        now = self.now()
        jobs = self.jobs.list(day, day)
        sites = [job.site for job in jobs] + ([self.base] if self.base else [])
        weather = self.weather.for_sites(sites, self.policy)
        judged = self._entries(jobs, weather, moment, now, self.report)
        # A job that was begun keeps the van there, whatever is said of its rest.
        no = [e for e in judged if e.judgement.word is Word.NO_GO and e.under_way is None]
        given_up = {e.judgement.job.ref for e in no}
        others = [busy for busy in self._booked(day) if busy.ref not in given_up]
        entries = in_order([kept_apart(one, others) for one in judged])
        ahead = [entry for entry in entries if entry.under_way is None]
        return Brief(
            moment=moment,
            day=day,
            made_at=now,
            zone=self.zone,
            business=self.business,
            entries=entries,
            ring=offers(ahead, others),
            heads_up=self._heads_up(ahead, moment),
            clashes=clashes(entries),
            load=load(entries, self.kit),
            house=house(entries),
            van=self._van(weather, day, moment),
            air_line=air_line(entries),
            sources=tuple(dict.fromkeys(sources(weather))),
            weather_problems=(
                *problems(jobs, {k: w.problem for k, w in weather.items()}),
                *problems(unknowns(entries), {k: doubt(w) for k, w in weather.items()}),
            ),
            air_problems=problems(jobs, {k: w.air_problem for k, w in weather.items()}),
            odds_problems=problems(jobs, {k: w.runs_problem for k, w in weather.items()}),
            runs=min((len(w.runs) for w in weather.values() if w.outlook), default=0),
            faults=tuple(str(fault) for fault in self.catalogue.faults),
        )

    def _booked(self, day: date) -> list[Busy]:
        """Return every job of a day and the days in which another slot may be offered."""
        jobs = self.jobs.list(day, day + timedelta(days=LATEST_DAYS))
        known = self.catalogue.processes
        names = dict.fromkeys(job.process for job in jobs if job.process in known)
        minutes = {name: self._printed_min(known[name]) for name in names}
        return [busy_with(job, minutes.get(job.process, NOT_KNOWN_MIN)) for job in jobs]

    def _printed_min(self, process: Process) -> float:
        """Return how long a process takes by its printed minutes."""
        lamp = self.kit.lamp_kw > 0
        plan = example_plan(process, self.catalogue.sheets_of(process), lamp=lamp)
        return float(max(end for _, end in in_a_row(plan)))

    def entry_of(self, job: Job) -> Entry:
        """Return the judgement on one job as it is now.

        Today's job is judged as in the morning, any other as on the evening before; the whole of
        it, even where it was begun: what notices go by is cut out of that.
        """
        now = self.now()
        weather = self.weather.for_sites([job.site], self.policy)
        is_today = job.day <= now.astimezone(ZoneInfo(self.zone)).date()
        moment = Moment.MORNING if is_today else Moment.EVENING
        return self._entries([job], weather, moment, now, lambda _: None)[0]

    def _entries(
        self,
        jobs: Sequence[Job],
        weather: Mapping[str, SiteWeather],
        moment: Moment,
        now: datetime,
        report: Callable[[Job], Report | None],
    ) -> list[Entry]:
        """Judge every job, those of one place over the same weather."""
        places = dict.fromkeys(place_key(job.site) for job in jobs)
        groups = {
            key: Group(
                [job for job in jobs if place_key(job.site) == key],
                members_of(outlook, weather[key].runs, MEMBERS, seed=seed_of(key)),
                weather[key].air,
            )
            for key in places
            if (outlook := weather[key].outlook) is not None and not outlook.missing
        }
        met = job_climates(list(groups.values()))
        entries: list[Entry] = []
        for job in sorted(jobs, key=arrival_of):
            at, said = place_key(job.site), report(job)
            found = met.get(job.ref), groups.get(at)
            free = None if said else there_from(job, entries)
            begin = max(now, free or now)
            in_time = begin <= local_time(job.day, job.arrive_to, job.site.zone)
            made = self._entry(job, weather[at], *found, moment, begin if in_time else now, said)
            entries.append(held_up(made, begin, in_time=in_time) if begin > now else made)
        return entries

    def _entry(
        self,
        job: Job,
        weather: SiteWeather,
        met: JobClimate | None,
        group: Group | None,
        moment: Moment,
        now: datetime,
        said: Report | None,
    ) -> Entry:
        """Judge one job, or say why it cannot be judged."""
        self.give_way()
        setup, outlook = self._setup(job), weather.outlook
        # What is sprayed, and what to mind with it, is known without any weather.
        plan = None if isinstance(setup, str) else setup.plan(self.policy)
        if outlook is None:
            return _unknown(job, weather.problem, plan)
        if met is None or group is None:
            return _unknown(job, f"the forecast gives no {outlook.lacks} here", plan)
        if isinstance(setup, str) or plan is None:
            return _unknown(job, str(setup))
        if said is not None:
            return self._rest(setup, outlook, met, said, now)
        thresholds = self.policy.thresholds[moment]
        found = judge(job, plan, met.climate, self.policy, thresholds, now)
        stock = tuple(self.catalogue.sheets.values())
        world = World(group.members, group.air_quality, stock, self.policy, thresholds, now)
        helps = remedies(found, setup, world)
        split = two_visits(found, setup, self.policy, thresholds, now)
        told = entry(found, outlook, self.policy, met.wiped)
        return replace(told, remedies=helps, two_visits=split)

    def _rest(
        self, setup: Setup, outlook: Outlook, met: JobClimate, report: Report, now: datetime
    ) -> Entry:
        """Judge what is left of a job that was begun."""
        plan = setup.plan(self.policy)
        found, here = go_on(setup.job, plan, met.climate, report, self.policy, now)
        return replace(entry(found, outlook, self.policy), under_way=here)

    def _setup(self, job: Job) -> Setup | str:
        """Return how a job is done as booked, or why nobody can tell."""
        process = self.catalogue.processes.get(job.process)
        if process is None:
            return (
                f"there is no usable process “{job.process}”; correct the job or the process file"
            )
        return Setup(job, self.kit, process, self.catalogue.sheets_of(process))

    def _heads_up(self, entries: Sequence[Entry], moment: Moment) -> tuple[str, ...]:
        """Return whom to tell tonight that the job may not hold; in the morning it is too late."""
        thresholds = self.policy.thresholds[moment]
        return heads_up(entries, thresholds) if moment is Moment.EVENING else ()

    def _van(self, weather: Mapping[str, SiteWeather], day: date, moment: Moment) -> VanTemps:
        """Return how cold the van gets in the night at hand, and how hot on the day."""
        outlook = weather[place_key(self.base)].outlook if self.base else None
        if outlook is None:
            return VanTemps()
        evening = day - timedelta(days=1) if moment is Moment.EVENING else day
        return van_temps(outlook, evening, day, self.zone)


def seed_of(place: str) -> int:
    """Return the seed of a place, by its key: a newer forecast brings new weather, not new luck."""
    return zlib.crc32(place.encode())


def _unknown(job: Job, why: str, plan: Plan | None = None) -> Entry:
    return Entry(Judgement(job, Word.UNKNOWN, why, plan=plan))

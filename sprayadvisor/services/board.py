"""The briefs as the page shows them: worked out in the background, read without waiting.

    bookings or weather changed, or a quarter of an hour gone ─▸ refresh ─▸ Shown, by day
    whoever looks ─▸ what was last worked out, at once

One thread makes them, any thread may read them. What a brief was worked out from is let go of at
once: the weather of many members takes a hundred times the room of what is said about it.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.advice.model import Customer, Job
from sprayadvisor.advice.policy import Moment
from sprayadvisor.errors import SprayadvisorError
from sprayadvisor.render.dangers import Danger, day_dangers
from sprayadvisor.render.told import Told, tell
from sprayadvisor.render.told_explain import ToldPlay, tell_play
from sprayadvisor.services.ports.clock import Briefs, Jobs
from sprayadvisor.services.ports.revisions import Revisions
from sprayadvisor.units import Display

ANEW_AFTER = timedelta(minutes=15)  # a start that is past must not be offered for long
OLD_AFTER = timedelta(minutes=90)  # then something is wrong, and it is said
AWAKE_FOR = timedelta(hours=1)
DAYS_AHEAD = 4  # further ahead no hours are forecast
WAIT_S = 60.0

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Shown:
    """One day as it was last worked out.

    Attributes:
        brief: what it says, without the weather it rests on.
        told: the same in words.
        nameless: the same in words without whom the jobs are for.
        dangers: what to look out for, in the order in which it comes.
        plays: the best play of each job laid open, by the job's reference.
        made_from: numbers of the bookings and the weather then.
    """

    brief: Brief
    told: Told
    nameless: Told
    dangers: tuple[Danger, ...]
    plays: Mapping[str, ToldPlay]
    made_from: tuple[int, int]

    def entry(self, ref: str) -> Entry | None:
        """Return what is said of one job."""
        found = (e for e in self.brief.entries if e.judgement.job.ref == ref)
        return next(found, None)

    def fits(self, job: Job) -> bool:
        """Return whether it was worked out for this job as it is booked now."""
        entry = self.entry(job.ref)
        return entry is not None and entry.judgement.job == job

    def is_old(self, now: datetime) -> bool:
        """Return whether it is so old that it should not be decided by."""
        return now - self.brief.made_at > OLD_AFTER


class Board:
    """Keeps the briefs of today and the coming days.

    Args:
        briefs: makes briefs.
        jobs: the bookings.
        revisions: whether bookings or weather have changed.
        now: the clock, aware.
        zone: of the base; it says what "today" is.
        display: how numbers are shown.
        quiet: whether a local time of day lies in the quiet hours; then nothing is worked out
            unless somebody looks.
    """

    def __init__(
        self,
        briefs: Briefs,
        jobs: Jobs,
        revisions: Revisions,
        now: Callable[[], datetime],
        zone: str,
        display: Display,
        quiet: Callable[[time], bool] = lambda _: False,
    ) -> None:
        self._briefs, self._jobs, self._revisions = briefs, jobs, revisions
        self._now, self._zone, self._display = now, zone, display
        self._quiet = quiet
        self._looked_at: datetime | None = None
        self._days: Mapping[date, Shown] = {}
        self._wake = threading.Event()
        self.problem = ""

    def today(self) -> date:
        """Return the local day."""
        return self._now().astimezone(ZoneInfo(self._zone)).date()

    def day(self, day: date) -> Shown | None:
        """Return a day as it was last worked out, None if it was not yet."""
        return self._days.get(day)

    def covers(self, day: date) -> bool:
        """Return whether a day is one of those that are worked out."""
        return self.today() <= day <= self.today() + timedelta(days=DAYS_AHEAD)

    def is_current(self, day: date) -> bool:
        """Return whether a day is worked out from what is booked now; if not, it soon will be.

        Raises:
            StoreError: the bookings cannot be read.
        """
        self._looked_at = self._now()
        shown = self._days.get(day)
        if shown is not None and shown.made_from[0] == self._revisions.bookings():
            return True
        self._wake.set()
        return False

    def run(self, stopping: threading.Event) -> None:
        """Work out what is out of date, at once and then every minute, until ``stopping``."""
        while not stopping.is_set():
            if not self._sleeps():
                self.refresh(stopping.is_set)
            self._wake.wait(WAIT_S)
            self._wake.clear()

    def _sleeps(self) -> bool:
        """Return whether it is night and nobody looks."""
        if not self._quiet(self._now().astimezone(ZoneInfo(self._zone)).time()):
            return False
        return self._looked_at is None or self._now() - self._looked_at > AWAKE_FOR

    def wake(self) -> None:
        """Have ``run`` look at once."""
        self._wake.set()

    def refresh(self, stopping: Callable[[], bool] = lambda: False) -> None:
        """Work out each day that is out of date, today first. It never raises."""
        try:
            self._refresh(stopping)
            self.problem = ""
        except SprayadvisorError as error:
            log.error("The page cannot be brought up to date. %s", error)  # noqa: TRY400 - the sentence says it all
            self.problem = str(error)
        except Exception as error:
            log.exception("A defect keeps the page from being brought up to date.")
            self.problem = f"A defect ({type(error).__name__}) keeps this from being worked out."

    def _refresh(self, stopping: Callable[[], bool]) -> None:
        bookings, weather = self._revisions.bookings(), self._revisions.weather()
        today = self.today()
        made = []
        for day in self._wanted(today):
            if stopping():
                return
            moment = Moment.MORNING if day == today else Moment.EVENING
            if self._out_of_date(self._days.get(day), moment, (bookings, weather)):
                self._put(day, self._shown(self._briefs.make(day, moment), (bookings, weather)))
                made.append(day)
        # Making them may itself have fetched weather, which is no reason to make them again.
        weather = self._revisions.weather()
        for day in made:
            self._put(day, replace(self._days[day], made_from=(bookings, weather)))

    def _wanted(self, today: date) -> list[date]:
        """Return today and tomorrow, and those of the days after them that have jobs."""
        last = today + timedelta(days=DAYS_AHEAD)
        booked = {job.day for job in self._jobs.list(today, last)}
        near = {today, today + timedelta(days=1)}
        return sorted(near | booked)

    def _shown(self, brief: Brief, made_from: tuple[int, int]) -> Shown:
        dangers = day_dangers(brief.entries, self._display)
        told, nameless = (tell(one, self._display) for one in (brief, _nameless(brief)))
        found = {
            entry.judgement.job.ref: tell_play(entry.judgement, self._display)
            for entry in brief.entries
        }
        plays = {ref: play for ref, play in found.items() if play is not None}
        return Shown(_light(brief), told, nameless, dangers, plays, made_from)

    def _out_of_date(self, shown: Shown | None, moment: Moment, made_from: tuple[int, int]) -> bool:
        if shown is None or shown.made_from != made_from or shown.brief.moment is not moment:
            return True
        return abs(self._now() - shown.brief.made_at) > ANEW_AFTER

    def _put(self, day: date, shown: Shown) -> None:
        """Put a day in, and let go of those gone by."""
        kept = {d: s for d, s in self._days.items() if d >= self.today()}
        self._days = kept | {day: shown}


def _light(brief: Brief) -> Brief:
    """Return a brief without what it was worked out from."""
    return replace(
        brief,
        entries=tuple(
            replace(entry, judgement=replace(entry.judgement, climate=None, play=None))
            for entry in brief.entries
        ),
    )


def _nameless(brief: Brief) -> Brief:
    """Return a brief without its customers."""

    def without(entry: Entry) -> Entry:
        job = replace(entry.judgement.job, customer=Customer())
        return replace(entry, judgement=replace(entry.judgement, job=job))

    return replace(brief, entries=tuple(without(entry) for entry in brief.entries))

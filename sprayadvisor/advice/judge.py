"""Judge one job: plan, climate and policy into a word, its reasons, its windows and its best play.

plan + climate ─ tables ─ chain ─┬─ arrival window ─ word, best start ─ walk ─ limiting check
                                 └─ coming days ──── windows
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from sprayadvisor.advice.air_levels import unknown_as_low
from sprayadvisor.advice.best import BestPlay, Limiting, best_play, limiting
from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.hours import (
    arrival_steps,
    coming_steps,
    local_time,
    off_hours,
)
from sprayadvisor.advice.model import Cover, Job
from sprayadvisor.advice.outlook import minute_of, time_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.play import FIT, Status
from sprayadvisor.advice.policy import Policy, Thresholds
from sprayadvisor.advice.rates import clock_rate
from sprayadvisor.advice.tables import Ints, Tables
from sprayadvisor.advice.too_long import too_long
from sprayadvisor.advice.verdict import (
    RANKED,
    Likelihoods,
    Word,
    likelihoods,
    most_of,
    ranks,
    worst_panel,
)
from sprayadvisor.advice.warmth import lamp_quantities
from sprayadvisor.advice.windows import Window, best_of, windows
from sprayadvisor.science.quantities import STEP_MIN

ARRIVAL_PAST = "the agreed arrival time is past"
LOOK_AHEAD_H = 96.0  # beyond four days hours are not forecast, only interpolated
# Weather so long after the last start is looked at: the working day it falls in, and a day more in
# which a drying clock is waited for.
PLAYED_H = 60.0


@dataclass(frozen=True, slots=True)
class Judgement:
    """What is to be said about one job.

    Attributes:
        job: the booking.
        word: the verdict for the agreed arrival window.
        why: plain reason where no weather decided (*unknown* without weather, *not judged*, work
            that no day is long enough for).
        likelihood: that the whole job fits at the best start, by level.
        limiting: what decides, None where nothing was played.
        windows: where it would fit in the coming days, arrival window or not.
        play: the best play.
        plan: the plan that was played, None where there is none.
        climate: what it was played in.
        reserved: what alone keeps a *care* from being a *go*, whatever the weather; else empty.
        latest_opening: minute of the grid at which the first stage without return begins, from the
            latest start of the window that holds the best one; None without either.
    """

    job: Job
    word: Word
    why: str = ""
    likelihood: tuple[float, float] = (float("nan"), float("nan"))
    limiting: Limiting | None = None
    windows: tuple[Window, ...] = ()
    play: BestPlay | None = None
    plan: Plan | None = None
    climate: Climate | None = None
    reserved: tuple[str, ...] = ()
    latest_opening: int | None = None

    def at(self, minute: float) -> datetime:
        """Return the UTC time of a minute of the grid."""
        if self.climate is None:
            raise ValueError("a job that was not played has no times")
        return time_of(self.climate.starts_utc, minute)

    @property
    def best_start(self) -> datetime | None:
        """The best start of the agreed window, UTC; None where nothing was played."""
        return self.at(self.play.start * STEP_MIN) if self.play else None


@dataclass(frozen=True, slots=True)
class Odds:
    """What the best of some starts comes to: word, likelihood by level, step of the grid."""

    word: Word
    likelihood: tuple[float, float]
    start: int


def judge(
    job: Job,
    plan: Plan,
    climate: Climate,
    policy: Policy,
    thresholds: Thresholds,
    now: datetime,
) -> Judgement:
    """Return the judgement on ``job``.

    Args:
        job: the booking.
        plan: its compiled process.
        climate: one case for each panel of the job, in their order.
        policy: working hours and the rule of rain.
        thresholds: how sure is sure enough at this moment.
        now: aware; nothing before it is offered.
    """
    if job.site.cover == Cover.INDOORS and any(s.two_pack for s in plan.sheets.values()):
        why = "two-pack indoors needs extraction and air-fed breathing; weather is not the question"
        return Judgement(job, Word.NOT_JUDGED, why, plan=plan)
    arrival = arrival_steps(climate.starts_utc, job, now)
    if not arrival.size:
        why = _no_start(job, climate, now)
        return Judgement(job, Word.UNKNOWN, why, plan=plan, climate=climate)
    coming = coming_steps(climate.starts_utc, now, LOOK_AHEAD_H)
    found = judge_starts(job, plan, climate, policy, thresholds, arrival, coming)
    if found.word is not Word.NO_GO:
        return found
    return replace(found, why=too_long(plan, job, policy))


def judge_starts(
    job: Job,
    plan: Plan,
    climate: Climate,
    policy: Policy,
    thresholds: Thresholds,
    agreed: Ints,
    coming: Ints,
) -> Judgement:
    """Return the judgement on the best of some starts.

    Args:
        job: the booking.
        plan: what is played.
        climate: one case for each panel of the job, in their order.
        policy: working hours and the rule of rain.
        thresholds: how sure is sure enough.
        agreed: (start,) steps of the grid among which the best gives the word; not empty.
        coming: (start,) steps among which windows are looked for.
    """
    steps = np.union1d(agreed, coming)
    chain = chain_of(job, plan, climate, policy, steps)
    chances = likelihoods(worst_panel(chain.status(steps), climate.n_cases))
    rank = ranks(chances, thresholds, most=most_of(plan.reservations))
    here = np.flatnonzero(np.isin(steps, agreed))
    best = best_of(here, rank, chances)
    word = RANKED[rank[best]]
    by_weather = RANKED[ranks(chances, thresholds)[best]]
    level = deciding_level(by_weather, chances, best, thresholds)
    shown = Level.INSIDE if by_weather is Word.GO else Level.STOP
    play = best_play(chain, int(steps[best]), shown, climate)
    decided = play if level is shown else best_play(chain, int(steps[best]), level, climate)
    found = windows(steps, rank, chances)
    return Judgement(
        job,
        word,
        likelihood=(float(chances.sure[0, best]), float(chances.sure[1, best])),
        limiting=limiting(decided, chain.tables, by_weather, climate),
        windows=found,
        play=play,
        plan=plan,
        climate=climate,
        reserved=plan.reservations if by_weather is not word else (),
        latest_opening=_latest_opening(chain, plan, found, int(steps[best])),
    )


def _latest_opening(chain: Chain, plan: Plan, found: Sequence[Window], start: int) -> int | None:
    """Return when the first stage without return begins from the latest start of a window.

    Of the members that fit from there, the earlier one in the middle.
    """
    commitment = plan.commitment()
    window = next((w for w in found if w.first <= start <= w.latest), None)
    if commitment is None or window is None:
        return None
    walk = chain.walk(window.latest, Level.STOP)
    begins = np.sort(walk.begins[commitment[0], walk.status == FIT])
    return int(begins[(begins.size - 1) // 2]) if begins.size else None


def chain_of(job: Job, plan: Plan, climate: Climate, policy: Policy, steps: Ints) -> Chain:
    """Return the chain that plays a plan from some starts.

    Args:
        job: the booking, for its hours.
        plan: what is played.
        climate: one case for each panel of the job, in their order.
        policy: working hours and the rule of rain.
        steps: (start,) ascending steps of the grid, not empty.
    """
    until = int(steps[-1]) + round(PLAYED_H * 60 / STEP_MIN)
    values = {name: array[:, :until] for name, array in climate.values.items()}
    quantities = {
        **values,
        **unknown_as_low(values),
        **lamp_quantities(plan, values),
        "off_hours": off_hours(climate.starts_utc[:until], job, policy),
    }
    return Chain(Tables.of(plan, quantities, clock_rate), int(steps[0]))


def odds_of(
    status: Status, steps: Ints, n_cases: int, thresholds: Thresholds, *, most: Word = Word.GO
) -> Odds:
    """Return word and likelihoods of the best of some starts.

    Args:
        status: (level, case·member, start) how the plays of a chain end.
        steps: (start,) steps of the grid.
        n_cases: panels of the job.
        thresholds: how sure is sure enough.
        most: the best word there can be.
    """
    chances = likelihoods(worst_panel(status, n_cases))
    rank = ranks(chances, thresholds, most=most)
    best = best_of(np.arange(steps.size), rank, chances)
    inside, stop = (float(chances.sure[level, best]) for level in Level)
    return Odds(RANKED[rank[best]], (inside, stop), int(steps[best]))


def _no_start(job: Job, climate: Climate, now: datetime) -> str:
    """Return why no start of the arrival window can be played."""
    ends = minute_of(climate.starts_utc, local_time(job.day, job.arrive_to, job.site.zone))
    if ends < minute_of(climate.starts_utc, now):
        return ARRIVAL_PAST
    return "the forecast does not reach that day yet"


def deciding_level(word: Word, chances: Likelihoods, best: int, thresholds: Thresholds) -> Level:
    """Return the level at which the verdict was won or lost.

    *Care* with the stops safely kept is about the sheets' inside bounds; every other shortfall is
    about the stops.
    """
    if word is Word.GO:
        return Level.INSIDE
    if word is Word.CARE and chances.sure[Level.STOP, best] >= thresholds.go:
        return Level.INSIDE
    return Level.STOP

"""What would change a verdict: the job judged again with one thing changed, in the same weather.

    judgement ─┬─ windows of the coming days ─────────────────────────── another time ─┐
               └─ setups with one change ─ plans, cases ─ one climate ─ play ─ word, p ─┴─ better?

A remedy is told only if it was computed, if it can be done, and if it is better: it leads to *go*
or *care*, and either the word is a better one or the likelihood rises by ``LEAST_GAIN``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from sprayadvisor.advice.case import Case
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.hours import arrival_steps, day_bounds
from sprayadvisor.advice.judge import Judgement, Odds, chain_of, odds_of
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.outlook import AirQuality, Times, minute_of, time_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Policy, Thresholds
from sprayadvisor.advice.setups import SAME_PLAN, Change, Changed, Setup, Value, changes
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.advice.tables import Ints
from sprayadvisor.advice.verdict import RANKED, Word, most_of
from sprayadvisor.advice.windows import Window
from sprayadvisor.science.quantities import STEP_MIN

LEAST_GAIN = 0.05  # smaller ones lie within what drawn members can tell
# Weather kept around the local day of the job: panels forget a day, and nothing is done at night.
BEFORE, AFTER = timedelta(hours=24), timedelta(hours=6)
_COLD = ("panel_temp_c", "dew_margin_k", "drying", "elapsed_min")
_ORDER = list(Change)


@dataclass(frozen=True, slots=True)
class Remedy:
    """One thing that makes a job likelier to come out right.

    Attributes:
        change: what is done otherwise.
        field: name of the input that is changed.
        before: its value as booked.
        after: its value with the remedy.
        level: which likelihood is compared: inside the sheets, or short of their stops.
        p_before: that likelihood as booked.
        p_after: that likelihood with the remedy.
        word_before: the verdict as booked.
        word_after: the verdict with the remedy.
        start: best start with the remedy, UTC.
        about: the product concerned, as the painter calls it.
    """

    change: Change
    field: str
    before: Value
    after: Value
    level: Level
    p_before: float
    p_after: float
    word_before: Word
    word_after: Word
    start: datetime
    about: str = ""


@dataclass(frozen=True, slots=True)
class World:
    """The weather a job was judged in, and the sheets there are.

    Attributes:
        members: the possible weathers it was judged in.
        air_quality: pollen and fine dust there; None where nothing is known of them.
        stock: every sheet there is.
        policy: the user's bounds and hours.
        thresholds: how sure is sure enough at this moment.
        now: aware; nothing before it is offered.
    """

    members: Members
    air_quality: AirQuality | None
    stock: Sequence[Sheet]
    policy: Policy
    thresholds: Thresholds
    now: datetime


def remedies(found: Judgement, setup: Setup, world: World) -> tuple[Remedy, ...]:
    """Return what would make a job likelier to come out right, best first.

    Args:
        found: the judgement as booked.
        setup: how the job is set up as booked.
        world: the weather it was judged in.

    Returns:
        Nothing for *go*, for what is not judged, and where no weather decided. Of several ways to
        turn a car the best.
    """
    doubtful = found.word in (Word.CARE, Word.NO_GO, Word.UNKNOWN)
    if not doubtful or found.climate is None or found.plan is None or found.play is None:
        return ()
    better = [*_other_times(found, setup), *_other_setups(found, found.plan, setup, world)]
    ranked = sorted(better, key=_rank)
    turned = next((one for one in ranked if one.change is Change.TURN), None)
    return tuple(one for one in ranked if one.change is not Change.TURN or one is turned)


def _rank(remedy: Remedy) -> tuple[int, float, int]:
    """Return a sort key: the better word, then the likelier, then the less trouble first."""
    word = RANKED.index(remedy.word_after)
    return -word, -round(remedy.p_after, 6), _ORDER.index(remedy.change)


def gain(before: Odds, after: Odds) -> Level | None:
    """Return at which level ``after`` is better, None where it is not.

    A likelihood that is NaN is not compared.
    """
    if after.word not in (Word.GO, Word.CARE):
        return None
    rise = RANKED.index(after.word) - RANKED.index(before.word)
    if rise > 0:
        return Level.INSIDE if after.word is Word.GO else Level.STOP
    gained = [b - a for a, b in zip(before.likelihood, after.likelihood, strict=True)]
    if rise < 0 or any(one < -LEAST_GAIN for one in gained):
        return None
    return next((level for level in reversed(Level) if gained[level] >= LEAST_GAIN), None)


def _remedy(found: Judgement, changed: Changed, odds: Odds, start: datetime) -> Remedy | None:
    """Return a change as a remedy, None where it does not help."""
    before = Odds(found.word, found.likelihood, 0)
    level = gain(before, odds)
    if level is None:
        return None
    return Remedy(
        changed.change,
        changed.field,
        changed.before,
        changed.after,
        level,
        before.likelihood[level],
        odds.likelihood[level],
        before.word,
        odds.word,
        start,
        changed.about,
    )


def _other_times(found: Judgement, setup: Setup) -> Iterator[Remedy]:
    """Yield the best start before and after the agreed ones that day, and on a later day.

    The windows were judged with the job; hours when the car is not there are in none of them.
    """
    zone = ZoneInfo(found.job.site.zone)
    best: dict[Change, Remedy] = {}
    for window in found.windows:
        start = found.at(window.best * STEP_MIN)
        change = _kind_of_time(found, start.astimezone(zone))
        remedy = change and _at_time(found, setup, change, window, start)
        if change and remedy and (change not in best or _rank(remedy) < _rank(best[change])):
            best[change] = remedy
    yield from best.values()


def _kind_of_time(found: Judgement, start: datetime) -> Change | None:
    """Return what a start is to the agreed ones, None for one of them or one not to be offered."""
    job = found.job
    if start.date() != job.day:
        return Change.OTHER_DAY if job.may_move and start.date() > job.day else None
    if start.time() < job.arrive_from:
        return Change.EARLIER
    return Change.LATER if start.time() > job.arrive_to else None


def _at_time(
    found: Judgement, setup: Setup, change: Change, window: Window, start: datetime
) -> Remedy | None:
    """Return a start of a window as a remedy; of its likelihoods one is known."""
    nan = float("nan")
    go = window.word is Word.GO
    likelihood = (window.likelihood, nan) if go else (nan, window.likelihood)
    agreed = found.best_start
    at = agreed.isoformat(timespec="minutes") if agreed else None
    changed = Changed(change, "start", at, start.isoformat(timespec="minutes"), setup)
    return _remedy(found, changed, Odds(window.word, likelihood, window.best), start)


@dataclass(frozen=True, slots=True)
class _Alike:
    """Setups that are done by one plan, each with as many cases: one play serves all."""

    plan: Plan
    n_cases: int
    changed: list[Changed]
    cases: list[Case]


def _other_setups(found: Judgement, plan: Plan, setup: Setup, world: World) -> Iterator[Remedy]:
    """Yield the changed setups that help, all judged over one climate."""
    members, agreed = _around_the_day(found, world)
    arrives_min = int(agreed[0]) * STEP_MIN
    groups = _by_plan(found, plan, setup, world, members.starts_utc, arrives_min)
    if not groups:
        return
    cases = [case for group in groups for case in group.cases]
    whole, first = climate(members, cases, world.air_quality), 0
    for group in groups:
        here = whole.cases(first, first + len(group.cases))
        first += len(group.cases)
        chain = chain_of(found.job, group.plan, here, world.policy, agreed)
        parts = np.split(chain.status(agreed), len(group.changed), axis=1)
        most = most_of(group.plan.reservations)
        for changed, status in zip(group.changed, parts, strict=True):
            odds = odds_of(status, agreed, group.n_cases, world.thresholds, most=most)
            start = time_of(members.starts_utc, odds.start * STEP_MIN)
            remedy = _remedy(found, changed, odds, start)
            if remedy is not None:
                yield remedy


def _by_plan(
    found: Judgement,
    plan_booked: Plan,
    setup: Setup,
    world: World,
    starts_utc: Times,
    arrives_min: int,
) -> list[_Alike]:
    """Return the changed setups that come to anything else than what is booked, by their plans."""
    booked = setup.cases(starts_utc, arrives_min)
    groups: list[_Alike] = []
    for changed in changes(setup, world.stock, _too_cold(found)):
        plan = None if changed.change in SAME_PLAN else changed.setup.plan(world.policy)
        plan = plan or plan_booked
        cases = changed.setup.cases(starts_utc, arrives_min)
        if plan == plan_booked and cases == booked:
            continue
        alike = (g for g in groups if g.plan == plan and g.n_cases == len(cases))
        group = next(alike, None)
        if group is None:
            groups.append(group := _Alike(plan, len(cases), [], []))
        group.changed.append(changed)
        group.cases.extend(cases)
    return groups


def _around_the_day(found: Judgement, world: World) -> tuple[Members, Ints]:
    """Return the members around the day of a job, and the agreed starts on their grid."""
    job, grid = found.job, world.members.starts_utc
    begins, ends = day_bounds(job.day, job.site.zone)
    first = max(minute_of(grid, begins - BEFORE) // STEP_MIN, 0)
    members = world.members.between(first, minute_of(grid, ends + AFTER) // STEP_MIN)
    return members, arrival_steps(members.starts_utc, job, world.now)


def _too_cold(found: Judgement) -> str | None:
    """Return the product whose metal may be too cold, None where something else limits."""
    limiting, plan = found.limiting, found.plan
    if limiting is None or plan is None or limiting.check.quantity not in _COLD:
        return None
    return plan.stages[limiting.stage].role

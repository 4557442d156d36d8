"""What would make it safe at the car, each thing computed, and where the job can be left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from itertools import takewhile

import numpy as np

from sprayadvisor.advice.car import Standing, judged_until, moment_of
from sprayadvisor.advice.climate import Climate, Scene, climates
from sprayadvisor.advice.from_now import (
    Rest,
    chain_from,
    judge_from,
    level_of,
    odds_from,
    quarters_after,
    rest_of,
)
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.onsite import Reading, SafeStop, Way
from sprayadvisor.advice.outlook import minute_of, time_of
from sprayadvisor.advice.plan import Plan, PlanStage
from sprayadvisor.advice.play import FAIL
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.pull import with_panel
from sprayadvisor.advice.remedies import LEAST_GAIN
from sprayadvisor.advice.rest import stage_index
from sprayadvisor.advice.setups import Change, Changed
from sprayadvisor.advice.setups import changes as possible_changes
from sprayadvisor.advice.tables import Bools, Ints
from sprayadvisor.advice.verdict import RANKED, Word, likelihoods, ranks, worst_panel
from sprayadvisor.science.quantities import STEP_MIN

# Trade judgements.
LONGEST_WAIT_MIN = 6 * 60
WET_WAIT_MIN = 30  # with the base on, where nobody said since when
# What can still be done once the car stands and is masked.
AT_THE_CAR = (Change.SHADE, Change.WIND_BREAK, Change.CANOPY)


def ways_out(
    here: Standing, whole: Rest, found: Judgement, first: int, latest: datetime | None
) -> tuple[Way, ...]:
    """Return what would make it better, as computed, the best first.

    Args:
        here: the car as it stands.
        whole: with the whole plan; it goes on at its ``now_min``, when a flash-off is over.
        found: the judgement on what is left.
        first: the stage that comes next.
        latest: by when it must have begun, where that is known.
    """
    if found.word is Word.UNKNOWN:
        return ()
    tried = [*_wait(whole, first, latest), *_other_ways(here, whole)]
    better = [
        replace(one, before=found.likelihood[level_of(one.word)])
        for one in tried
        if helps(one, found)
    ]
    return tuple(
        sorted(better, key=lambda one: (RANKED.index(one.word), one.likelihood), reverse=True)
    )


def helps(way: Way, found: Judgement) -> bool:
    """Return whether a way gives a better word, or the same one more surely."""
    if way.word not in (Word.GO, Word.CARE):
        return False
    was, then = RANKED.index(found.word), RANKED.index(way.word)
    gain = way.likelihood - found.likelihood[level_of(way.word)]
    return then > was or (then == was and gain >= LEAST_GAIN)


def _wait(whole: Rest, first: int, latest: datetime | None) -> Iterator[Way]:
    """Yield the first quarter hour with the best word, as far as waiting is possible."""
    rest = rest_of(whole, first, judged_until(whole.plan, first))
    until = whole.now_min + LONGEST_WAIT_MIN
    coat_open = moment_of(whole.plan, first) is Moment.BEFORE_CLEAR
    if coat_open:
        until = whole.now_min + WET_WAIT_MIN
        if latest is not None:
            until = minute_of(whole.climate.starts_utc, latest)
    minutes = quarters_after(whole.now_min, until)
    if not minutes.size:
        return
    status = chain_from(rest).status_at(minutes)
    if coat_open:
        status[:, _wetted(whole, minutes)] = FAIL
    chances = likelihoods(worst_panel(status, rest.climate.n_cases))
    rank = ranks(chances, whole.thresholds, most=rest.most)
    best = int(np.argmax(rank))
    word = RANKED[rank[best]]
    at = time_of(whole.climate.starts_utc, int(minutes[best]))
    yield Way(Change.LATER, word, float(chances.sure[level_of(word), best]), 0.0, at=at)


def _wetted(whole: Rest, minutes: Ints) -> Bools:
    """Return (row, start) where rain or dew may fall on an open coat from now until a start.

    It lies open while one waits; wetted, no later start helps it. The unknown counts as wet.
    """
    now_step, steps = whole.now_min // STEP_MIN, -(-minutes // STEP_MIN)
    ahead = slice(now_step, int(steps[-1]))
    met = whole.climate.values
    dry = (met["wet_hour_mm"][:, ahead] <= 0.0) & (met["panel_wet"][:, ahead] == 0.0)
    so_far = np.logical_and.accumulate(dry, axis=1)
    return np.asarray(~so_far[:, steps - now_step - 1])


def _other_ways(here: Standing, whole: Rest) -> Iterator[Way]:
    """Yield what can be done about place and lamp with the car where it stands."""
    grid = here.drawn.starts_utc
    booked = here.setup.cases(grid, here.now_min)
    wanted = list(_possible(here, whole.plan))
    cases = [changed.setup.cases(grid, here.now_min) for changed in wanted]
    moved = [its for its in cases if its != booked]
    scenes = [Scene(here.drawn, its, here.car.air_quality) for its in moved]
    met = iter(climates(scenes))
    for changed, its in zip(wanted, cases, strict=True):
        # A panel that is moved begins as it is now.
        there = here.climate
        if its != booked:
            there = with_panel(next(met), Reading(here.now), here.climate, here.now)
        yield _tried(here, changed, there, whole.now_min)


def _possible(here: Standing, plan: Plan) -> Iterator[Changed]:
    """Yield the changes that can be made with the car where it stands and work begun."""
    first = stage_index(plan, here.car.ids)
    role = plan.stages[first].role if plan.stages[first].kind == "coat" else None
    for changed in possible_changes(here.setup, (), role):
        if changed.change is Change.WARM_FIRST:
            yield _whatever_it_is(changed)
        elif changed.change in AT_THE_CAR:
            yield changed
    own = here.car.setup
    if here.asked.lamp is False and own.job.lamp_usable(own.kit):
        with_lamp = replace(here.setup, kit=own.kit)
        yield Changed(Change.LAMP, "lamp", before=False, after=True, setup=with_lamp)


def _whatever_it_is(changed: Changed) -> Changed:
    """Return warming that is done however warm the metal is: against dew a little helps too."""
    process = changed.setup.process
    stages = tuple(
        stage.model_copy(update={"warm_below_c": None}) if stage.id.endswith("-warmed") else stage
        for stage in process.stages
    )
    warmed = process.model_copy(update={"stages": stages})
    return replace(changed, setup=replace(changed.setup, process=warmed))


def _tried(here: Standing, changed: Changed, met: Climate, begin_min: int) -> Way:
    """Return what one change comes to."""
    plan = changed.setup.plan(here.car.policy)
    warmed = (f"{here.car.ids[0]}-warmed", *here.car.ids)
    first = stage_index(plan, warmed)
    coat = stage_index(plan, here.car.ids)
    policy, job = here.car.policy, changed.setup.job
    thresholds = policy.thresholds[moment_of(plan, coat)]
    whole = Rest(job, plan, met, policy, thresholds, 0, begin_min)
    word, likelihood = odds_from(rest_of(whole, first, judged_until(plan, coat)))
    to_c = float(changed.after or 0.0) if changed.change is Change.WARM_FIRST else None
    return Way(changed.change, word, likelihood, 0.0, to_c=to_c, about=changed.about)


def safe_stop(whole: Rest, first: int, *, go_on: bool = True) -> SafeStop | None:
    """Return the farthest place short of the base where the job can be left in safety.

    Args:
        whole: with the whole plan.
        first: the stage that comes next.
        go_on: whether any more of it may be done at all.
    """
    plan = whole.plan
    bounds = plan.commitment()
    before = bounds[0] if bounds else len(plan.stages)
    if first > before:
        return None
    for index in reversed(range(first, before if go_on else first)):
        if plan.stages[index].safe_stop:
            part = rest_of(whole, first, index + 1)
            found, play = judge_from(part, chain_from(part))
            if found.word in (Word.GO, Word.CARE):
                ends = part.at(int(play.walk.ends[-1, play.row]))
                likelihood = found.likelihood[level_of(found.word)]
                return SafeStop(plan.stages[index].name, ends, found.word, likelihood)
    here = _safe_as_it_is(plan, first)
    return None if here is None else SafeStop(here.name, None, Word.GO, float("nan"))


def _safe_as_it_is(plan: Plan, first: int) -> PlanStage | None:
    """Return the stage after which the job can still be left, as nothing has been wet since."""
    behind = reversed(plan.stages[:first])
    dry = takewhile(
        lambda stage: stage.safe_stop or stage.kind in ("hand", "check", "warm"), behind
    )
    return next((stage for stage in dry if stage.safe_stop and stage.alongside is None), None)

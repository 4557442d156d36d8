"""What the best play meets around it: in the air while the paint is wet, downwind while it sprays.

Both are read at the times of the play that is shown, and over all members: a level counts from
where a quarter of them reach it, so that what turns a verdict into care is also what is told.
"""

from __future__ import annotations

import math
from datetime import datetime

import numpy as np

from sprayadvisor.advice.air_levels import HAZARD_OF
from sprayadvisor.advice.best import BestPlay
from sprayadvisor.advice.brief import AirLevel, Downwind, DownwindAnswer
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.downwind import (
    CARE,
    NOTHING,
    STOP,
    Side,
    reached_sides,
    side_towards,
)
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.outlook import Floats, minute_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Policy
from sprayadvisor.science.airborne import HAZARDS
from sprayadvisor.science.quantities import STEP_MIN

SHARE = 0.75  # of the members may lie below what is told


def air_met(judgement: Judgement) -> tuple[AirLevel, ...]:
    """Return the worst level of each hazard while paint is wet; empty where none is sprayed."""
    plan, play, climate = judgement.plan, judgement.play, judgement.climate
    if plan is None or play is None or climate is None:
        return ()
    found = []
    for hazard in HAZARDS:
        met = [
            (stage, step, level[step])
            for quantity, level in _levels(play, climate).items()
            if HAZARD_OF[quantity] == hazard
            for stage, step in _wet_steps(plan, play, quantity, level.size)
        ]
        if met:
            found.append(_worst(hazard, met, plan, judgement))
    return tuple(found)


def _levels(play: BestPlay, climate: Climate) -> dict[str, Floats]:
    return {quantity: _told(climate, quantity, play) for quantity in HAZARD_OF}


def _told(climate: Climate, quantity: str, play: BestPlay) -> Floats:
    """Return (step,) the level that a quarter of the members reach; NaN where too few are known."""
    rows = np.sort(climate.case(quantity, play.panel), axis=0)  # the unknown sort to the end
    told: Floats = rows[int(SHARE * (len(rows) - 1))]
    return told


def _wet_steps(plan: Plan, play: BestPlay, quantity: str, steps: int) -> list[tuple[int, int]]:
    """Return stage and step of all that spans over a quantity touch."""
    stages = {
        stage
        for span in plan.spans
        if span.check.quantity == quantity
        for stage in range(span.first, span.last + 1)
    }
    return [(s, step) for s in sorted(stages) for step in _touched(play, s, steps)]


def _touched(play: BestPlay, stage: int, steps: int) -> range:
    """Return the steps of a stage in the play, none where it is not reached."""
    begin, end = (int(at[stage, play.row]) for at in (play.walk.begins, play.walk.ends))
    return range(begin // STEP_MIN, min(-(-end // STEP_MIN), steps)) if begin >= 0 else range(0)


def _worst(
    hazard: str, met: list[tuple[int, int, float]], plan: Plan, judgement: Judgement
) -> AirLevel:
    """Return the first moment of the highest known level, unknown where none is known."""
    known = [one for one in met if not np.isnan(one[2])]
    if not known:
        return AirLevel(hazard, float("nan"), None, "")
    stage, step, level = max(known, key=lambda one: one[2])
    at = _moment(judgement, stage, step)
    return AirLevel(hazard, float(level), at, plan.stages[stage].name)


def _moment(judgement: Judgement, stage: int, step: int) -> datetime:
    """Return when a step begins, or the stage where that begins within the step."""
    play = judgement.play
    begins = int(play.walk.begins[stage, play.row]) if play else 0
    return judgement.at(max(step * STEP_MIN, begins))


def downwind_met(judgement: Judgement, policy: Policy) -> Downwind | None:
    """Return where the mist goes in the coats and what to do; None where nothing was named.

    Args:
        judgement: with its best play.
        policy: working hours, for how long waiting may help.
    """
    plan, play, climate = judgement.plan, judgement.play, judgement.climate
    if not judgement.job.site.downwind or plan is None or play is None or climate is None:
        return None
    level = _told(climate, "downwind", play)
    coats = [
        (stage, step)
        for stage, its in enumerate(plan.stages)
        if its.kind == "coat"
        for step in _touched(play, stage, level.size)
    ]
    if not coats:
        return None
    stage, step = max(coats, key=lambda one: np.nan_to_num(level[one[1]], nan=STOP))
    wind_from = float(climate["wind_from_deg"][play.row, step])
    towards = "" if np.isnan(wind_from) else side_towards(wind_from)
    at, name = _moment(judgement, stage, step), plan.stages[stage].name
    site = judgement.job.site
    if level[step] == NOTHING:
        return Downwind(DownwindAnswer.CLEAR, at, name, towards, ())
    sides = reached_sides(site, wind_from)
    if not towards or not sides:  # a calm has no direction worth the name
        return Downwind(DownwindAnswer.LOOK, at, name, "", reached_sides(site, float("nan")))
    clear_from = _clear_from(level, step, _steps_left(plan, stage), judgement, climate, policy)
    answer = _answer(float(level[step]), sides, clear_from)
    return Downwind(answer, at, name, towards, sides, clear_from)


def _steps_left(plan: Plan, stage: int) -> int:
    """Return the steps from a coat to the end of the last one at the least: as printed."""
    last = max(index for index, its in enumerate(plan.stages) if its.kind == "coat")
    minutes = sum(
        max(its.clock.need_min if its.clock else its.minutes or 0, its.least_min)
        for its in plan.stages[stage : last + 1]
        if its.alongside is None
    )
    return math.ceil(minutes / STEP_MIN)


def _answer(level: float, sides: tuple[Side, ...], clear_from: datetime | None) -> DownwindAnswer:
    """Return what to do where the mist reaches something."""
    if level == CARE:
        return DownwindAnswer.MOVE_VAN
    if clear_from is not None:
        return DownwindAnswer.WAIT
    people = any(side.people for side in sides)
    return DownwindAnswer.NO if people else DownwindAnswer.OTHER_END


def _clear_from(
    level: Floats,
    step: int,
    needed: int,
    judgement: Judgement,
    climate: Climate,
    policy: Policy,
) -> datetime | None:
    """Return from when the mist reaches nothing for as long as the coats need, that same day."""
    last = minute_of(climate.starts_utc, _day_ends(judgement.job, policy)) // STEP_MIN
    clear = np.asarray(level == NOTHING)
    for begin in range(step + 1, min(last, level.size) - needed + 1):
        if clear[begin : begin + needed].all():
            return judgement.at(begin * STEP_MIN)
    return None


def _day_ends(job: Job, policy: Policy) -> datetime:
    """Return when work on a job ends on its day at the latest."""
    clock = min(policy.work_to, job.back_by or policy.work_to)
    return local_time(job.day, clock, job.site.zone)

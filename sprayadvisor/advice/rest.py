"""What is left of a plan, from the stage the painter is at: cut out and judged on its own.

Where the painter is comes from him, or from the times of the plan that was last told. Neither is
finer than a quarter hour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.judge import Judgement, judge_starts
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.plan import Block, Deadline, Plan, PlanStage, Span
from sprayadvisor.advice.policy import Policy, Thresholds
from sprayadvisor.science.quantities import STEP_MIN

LONGEST_IN_STAGE_MIN = STEP_MIN  # of a stage without a length of its own


@dataclass(frozen=True, slots=True)
class StageTime:
    """When one stage of a plan is done, UTC."""

    id: str
    kind: str
    begin: datetime
    end: datetime
    no_return: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where the painter is in a plan: index of the stage, and since when."""

    stage: int
    since: datetime


def stage_times(judgement: Judgement) -> tuple[StageTime, ...]:
    """Return when each stage of the best play is done, as far as it goes."""
    plan, play = judgement.plan, judgement.play
    if plan is None or play is None:
        return ()
    times = []
    for index, stage in enumerate(plan.stages):
        begin, end = int(play.walk.begins[index, play.row]), int(play.walk.ends[index, play.row])
        if 0 <= begin <= end:
            at = judgement.at(begin), judgement.at(end)
            times.append(StageTime(stage.id, stage.kind, *at, stage.no_return))
    return tuple(times)


def stage_index(plan: Plan, ids: Sequence[str]) -> int:
    """Return the index of the first compiled stage of the first process stage that has one.

    Args:
        plan: the compiled plan.
        ids: the stage of the process that is meant, and all that follow it; one may have been left
            out of this plan, such as a lamp's cooling without a lamp.

    Returns:
        The number of stages where nothing of it is left.
    """
    known = [stage.id for stage in plan.stages]
    for name in ids:
        for found in compiled_ids(name):
            if found in known:
                return known.index(found)
    return len(known)


def lamp_goal_c(plan: Plan, stage: int) -> float | None:
    """Return what the lamp warms the panel to in a stage or right before it, °C.

    Args:
        plan: the compiled plan.
        stage: index of the stage at hand, or the number of stages.

    Returns:
        None where the plan has had no lamp near the panel, or more than one coat ago.
    """
    coats = 0
    for one in reversed(plan.stages[: stage + 1]):
        if one.pace is not None and one.pace.kind != "cool":
            return one.pace.goal_temp_c
        coats += one.kind == "coat"
        if coats > 1:
            return None
    return None


def compiled_ids(name: str) -> tuple[str, ...]:
    """Return what the first part of a process's stage may be called once it is compiled.

    A coat is called ``base-1`` where there are several, air-drying ``lamp-dust-free``.
    """
    return name, f"{name}-1", f"{name}-dust-free"


def shifted(times: Sequence[StageTime], stage_id: str, begun: datetime) -> tuple[StageTime, ...]:
    """Return the times of a plan moved so that one of its stages begins at ``begun``.

    Nothing where the plan that was told does not have that stage.
    """
    for time in times:
        if time.id == stage_id:
            by = begun - time.begin
            return tuple(replace(t, begin=t.begin + by, end=t.end + by) for t in times)
    return ()


def place_in(plan: Plan, times: Sequence[StageTime], now: datetime) -> Place | None:
    """Return where the painter is by the times of a plan; None where he has not begun.

    In a wait he is taken to be at what comes next; after the last stage at the end of the plan.
    Hand work done alongside a flash or a bake is no place of its own.
    """
    index = {stage.id: i for i, stage in enumerate(plan.stages) if stage.alongside is None}
    hands = [time for time in times if time.id in index]
    if not hands or now < hands[0].begin:
        return None
    for time in hands:
        if now < time.end:
            return Place(index[time.id], min(time.begin, now))
    return Place(len(plan.stages), now)


def committed(plan: Plan, place: Place) -> bool:
    """Return whether the painter is between the point of no return and the end of the bake."""
    bounds = plan.commitment()
    return bounds is not None and bounds[0] <= place.stage <= bounds[1]


def part_of(plan: Plan, first: int, stop: int) -> Plan:
    """Return stages ``first`` up to but not including ``stop`` as a plan of their own.

    A deadline or a drying clock that counts from before begins anew with the part. Hand work
    alongside another stage brings that stage along.
    """
    host = plan.stages[first].alongside
    first = first if host is None else host
    blocks = [block for block in plan.blocks if block.stop > first and block.first < stop]
    return replace(
        plan,
        stages=tuple(_moved(stage, first) for stage in plan.stages[first:stop]),
        blocks=tuple(_block(block, first, stop) for block in blocks),
        spans=tuple(
            Span(span.check, max(span.first - first, 0), min(span.last, stop - 1) - first)
            for span in plan.spans
            if span.last >= first and span.first < stop
        ),
        deadlines=tuple(
            Deadline(one.stage - first, one.since - first, one.minutes, one.origin)
            for one in plan.deadlines
            if one.since >= first and one.stage < stop
        ),
    )


def _moved(stage: PlanStage, first: int) -> PlanStage:
    """Return a stage with its references counted from the new beginning."""
    clock = stage.clock
    if clock is not None:
        clock = replace(clock, since=_less(clock.since, first))
    return replace(
        stage, after=_less(stage.after, first), alongside=_less(stage.alongside, first), clock=clock
    )


def _block(block: Block, first: int, stop: int) -> Block:
    begin, end = max(block.first, first) - first, min(block.stop, stop) - first
    if begin == 0:
        return Block(begin, end)
    since = _less(block.within_since, first)
    return Block(begin, end, block.may_wait_min, None if since is None else block.within_min, since)


def _less(index: int | None, first: int) -> int | None:
    return None if index is None or index < first else index - first


def judge_rest(
    job: Job,
    plan: Plan,
    place: Place,
    climate: Climate,
    policy: Policy,
    thresholds: Thresholds,
    now: datetime,
    *,
    stop: int | None = None,
) -> Judgement:
    """Return the judgement on what is left of a plan, gone on with at once.

    Args:
        job: the booking.
        plan: the whole plan.
        place: where the painter is in it.
        climate: one case for each panel of the job, in their order.
        policy: working hours and the rule of rain.
        thresholds: how sure is sure enough.
        now: aware.
        stop: judge only the stages before this one.
    """
    rest = part_of(plan, place.stage, len(plan.stages) if stop is None else stop)
    minutes = rest.stages[0].minutes or LONGEST_IN_STAGE_MIN
    begun = max(place.since, now - timedelta(minutes=minutes))
    # Up to the next quarter hour: what comes sooner than thought must not look further away.
    step = -(-minute_of(climate.starts_utc, begun) // STEP_MIN)
    start = np.array([min(max(step, 0), len(climate.starts_utc) - 1)])
    return judge_starts(job, rest, climate, policy, thresholds, start, start)

"""The best play laid open: stage by stage, with what each check came to and where one may stop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.plan import Plan, PlanStage
from sprayadvisor.advice.readings import Reading


@dataclass(frozen=True, slots=True)
class ExplainedStage:
    """One stage of the best play.

    Attributes:
        stage: what is done.
        begin: UTC.
        end: UTC.
        readings: the checks whose worst value falls into this stage, the scarcest first.
    """

    stage: PlanStage
    begin: datetime
    end: datetime
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class Explained:
    """The best play of a judgement.

    Attributes:
        stages: as far as the play goes, in the order of the plan.
        last_safe: the last stage before the point of no return after which work may be left.
        safe_again: the first one after it; None where the play does not get there.
    """

    stages: tuple[ExplainedStage, ...]
    last_safe: ExplainedStage | None
    safe_again: ExplainedStage | None


def explain(judgement: Judgement) -> Explained | None:
    """Return the best play of a judgement, None where nothing was played."""
    plan, play = judgement.plan, judgement.play
    if plan is None or play is None:
        return None
    stages = {}
    for index, stage in enumerate(plan.stages):
        begin, end = int(play.walk.begins[index, play.row]), int(play.walk.ends[index, play.row])
        if 0 <= begin <= end:
            of_stage = [reading for reading in play.readings if reading.stage == index]
            scarcest = sorted(of_stage, key=lambda reading: reading.scaled(play.level))
            times = judgement.at(begin), judgement.at(end)
            stages[index] = ExplainedStage(stage, *times, tuple(scarcest))
    before, after = _stops(plan)
    return Explained(
        tuple(stages.values()),
        next((stages[index] for index in reversed(before) if index in stages), None),
        next((stages[index] for index in after if index in stages), None),
    )


def _stops(plan: Plan) -> tuple[list[int], list[int]]:
    """Return the stages that work may be left after, before the commitment and after it."""
    safe = [index for index, stage in enumerate(plan.stages) if stage.safe_stop]
    bounds = plan.commitment()
    if bounds is None:
        return safe, []
    return [i for i in safe if i < bounds[0]], [i for i in safe if i >= bounds[1]]

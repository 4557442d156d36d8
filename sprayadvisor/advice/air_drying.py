"""What a bake becomes where no lamp can run: air-drying, from one goal to the next."""

from __future__ import annotations

from dataclasses import replace

from sprayadvisor.advice.plan import Clock, PlanStage
from sprayadvisor.advice.process import AIR_DRYING, Stage
from sprayadvisor.advice.sheet import Cure

WORKABLE = AIR_DRYING[-1]


def air_drying(
    stage: Stage, role: str, cure: Cure, since: int, *, to_workable: bool
) -> tuple[PlanStage, ...]:
    """Return the stages of air-drying: to dust-free, to rain-safe, and on if that is waited for.

    Args:
        stage: the bake of the process it stands for.
        role: of the product.
        cure: how long it takes.
        since: index of the coat it is counted from.
        to_workable: whether it is waited for until it can be worked on.
    """
    clock = Clock(
        "cure",
        cure.dust_free_min,
        reference_temp_c=cure.reference_temp_c,
        activation_kj_mol=cure.activation_kj_mol,
        stall_temp_c=cure.stall_temp_c,
        since=since,
    )
    minutes = (cure.dust_free_min, cure.rain_safe_min, cure.workable_min)
    return tuple(
        _up_to(goal, stage, role, replace(clock, need_min=need_min))
        for goal, need_min in zip(AIR_DRYING, minutes, strict=True)
        if goal != WORKABLE or to_workable
    )


def _up_to(goal: str, stage: Stage, role: str, clock: Clock) -> PlanStage:
    """Return air-drying up to one of its goals."""
    name = f"air-dry until {'dry enough to work on' if goal == WORKABLE else goal}"
    dust_free = goal == AIR_DRYING[0]
    return PlanStage(
        f"{stage.id}-{goal}", name, "flash", None, clock=clock, role=role, dust_free=dust_free
    )

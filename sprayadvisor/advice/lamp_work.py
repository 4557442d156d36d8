"""What the lamp does in a job: how hot, how long, in how many places, against how much heat.

Where a job has panels of several materials the slowest of each counts: the hottest goal, the
longest bake, the most heat to move.
"""

from __future__ import annotations

from sprayadvisor.advice.model import Job, Kit, Material
from sprayadvisor.advice.plan import Pace
from sprayadvisor.advice.process import COOL_TO_C, Stage
from sprayadvisor.advice.sheet import Lamp
from sprayadvisor.science.drying import THROUGH_CURE_KJ_MOL, cure_minutes
from sprayadvisor.science.lamp import (
    CEILING_C,
    SOAK_MIN,
    lamp_flux_wm2,
    lamp_positions,
    soaked_heat_j_m2k,
)
from sprayadvisor.science.panel_build import SKIN_HEAT_J_M2K

QUENCH_SHARE = (
    0.4  # of the time in air, with a wet cloth wrung out again and again: trade judgement
)


def skin_heat_j_m2k(job: Job) -> float:
    """Return the heat capacity of the skin that counts where the quickest to cool decides."""
    return min(SKIN_HEAT_J_M2K[panel.material] for panel in job.panels)


def warming(stage: Stage, job: Job, kit: Kit) -> Pace:
    """Return how the lamp warms the panels of a job before a coat.

    Raises:
        ValueError: the stage does not warm.
    """
    if stage.warm_to_c is None:
        raise ValueError(f"stage {stage.id!r} does not warm")
    below = stage.warm_to_c if stage.warm_below_c is None else stage.warm_below_c
    return Pace(
        "warm",
        stage.warm_to_c,
        _soaked(job),
        absorbed_wm2=lamp_flux_wm2(kit.lamp_kw, kit.lamp_area_m2),
        hold_min=stage.soak_min or 0,
        places=_places(job, kit),
        below_c=below,
    )


def bake(lamp: Lamp, job: Job, kit: Kit) -> Pace:
    """Return how the lamp bakes the panels of a job."""
    bakes = [_bake_of(lamp, panel.material) for panel in job.panels]
    return Pace(
        "bake",
        max(goal for goal, _ in bakes),
        _soaked(job),
        absorbed_wm2=lamp_flux_wm2(kit.lamp_kw, kit.lamp_area_m2),
        hold_min=max(minutes for _, minutes in bakes),
        places=_places(job, kit),
    )


def cooling(stage: Stage, heated: Pace) -> Pace:
    """Return how a panel cools after a bake, or on from an earlier cooling."""
    return Pace(
        "cool",
        COOL_TO_C if stage.cool_to_c is None else stage.cool_to_c,
        heated.heat_j_m2k,
        from_temp_c=heated.goal_temp_c,
        share=QUENCH_SHARE if stage.quench else 1.0,
    )


def _bake_of(lamp: Lamp, material: Material) -> tuple[float, float]:
    """Return metal temperature, °C, and minutes of one place.

    Plastic for which the sheet prints nothing of its own stays below its ceiling, and bakes longer
    for it.
    """
    ceiling = CEILING_C[material]
    if material is Material.PLASTIC and lamp.plastic_temp_c is not None:
        return lamp.plastic_temp_c, lamp.plastic_bake_min or lamp.bake_min
    if lamp.metal_temp_c <= ceiling:
        return lamp.metal_temp_c, lamp.bake_min
    longer = cure_minutes(lamp.bake_min, ceiling, lamp.metal_temp_c, THROUGH_CURE_KJ_MOL)
    return ceiling, longer


def _soaked(job: Job) -> float:
    """Return the heat capacity that the lamp has to warm, the frame included, J/m²K."""
    skin = max(SKIN_HEAT_J_M2K[panel.material] for panel in job.panels)
    return soaked_heat_j_m2k(skin, SOAK_MIN)


def _places(job: Job, kit: Kit) -> int:
    """Return how often the lamp is set up."""
    return int(lamp_positions(job.repair_area_m2, kit.lamp_area_m2))

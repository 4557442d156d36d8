"""How fast each clock of a plan runs in a climate, and how long its work with the lamp takes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Clock, Pace
from sprayadvisor.science.drying import cure_rate, flash_rate
from sprayadvisor.science.lamp import HALF_POWER, HALF_POWER_MIN, cool_down_min, warm_up_min

# Nothing cools quite down to what surrounds it; this close the lamp no longer counts (estimate).
COOL_WITHIN_K = 2.0


def clock_rate(clock: Clock, quantities: Mapping[str, Floats]) -> Floats:
    """Return the (row, step) rate of a clock, at most its cap; NaN where the weather is NaN.

    Args:
        clock: the clock; its ``boost`` multiplies the rate before the cap is applied.
        quantities: needs the array named as its ``panel``; a flash also ``air_temp_c``, ``rh_pct``
            and ``wind_ms``.
    """
    panel_temp_c = quantities[clock.panel]
    if clock.kind == "cure":
        rate = cure_rate(
            panel_temp_c, clock.reference_temp_c, clock.activation_kj_mol, clock.stall_temp_c
        )
    else:
        rate = clock.boost * flash_rate(
            clock.carrier,
            panel_temp_c,
            quantities["air_temp_c"],
            quantities["rh_pct"],
            quantities["wind_ms"],
            clock.reference_temp_c,
            clock.reference_rh_pct,
        )
    return np.minimum(rate, clock.cap)  # minimum keeps NaN


def pace_minutes(pace: Pace, quantities: Mapping[str, Floats]) -> Floats:
    """Return the (row, step) whole minutes that work with the lamp takes if begun in a step.

    Infinite where the lamp cannot hold the metal that warm in this wind; NaN where the weather is
    NaN. A place is warmed with as much of the frame as soaks through, from the panel as it is, in
    the wind the work begins in; the sun is left out, for the lamp stands in its way. A bake begins
    at half power, which costs as long as full power needs for the half that is missing. Cooling
    ends at its goal or, where sun or air keep the panel warmer, where the lamp no longer counts.

    Args:
        pace: what is done.
        quantities: needs ``panel_temp_c``, ``air_temp_c`` and ``wind_ms``.
    """
    panel_temp_c, air_temp_c = quantities["panel_temp_c"], quantities["air_temp_c"]
    wind_ms, heat = quantities["wind_ms"], pace.heat_j_m2k
    if pace.kind == "cool":
        around = np.maximum(air_temp_c, panel_temp_c)
        goal = np.maximum(pace.goal_temp_c, around + COOL_WITHIN_K)
        return _whole(pace.share * cool_down_min(around, wind_ms, pace.from_temp_c, goal, heat))
    takes = pace.hold_min + warm_up_min(
        pace.absorbed_wm2, air_temp_c, wind_ms, panel_temp_c, pace.goal_temp_c, heat
    )
    if pace.kind == "bake":
        return pace.places * _whole(takes + (1.0 - HALF_POWER) * HALF_POWER_MIN)
    return np.where(panel_temp_c >= pace.below_c, 0.0, pace.places * _whole(takes))


def _whole(minutes: Floats) -> Floats:
    """Return minutes rounded up; a hair over a whole number is that number."""
    return np.ceil(np.round(minutes, 6))

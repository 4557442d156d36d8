"""The infrared lamp: whether it reaches the sheet's metal temperature in this wind, and how soon.

The panel under the lamp keeps the balance it has without: absorbed flux against convection,
radiation and what the skin loses to the frame behind it. While the lamp is on it stands in the way
of the sky, so that all the panel sees is at air temperature.

Scalars or arrays that broadcast; a float for scalars; NaN in gives NaN out; a scalar outside its
physical range raises ``RangeError``.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from itertools import pairwise
from typing import overload

import numpy as np

from sprayadvisor.science.convection import MCADAMS_CALM, MCADAMS_WIND, mcadams_wm2k
from sprayadvisor.science.panel import steady_temp_c
from sprayadvisor.science.ranges import Floats, Values, elementwise
from sprayadvisor.science.sky import KELVIN, STEFAN_BOLTZMANN_WM2K4

ABSORBED_SHARE = 0.5  # of the electrical power, by the lit area; an assumption, not measured
BACK_LOSS_WM2K = 3.0  # from the skin to the frame behind it (engineering estimate)
EMITTANCE = 0.93  # of paint, published emissivity tables
HALF_POWER = 0.5  # for the first minutes, against solvent pop: common practice, no source
HALF_POWER_MIN = 4.0  # those minutes, 3 to 4: common practice, no source
FRAME_J_M2K = 6000.0  # what warms up behind a skin under the lamp (engineering estimate)
SOAK_MIN = 9.0  # minutes until it is as warm as the skin (trade judgement: 8 to 10)
# Hottest a part may become under the lamp, °C: bumpers 60, never above 65 to 70; common practice,
# no source. Metal has no ceiling here: the sheet sets it.
CEILING_C = {"steel": np.inf, "aluminium": np.inf, "plastic": 60.0}
_SLICES = 4  # temperature slices of a warm-up: at most 2 % too long, at the edge of the reachable


@overload
def lamp_flux_wm2(lamp_kw: float, lit_area_m2: float) -> float: ...
@overload
def lamp_flux_wm2(lamp_kw: Values, lit_area_m2: Values) -> Floats: ...
@elementwise
def lamp_flux_wm2(lamp_kw: Values, lit_area_m2: Values) -> Values:
    """Return the flux a panel takes up under a lamp, W/m².

    Args:
        lamp_kw: electrical power, kW.
        lit_area_m2: area the lamp heats evenly, m².
    """
    return ABSORBED_SHARE * 1000.0 * lamp_kw / lit_area_m2


@overload
def lamp_temp_c(absorbed_wm2: float, air_temp_c: float, wind_ms: float) -> float: ...
@overload
def lamp_temp_c(absorbed_wm2: Values, air_temp_c: Values, wind_ms: Values) -> Floats: ...
@elementwise
def lamp_temp_c(absorbed_wm2: Values, air_temp_c: Values, wind_ms: Values) -> Values:
    """Return the metal temperature a lamp can hold in this wind, °C.

    Args:
        absorbed_wm2: from ``lamp_flux_wm2``.
        air_temp_c: air temperature, °C.
        wind_ms: mean wind at the panel, m/s.
    """
    loss = mcadams_wm2k(wind_ms) + BACK_LOSS_WM2K
    return steady_temp_c(absorbed_wm2, air_temp_c, air_temp_c, loss, EMITTANCE)


@overload
def max_wind_ms(absorbed_wm2: float, air_temp_c: float, goal_temp_c: float) -> float: ...
@overload
def max_wind_ms(absorbed_wm2: Values, air_temp_c: Values, goal_temp_c: Values) -> Floats: ...
@elementwise
def max_wind_ms(absorbed_wm2: Values, air_temp_c: Values, goal_temp_c: Values) -> Values:
    """Return the wind below which a metal temperature can be held, m/s.

    It is 0 where no calm is calm enough, and infinite where the air alone is as warm.

    Args:
        absorbed_wm2: from ``lamp_flux_wm2``.
        air_temp_c: air temperature, °C.
        goal_temp_c: metal temperature to hold, °C.
    """
    excess = np.asarray(goal_temp_c - air_temp_c)
    left = absorbed_wm2 - _radiated(goal_temp_c, air_temp_c)
    coefficient = left / np.where(excess > 0, excess, 1.0) - BACK_LOSS_WM2K
    wind_ms = np.maximum((coefficient - MCADAMS_CALM) / MCADAMS_WIND, 0.0)
    held = lamp_temp_c(absorbed_wm2 + 0.0 * excess, air_temp_c + 0.0 * excess, 0.0 * excess)
    reached = np.where(held >= goal_temp_c, wind_ms, 0.0)
    return np.where(excess <= 0, np.inf, reached) + 0.0 * left


@overload
def warm_up_min(
    absorbed_wm2: float,
    air_temp_c: float,
    wind_ms: float,
    from_temp_c: float,
    goal_temp_c: float,
    heat_j_m2k: float,
) -> float: ...
@overload
def warm_up_min(
    absorbed_wm2: Values,
    air_temp_c: Values,
    wind_ms: Values,
    from_temp_c: Values,
    goal_temp_c: Values,
    heat_j_m2k: Values,
) -> Floats: ...
@elementwise
def warm_up_min(
    absorbed_wm2: Values,
    air_temp_c: Values,
    wind_ms: Values,
    from_temp_c: Values,
    goal_temp_c: Values,
    heat_j_m2k: Values,
) -> Values:
    """Return the minutes to a metal temperature; 0 if it is there already, infinite if never.

    Args:
        absorbed_wm2: from ``lamp_flux_wm2``.
        air_temp_c: air temperature, °C.
        wind_ms: mean wind at the panel, m/s.
        from_temp_c: metal temperature when the lamp goes on, °C.
        goal_temp_c: metal temperature to reach, °C.
        heat_j_m2k: heat capacity of what warms up, J/m²K.
    """
    goal = np.maximum(from_temp_c, goal_temp_c)
    return _minutes_between(absorbed_wm2, air_temp_c, wind_ms, from_temp_c, goal, heat_j_m2k)


@overload
def cool_down_min(
    air_temp_c: float, wind_ms: float, from_temp_c: float, goal_temp_c: float, heat_j_m2k: float
) -> float: ...
@overload
def cool_down_min(
    air_temp_c: Values,
    wind_ms: Values,
    from_temp_c: Values,
    goal_temp_c: Values,
    heat_j_m2k: Values,
) -> Floats: ...
@elementwise
def cool_down_min(
    air_temp_c: Values,
    wind_ms: Values,
    from_temp_c: Values,
    goal_temp_c: Values,
    heat_j_m2k: Values,
) -> Values:
    """Return the minutes until a panel is as cool as that with the lamp off; infinite if never.

    Args:
        air_temp_c: air temperature, °C.
        wind_ms: mean wind at the panel, m/s.
        from_temp_c: metal temperature when the lamp goes off, °C.
        goal_temp_c: metal temperature to cool to, °C.
        heat_j_m2k: heat capacity of what cools, J/m²K.
    """
    goal = np.minimum(from_temp_c, goal_temp_c)
    return _minutes_between(0.0, air_temp_c, wind_ms, from_temp_c, goal, heat_j_m2k)


@overload
def soaked_heat_j_m2k(skin_j_m2k: float, lamp_min: float) -> float: ...
@overload
def soaked_heat_j_m2k(skin_j_m2k: Values, lamp_min: Values) -> Floats: ...
@elementwise
def soaked_heat_j_m2k(skin_j_m2k: Values, lamp_min: Values) -> Values:
    """Return the heat capacity of a skin with as much of the frame as the lamp has soaked, J/m²K.

    Args:
        skin_j_m2k: heat capacity of the bare skin, J/m²K.
        lamp_min: how long it has been under the lamp, min.
    """
    return skin_j_m2k + FRAME_J_M2K * np.minimum(lamp_min / SOAK_MIN, 1.0)


@overload
def lift_left_k(
    lift_k: float, after_min: float, air_temp_c: float, wind_ms: float, heat_j_m2k: float
) -> float: ...
@overload
def lift_left_k(
    lift_k: Values, after_min: Values, air_temp_c: Values, wind_ms: Values, heat_j_m2k: Values
) -> Floats: ...
@elementwise
def lift_left_k(
    lift_k: Values, after_min: Values, air_temp_c: Values, wind_ms: Values, heat_j_m2k: Values
) -> Values:
    """Return what is left of a pre-warming some minutes after the lamp went off, K.

    Args:
        lift_k: how far the panel was warmed above what it would be without, K.
        after_min: minutes since the lamp went off.
        air_temp_c: air temperature, °C.
        wind_ms: mean wind at the panel, m/s.
        heat_j_m2k: from ``soaked_heat_j_m2k``.
    """
    middle_k = air_temp_c + 0.5 * lift_k + KELVIN
    radiation = 4.0 * EMITTANCE * STEFAN_BOLTZMANN_WM2K4 * middle_k**3
    loss = mcadams_wm2k(wind_ms) + BACK_LOSS_WM2K + radiation
    left: Values = lift_k * np.exp(-60.0 * after_min * loss / heat_j_m2k)
    return left


@overload
def lamp_positions(repair_area_m2: float, lit_area_m2: float) -> float: ...
@overload
def lamp_positions(repair_area_m2: Values, lit_area_m2: Values) -> Floats: ...
@elementwise
def lamp_positions(repair_area_m2: Values, lit_area_m2: Values) -> Values:
    """Return how many times the lamp must be set up, a whole number, 1 at least.

    Args:
        repair_area_m2: area to bake, m².
        lit_area_m2: area the lamp heats evenly, m².
    """
    # A hair under a whole number is that number: 0.6 / 0.2 must not need a fourth position.
    count: Values = np.ceil(np.round(repair_area_m2 / lit_area_m2, 9))
    return np.maximum(count, 1.0)


def _radiated(panel_temp_c: Values, air_temp_c: Values) -> Values:
    """Return the net long-wave loss to surroundings at air temperature, W/m²."""
    return EMITTANCE * STEFAN_BOLTZMANN_WM2K4 * (_fourth(panel_temp_c) - _fourth(air_temp_c))


def _fourth(temp_c: Values) -> Values:
    """Return the fourth power of an absolute temperature, K⁴; a power of two is quicker twice."""
    square = (temp_c + KELVIN) ** 2
    return square * square


def _minutes_between(
    absorbed_wm2: Values,
    air_temp_c: Values,
    wind_ms: Values,
    from_temp_c: Values,
    goal_temp_c: Values,
    heat_j_m2k: Values,
) -> Values:
    """Return ∫ C dT / net flux, min; infinite where the flux runs the other way before the goal.

    Within a slice the net flux is taken as straight in temperature, which gives its logarithmic
    mean and holds to the edge of what can be reached; only the bend of the radiation is lost.
    """
    loss = mcadams_wm2k(wind_ms) + BACK_LOSS_WM2K
    span = np.asarray(goal_temp_c - from_temp_c)
    around = absorbed_wm2 + loss * air_temp_c
    around = around + EMITTANCE * STEFAN_BOLTZMANN_WM2K4 * _fourth(air_temp_c)

    def net_wm2(temp_c: Values) -> Values:
        return around - loss * temp_c - EMITTANCE * STEFAN_BOLTZMANN_WM2K4 * _fourth(temp_c)

    nets = [net_wm2(from_temp_c + part / _SLICES * span) for part in range(_SLICES + 1)]
    reached = (nets[-1] * np.sign(span) > 0) | (span == 0)
    slowness = sum(_mean_inverse(*pair) for pair in pairwise(nets)) / _SLICES
    seconds = np.where(span == 0, 0.0, heat_j_m2k * span * slowness)
    unknown = 0.0 * (nets[-1] + span + heat_j_m2k)  # NaN in, NaN out
    return np.where(reached, seconds / 60.0, np.inf) + unknown


def _mean_inverse(begin: Values, end: Values) -> Values:
    """Return the mean of 1/x over x from ``begin`` to ``end``."""
    change = end / begin - 1.0
    steady = np.abs(change) < 1e-6
    mean: Values = np.where(steady, 1.0, np.log1p(change) / np.where(steady, 1.0, change)) / begin
    return mean

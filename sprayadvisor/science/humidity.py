"""Humidity: what the air holds, when it falls out on a surface, how damp a surface is.

    air_temp_c, rh_pct ── vapour_pressure_hpa ──┬── dew_point_c, frost_point_c
                                                ├── surface_rh_pct (at the panel's temperature)
                                                ├── vapour_pressure_deficit_hpa
                                                └── wet_bulb_c

Humidity is always taken over water, also below freezing, as weather services report it. The form
is Magnus with the coefficients of WMO-No. 8 (Sonntag 1990), valid −45 to +60 °C over water and
−65 to 0 °C over ice. It differs from the handbooks' longer formulae by at most 0.4 % in pressure.

Everything takes scalars or arrays that broadcast, and gives a float for scalars. NaN in gives NaN
out. A scalar outside its physical range raises ``RangeError``; arrays are computed as they are.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import overload

import numpy as np

from sprayadvisor.errors import InputError
from sprayadvisor.science.ranges import Floats, Values, elementwise

MAGNUS_A_HPA = 6.112  # saturation vapour pressure at 0 °C, both phases
MAGNUS_B, MAGNUS_C = 17.62, 243.12  # over water: –, °C; WMO-No. 8
MAGNUS_ICE_B, MAGNUS_ICE_C = 22.46, 272.62  # over ice: –, °C; WMO-No. 8, value from memory

WATER_AIR_MASS_RATIO = 0.621945  # molar mass of water over that of dry air; ASHRAE Fundamentals
_WET_BULB_STEPS = 25  # Newton needs 4 to 8 of them over the whole physical range
_WET_BULB_TOLERANCE_K = 1e-6


def _saturation(temp_c: Values, b: float, c: float) -> Values:
    """Return the Magnus saturation vapour pressure, hPa."""
    pressure: Values = MAGNUS_A_HPA * np.exp(b * temp_c / (c + temp_c))
    return pressure


def _temp_at_saturation(log_ratio: Values, b: float, c: float) -> Values:
    """Return the temperature whose saturation pressure is ``exp(log_ratio) * MAGNUS_A_HPA``, °C."""
    return c * log_ratio / (b - log_ratio)


@overload
def saturation_pressure_hpa(temp_c: float) -> float: ...
@overload
def saturation_pressure_hpa(temp_c: Floats) -> Floats: ...
@elementwise
def saturation_pressure_hpa(temp_c: Values) -> Values:
    """Return the saturation vapour pressure over water, hPa.

    Args:
        temp_c: temperature of the water surface, °C.

    Source: Magnus form, WMO-No. 8 coefficients (Sonntag 1990), −45 to +60 °C. Beyond that the
    form still rises smoothly and is used for hot panels, where only its direction matters.

    >>> round(saturation_pressure_hpa(20.0), 2)
    23.33
    """
    return _saturation(temp_c, MAGNUS_B, MAGNUS_C)


@overload
def saturation_pressure_ice_hpa(temp_c: float) -> float: ...
@overload
def saturation_pressure_ice_hpa(temp_c: Floats) -> Floats: ...
@elementwise
def saturation_pressure_ice_hpa(temp_c: Values) -> Values:
    """Return the saturation vapour pressure over ice, hPa; meant for −65 to 0 °C.

    Args:
        temp_c: temperature of the ice surface, °C.
    """
    return _saturation(temp_c, MAGNUS_ICE_B, MAGNUS_ICE_C)


@overload
def vapour_pressure_hpa(air_temp_c: float, rh_pct: float) -> float: ...
@overload
def vapour_pressure_hpa(air_temp_c: Values, rh_pct: Values) -> Floats: ...
@elementwise
def vapour_pressure_hpa(air_temp_c: Values, rh_pct: Values) -> Values:
    """Return the pressure of the water vapour in the air, hPa.

    Args:
        air_temp_c: air temperature, °C.
        rh_pct: relative humidity over water, %.
    """
    return rh_pct / 100.0 * _saturation(air_temp_c, MAGNUS_B, MAGNUS_C)


@overload
def vapour_pressure_deficit_hpa(air_temp_c: float, rh_pct: float) -> float: ...
@overload
def vapour_pressure_deficit_hpa(air_temp_c: Values, rh_pct: Values) -> Floats: ...
@elementwise
def vapour_pressure_deficit_hpa(air_temp_c: Values, rh_pct: Values) -> Values:
    """Return how much more vapour the air could hold, as a pressure, hPa.

    Args:
        air_temp_c: air temperature, °C.
        rh_pct: relative humidity over water, %.
    """
    return (1.0 - rh_pct / 100.0) * _saturation(air_temp_c, MAGNUS_B, MAGNUS_C)


def _log_vapour_ratio(air_temp_c: Values, rh_pct: Values) -> Values:
    """Return the logarithm of vapour pressure over ``MAGNUS_A_HPA``."""
    ratio: Values = np.log(rh_pct / 100.0) + MAGNUS_B * air_temp_c / (MAGNUS_C + air_temp_c)
    return ratio


@overload
def dew_point_c(air_temp_c: float, rh_pct: float) -> float: ...
@overload
def dew_point_c(air_temp_c: Values, rh_pct: Values) -> Floats: ...
@elementwise
def dew_point_c(air_temp_c: Values, rh_pct: Values) -> Values:
    """Return the dew point over water, °C, also below freezing.

    Args:
        air_temp_c: air temperature, °C.
        rh_pct: relative humidity over water, %. At 0 % there is no dew point: NaN.

    Source: inverse of ``saturation_pressure_hpa``, so that 100 % gives the air temperature back.

    >>> round(dew_point_c(20.0, 50.0), 2)
    9.26
    """
    return _temp_at_saturation(_log_vapour_ratio(air_temp_c, rh_pct), MAGNUS_B, MAGNUS_C)


@overload
def dew_point_from_pressure_c(vapour_pressure_hpa: float) -> float: ...
@overload
def dew_point_from_pressure_c(vapour_pressure_hpa: Floats) -> Floats: ...
@elementwise
def dew_point_from_pressure_c(vapour_pressure_hpa: Values) -> Values:
    """Return the dew point over water of air with this vapour pressure, °C; NaN at 0 hPa.

    Args:
        vapour_pressure_hpa: pressure of the water vapour, hPa.
    """
    return _temp_at_saturation(np.log(vapour_pressure_hpa / MAGNUS_A_HPA), MAGNUS_B, MAGNUS_C)


@overload
def frost_point_c(air_temp_c: float, rh_pct: float) -> float: ...
@overload
def frost_point_c(air_temp_c: Values, rh_pct: Values) -> Floats: ...
@elementwise
def frost_point_c(air_temp_c: Values, rh_pct: Values) -> Values:
    """Return the temperature at which ice, or above 0 °C water, begins to settle, °C.

    Where the vapour would settle above freezing there is no frost point, and the dew point stands
    in for it; the two meet at 0 °C.

    Args:
        air_temp_c: air temperature, °C.
        rh_pct: relative humidity over *water*, %.
    """
    log_ratio = _log_vapour_ratio(air_temp_c, rh_pct)
    frost = _temp_at_saturation(log_ratio, MAGNUS_ICE_B, MAGNUS_ICE_C)
    dew = _temp_at_saturation(log_ratio, MAGNUS_B, MAGNUS_C)
    return np.where(np.asarray(log_ratio) < 0.0, frost, dew)


@overload
def rh_from_dew_point_pct(air_temp_c: float, dew_point_c: float) -> float: ...
@overload
def rh_from_dew_point_pct(air_temp_c: Values, dew_point_c: Values) -> Floats: ...
@elementwise
def rh_from_dew_point_pct(air_temp_c: Values, dew_point_c: Values) -> Values:
    """Return the relative humidity over water, %; over 100 where the dew point is above the air.

    Args:
        air_temp_c: air temperature, °C.
        dew_point_c: dew point over water, °C.
    """
    return (
        100.0
        * _saturation(dew_point_c, MAGNUS_B, MAGNUS_C)
        / _saturation(air_temp_c, MAGNUS_B, MAGNUS_C)
    )


@overload
def surface_rh_pct(air_temp_c: float, rh_pct: float, panel_temp_c: float) -> float: ...
@overload
def surface_rh_pct(air_temp_c: Values, rh_pct: Values, panel_temp_c: Values) -> Floats: ...
@elementwise
def surface_rh_pct(air_temp_c: Values, rh_pct: Values, panel_temp_c: Values) -> Values:
    """Return the relative humidity of the air that touches a surface, %.

    It is 100 exactly where the surface is at the dew point, and more where dew is settling: it is
    not capped, so that it says how far beyond.

    Args:
        air_temp_c: air temperature, °C.
        rh_pct: relative humidity of the air over water, %.
        panel_temp_c: temperature of the surface, °C.
    """
    vapour = rh_pct * _saturation(air_temp_c, MAGNUS_B, MAGNUS_C)
    return vapour / _saturation(panel_temp_c, MAGNUS_B, MAGNUS_C)


def _mixing_ratio(vapour_hpa: Values, pressure_hpa: Values) -> Values:
    """Return kilograms of water per kilogram of dry air."""
    return WATER_AIR_MASS_RATIO * vapour_hpa / (pressure_hpa - vapour_hpa)


def _wet_bulb_step(wet_c: Values, air_temp_c: Values, mixing: Values, pressure: Values) -> Values:
    """Return Newton's step for the energy balance of a wet bulb, K.

    Balance of ASHRAE Fundamentals 2017, chapter 1, equation 33 (kJ/kg), here for water at every
    temperature: (2501 − 2.326 Tw) Ws(Tw) = (2501 + 1.86 T − 4.186 Tw) W + 1.006 (T − Tw).
    """
    saturation = _saturation(wet_c, MAGNUS_B, MAGNUS_C)
    slope = saturation * MAGNUS_B * MAGNUS_C / (MAGNUS_C + wet_c) ** 2
    wet_mixing = _mixing_ratio(saturation, pressure)
    mixing_slope = WATER_AIR_MASS_RATIO * pressure * slope / (pressure - saturation) ** 2
    latent = 2501.0 - 2.326 * wet_c
    balance = (
        latent * wet_mixing
        - (2501.0 + 1.86 * air_temp_c - 4.186 * wet_c) * mixing
        - 1.006 * (air_temp_c - wet_c)
    )
    balance_slope = latent * mixing_slope - 2.326 * wet_mixing + 4.186 * mixing + 1.006
    return balance / balance_slope


@overload
def wet_bulb_c(air_temp_c: float, rh_pct: float, pressure_hpa: float = ...) -> float: ...
@overload
def wet_bulb_c(air_temp_c: Values, rh_pct: Values, pressure_hpa: Values = ...) -> Floats: ...
@elementwise
def wet_bulb_c(air_temp_c: Values, rh_pct: Values, pressure_hpa: Values = 1013.25) -> Values:
    """Return the temperature a wet surface takes in moving air out of the sun, °C.

    The balance is convex, so that Newton's steps from the air temperature come down to the root
    without passing it. Below freezing the bulb is taken as wet with water, not ice.

    Args:
        air_temp_c: air temperature, °C.
        rh_pct: relative humidity over water, %.
        pressure_hpa: air pressure, hPa.

    Raises:
        InputError: a scalar for which no root was found; array elements become NaN instead.
    """
    vapour = rh_pct / 100.0 * _saturation(air_temp_c, MAGNUS_B, MAGNUS_C)
    mixing = _mixing_ratio(vapour, pressure_hpa)
    wet_c = air_temp_c + 0.0 * mixing
    step = wet_c
    for _ in range(_WET_BULB_STEPS):
        step = _wet_bulb_step(wet_c, air_temp_c, mixing, pressure_hpa)
        wet_c = wet_c - step
        if not np.any(np.abs(step) > _WET_BULB_TOLERANCE_K):
            return wet_c
    if np.ndim(wet_c) == 0:
        raise InputError(
            f"No wet bulb was found for {air_temp_c:g} °C, {rh_pct:g} % and {pressure_hpa:g} hPa; "
            "check the three readings."
        )
    return np.where(np.abs(step) > _WET_BULB_TOLERANCE_K, np.nan, wet_c)

"""Drying: how fast paint flashes off and cures, against what its sheet says.

    flash:  rate of a clock that stands at 1 under the sheet's reference conditions
            solvent ── vapour pressure of n-butyl acetate at the panel ──┐
            water ──── drying drive of the air at the panel ─────────────┴─ × wind factor
    cure:   Arrhenius at metal temperature, nothing at all below the stall temperature

Printed minutes are at the sheet's reference temperature. A hot panel has limits of its own (dry
edge, skin, pop); they are the sheet's upper bound and are not expressed as a shorter time here.

Scalars or arrays that broadcast; a float for scalars; NaN in gives NaN out; a scalar outside its
physical range raises ``RangeError``.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import Literal, overload

import numpy as np

from sprayadvisor.errors import InputError
from sprayadvisor.science.humidity import saturation_pressure_hpa, vapour_pressure_hpa
from sprayadvisor.science.ranges import Floats, Values, elementwise
from sprayadvisor.science.sky import KELVIN

Carrier = Literal["solvent", "water"]

GAS_CONSTANT_KJ_MOL_K = 8.314462618e-3  # CODATA 2018
# n-butyl acetate, DIPPR-101 constants of Perry's Chemical Engineers' Handbook, ln P [Pa],
# 200 to 575 K. It stands for the solvent blend: blends differ in speed, hardly in slope.
_BUTYL_ACETATE = (122.82, -9253.2, -14.99, 1.047e-5, 2.0)

# Evaporation grows with wind to the power of 0.10 (controlled wind tunnel, Woodward 2002) up to
# 0.78 (Mackay & Matsugu 1973). The low side is the cautious one above the reference wind; below it
# the floor stands for the drift that air outdoors never quite loses (engineering estimates).
WIND_EXPONENT = 0.10
WIND_REFERENCE_MS = 0.5  # the slow air of a spray booth, in which printed times are taken
WIND_FLOOR_MS = 0.1
WIND_CAP = 1.5
# A hand blower on water-borne base: trade judgement 2.5 to 3.5; where the kit does not say another.
BLOWER_FACTOR = 3.0
DUST_FREE_KJ_MOL = 50.0  # ×2 per 10 K; published 29 to 84 kJ/mol, see tests/reference
THROUGH_CURE_KJ_MOL = 67.0  # from "30 min at 60 °C or 12 to 16 h at 20 °C", common practice
STALL_TEMP_C = 5.0  # below it cure is taken as stopped unless the sheet says otherwise (estimate)


@overload
def butyl_acetate_pressure_pa(temp_c: float) -> float: ...
@overload
def butyl_acetate_pressure_pa(temp_c: Floats) -> Floats: ...
@elementwise
def butyl_acetate_pressure_pa(temp_c: Values) -> Values:
    """Return the vapour pressure of n-butyl acetate, Pa.

    Args:
        temp_c: temperature of the liquid, °C; −73 to +302 °C.

    Source: DIPPR-101 form and constants in Perry's Chemical Engineers' Handbook.

    >>> round(butyl_acetate_pressure_pa(20.0))
    1098
    """
    a, b, c, d, e = _BUTYL_ACETATE
    kelvin = temp_c + KELVIN
    pressure: Values = np.exp(a + b / kelvin + c * np.log(kelvin) + d * kelvin**e)
    return pressure


@overload
def wind_factor(wind_ms: float) -> float: ...
@overload
def wind_factor(wind_ms: Floats) -> Floats: ...
@elementwise
def wind_factor(wind_ms: Values) -> Values:
    """Return how much faster a film flashes in this wind than at ``WIND_REFERENCE_MS``.

    Args:
        wind_ms: mean wind at the panel, m/s.
    """
    moving = np.maximum(wind_ms, WIND_FLOOR_MS)
    factor: Values = np.minimum((moving / WIND_REFERENCE_MS) ** WIND_EXPONENT, WIND_CAP)
    return factor


@elementwise
def _solvent_rate(
    panel_temp_c: Values,
    air_temp_c: Values,
    rh_pct: Values,
    wind_ms: Values,
    reference_temp_c: Values,
    reference_rh_pct: Values,
) -> Values:
    """Return the solvent's vapour pressure over that at reference, times the wind factor."""
    ratio = butyl_acetate_pressure_pa(panel_temp_c) / butyl_acetate_pressure_pa(reference_temp_c)
    unused = 0.0 * (air_temp_c + rh_pct + reference_rh_pct)  # NaN in, NaN out
    return ratio * wind_factor(wind_ms) + unused


@elementwise
def _water_rate(
    panel_temp_c: Values,
    air_temp_c: Values,
    rh_pct: Values,
    wind_ms: Values,
    reference_temp_c: Values,
    reference_rh_pct: Values,
) -> Values:
    """Return the drying drive over that at reference, times the wind factor; never below 0."""
    drive = saturation_pressure_hpa(panel_temp_c) - vapour_pressure_hpa(air_temp_c, rh_pct)
    reference = saturation_pressure_hpa(reference_temp_c) * (1.0 - reference_rh_pct / 100.0)
    rate: Values = np.maximum(drive / reference, 0.0) * wind_factor(wind_ms)
    return rate


_RATES = {"solvent": _solvent_rate, "water": _water_rate}


@overload
def flash_rate(
    carrier: Carrier,
    panel_temp_c: float,
    air_temp_c: float,
    rh_pct: float,
    wind_ms: float,
    reference_temp_c: float = ...,
    reference_rh_pct: float = ...,
) -> float: ...
@overload
def flash_rate(
    carrier: Carrier,
    panel_temp_c: Values,
    air_temp_c: Values,
    rh_pct: Values,
    wind_ms: Values,
    reference_temp_c: Values = ...,
    reference_rh_pct: Values = ...,
) -> Floats: ...
def flash_rate(
    carrier: Carrier,
    panel_temp_c: Values,
    air_temp_c: Values,
    rh_pct: Values,
    wind_ms: Values,
    reference_temp_c: Values = 20.0,
    reference_rh_pct: Values = 50.0,
) -> Values:
    """Return the speed of the flash-off clock, 1 at the sheet's reference conditions, not capped.

    Args:
        carrier: what flashes off, "solvent" or "water".
        panel_temp_c: panel temperature, °C; the film is so thin that it has the same.
        air_temp_c: air temperature, °C; matters to water-borne paint only.
        rh_pct: relative humidity, %; matters to water-borne paint only.
        wind_ms: mean wind at the panel, m/s.
        reference_temp_c: temperature of the printed minutes, °C.
        reference_rh_pct: humidity of the printed minutes, %.

    Raises:
        InputError: an unknown carrier.
        RangeError: a scalar outside its physical range.

    >>> round(1 / flash_rate("solvent", 10.0, 10.0, 60.0, WIND_REFERENCE_MS), 1)
    1.9
    """
    if carrier not in _RATES:
        raise InputError(f'carrier is "{carrier}"; it must be "solvent" or "water".')
    return _RATES[carrier](
        panel_temp_c, air_temp_c, rh_pct, wind_ms, reference_temp_c, reference_rh_pct
    )


@overload
def flash_minutes(printed_min: float, rate: float, cap: float = ...) -> float: ...
@overload
def flash_minutes(printed_min: Values, rate: Values, cap: Values = ...) -> Floats: ...
@elementwise
def flash_minutes(printed_min: Values, rate: Values, cap: Values = 1.0) -> Values:
    """Return the minutes of flash-off at a steady rate; infinite where nothing dries.

    Args:
        printed_min: the sheet's minutes at reference.
        rate: from ``flash_rate``.
        cap: fastest the clock may run: 1 where the printed time is a floor (clear, primer), 2 for
            base, which is flashed until it is matt.
    """
    capped = np.minimum(rate, cap)
    minutes: Values = np.where(capped > 0, printed_min / np.where(capped > 0, capped, 1.0), np.inf)
    return minutes + 0.0 * (printed_min + capped)  # NaN in, NaN out


@overload
def cure_rate(
    panel_temp_c: float,
    reference_temp_c: float,
    activation_kj_mol: float,
    stall_temp_c: float = ...,
) -> float: ...
@overload
def cure_rate(
    panel_temp_c: Values,
    reference_temp_c: Values,
    activation_kj_mol: Values,
    stall_temp_c: Values = ...,
) -> Floats: ...
@elementwise
def cure_rate(
    panel_temp_c: Values,
    reference_temp_c: Values,
    activation_kj_mol: Values,
    stall_temp_c: Values = STALL_TEMP_C,
) -> Values:
    """Return the speed of cure, 1 at the reference temperature and 0 below the stall.

    Args:
        panel_temp_c: metal temperature, °C.
        reference_temp_c: temperature of the printed minutes, °C.
        activation_kj_mol: activation energy, kJ/mol.
        stall_temp_c: temperature below which cure is taken as stopped, °C.
    """
    speed = 1.0 / _arrhenius(panel_temp_c, reference_temp_c, activation_kj_mol)
    rate: Values = np.where(np.asarray(panel_temp_c) < stall_temp_c, 0.0, speed)
    return rate + 0.0 * stall_temp_c  # NaN in, NaN out


@overload
def cure_minutes(
    printed_min: float, panel_temp_c: float, reference_temp_c: float, activation_kj_mol: float
) -> float: ...
@overload
def cure_minutes(
    printed_min: Values, panel_temp_c: Values, reference_temp_c: Values, activation_kj_mol: Values
) -> Floats: ...
@elementwise
def cure_minutes(
    printed_min: Values, panel_temp_c: Values, reference_temp_c: Values, activation_kj_mol: Values
) -> Values:
    """Return the minutes of cure at a steady metal temperature, without regard to a stall.

    Args:
        printed_min: the sheet's minutes at the reference temperature.
        panel_temp_c: metal temperature, °C.
        reference_temp_c: temperature of the printed minutes, °C.
        activation_kj_mol: activation energy, kJ/mol.

    >>> round(cure_minutes(30.0, 10.0, 20.0, 50.0))
    62
    """
    return printed_min * _arrhenius(panel_temp_c, reference_temp_c, activation_kj_mol)


def _arrhenius(temp_c: Values, reference_temp_c: Values, activation_kj_mol: Values) -> Values:
    """Return how many times longer a reaction takes than at the reference temperature."""
    inverse_k = 1.0 / (temp_c + KELVIN) - 1.0 / (reference_temp_c + KELVIN)
    longer: Values = np.exp(activation_kj_mol / GAS_CONSTANT_KJ_MOL_K * inverse_k)
    return longer

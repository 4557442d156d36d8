"""Water on a panel: one film for dew, frost and rain, and the flags read off it.

The film grows and dries by the vapour balance of the panel's own convection (Lewis' relation), and
takes its latent heat from the skin or gives it to it; see ``panel_balance`` for the coupling. The
heat of melting is left out: a panel white with frost thaws up to a quarter of an hour late.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.science.humidity import (
    MAGNUS_A_HPA,
    MAGNUS_B,
    MAGNUS_C,
    WATER_AIR_MASS_RATIO,
)
from sprayadvisor.science.quantities import STEP_MIN
from sprayadvisor.science.ranges import Floats, Values
from sprayadvisor.science.sky import KELVIN

FILM_MAX_MM = 0.2  # more runs off or drips (engineering estimate)
WET_FILM_MM = 0.005  # from here on a panel counts as wet; a breath of dew (engineering estimate)
LATENT_J_KG = 2.50e6  # evaporation at 0 °C, WMO-No. 8; 2 % less at 20 °C, 13 % more for ice
AIR_HEAT_J_KGK = 1005.0
LEWIS_TWO_THIRDS = 0.91  # (thermal over vapour diffusivity of air, 0.87) to the power of 2/3
# Saturation over ice is that over water × exp(0.0099 t): both Magnus sets agree with it within
# 0.1 % down to −25 °C.
ICE_SLOPE_PER_K = 0.0099
# Magnus in the form A exp(b) exp(−BETA / (T − OFFSET)), T in kelvin.
MAGNUS_SCALE_HPA = float(MAGNUS_A_HPA * np.exp(MAGNUS_B))
MAGNUS_BETA_K = MAGNUS_B * MAGNUS_C
MAGNUS_OFFSET_K = KELVIN - MAGNUS_C


def latent_per_hpa(pressure_hpa: Values) -> Values:
    """Return the latent over the convective coefficient, K/hPa, inverse of the psychrometric one.

    Args:
        pressure_hpa: air pressure, hPa.

    Source: Chilton and Colburn's analogy, h / (ρ cp Le^⅔) for the vapour.
    """
    return WATER_AIR_MASS_RATIO * LATENT_J_KG / (AIR_HEAT_J_KGK * LEWIS_TWO_THIRDS * pressure_hpa)


def rain_on_panel_mm(rain_mm: Floats, share: Values, drip_steps: int) -> Floats:
    """Return the water that reaches a panel in each step, mm.

    Args:
        rain_mm: (..., step) rain under the open sky.
        share: how much of it comes through the cover.
        drip_steps: how many steps the cover goes on dripping after rain.
    """
    reaching = rain_mm * share
    dripping = reaching.copy()
    for late in range(1, drip_steps + 1):
        np.maximum(dripping[..., late:], reaching[..., :-late], out=dripping[..., late:])
    return dripping


def hours_since(happened: NDArray[np.bool_]) -> Floats:
    """Return (..., step) hours since something last happened; 0 while it does, infinite before.

    Args:
        happened: (..., step) whether it happened in each quarter hour.
    """
    steps = np.arange(happened.shape[-1])
    last = np.maximum.accumulate(np.where(happened, steps, -1), axis=-1)
    hours = (steps - last) * (STEP_MIN / 60.0)
    return np.where(last < 0, np.inf, hours)


def wet_flag(film_mm: Floats) -> Floats:
    """Return 1 where a film counts as wet, 0 where not, NaN where it is unknown."""
    return np.where(np.isnan(film_mm), np.nan, film_mm >= WET_FILM_MM)


def white_flag(film_mm: Floats, panel_temp_c: Floats) -> Floats:
    """Return 1 where a panel is white with rime, 0 where not, NaN where it is unknown."""
    unknown = np.isnan(film_mm) | np.isnan(panel_temp_c)
    return np.where(unknown, np.nan, (film_mm >= WET_FILM_MM) & (panel_temp_c < 0.0))


def gaps_and_after(known: NDArray[np.bool_], steps_after: int) -> NDArray[np.bool_]:
    """Return where a state is not known: in gaps of the weather and shortly after them.

    Args:
        known: (step, row) whether everything the balance needs is there.
        steps_after: how many steps the state stays unknown after a gap.
    """
    unknown = ~known
    for late in range(1, steps_after + 1):
        unknown[late:] |= ~known[:-late]
    return unknown

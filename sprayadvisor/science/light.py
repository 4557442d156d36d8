"""Daylight for judging colour, from the sun's radiation."""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import overload

import numpy as np

from sprayadvisor.science.ranges import Floats, Values, elementwise

# Lumens per watt of daylight, measured over one year at Garston, UK: Littlefair 1988. Global, all
# skies together (107 under a clear one). Diffuse: 144 clear to 115 overcast; the smaller is kept,
# because a card judged in too little light costs more than one moved under the lamp.
GLOBAL_EFFICACY_LM_W = 109.0
DIFFUSE_EFFICACY_LM_W = 115.0

LOW_SUN_DEG = 8.0  # trade judgement: below it the sun shines into the eyes and yellows the card
SUNSHINE_DNI_WM2 = 120.0  # World Meteorological Organization's threshold of sunshine


@overload
def illuminance_lx(ghi_wm2: float) -> float: ...
@overload
def illuminance_lx(ghi_wm2: Floats) -> Floats: ...
@elementwise
def illuminance_lx(ghi_wm2: Values) -> Values:
    """Return the daylight on a level surface, lx.

    Args:
        ghi_wm2: global horizontal radiation, W/m².
    """
    return GLOBAL_EFFICACY_LM_W * ghi_wm2


@overload
def diffuse_illuminance_lx(dhi_wm2: float) -> float: ...
@overload
def diffuse_illuminance_lx(dhi_wm2: Floats) -> Floats: ...
@elementwise
def diffuse_illuminance_lx(dhi_wm2: Values) -> Values:
    """Return the daylight on a level surface in the shade of the sun alone, lx.

    Args:
        dhi_wm2: diffuse horizontal radiation, W/m².
    """
    return DIFFUSE_EFFICACY_LM_W * dhi_wm2


@overload
def low_sun(sun_elevation_deg: float, dni_wm2: float) -> float: ...
@overload
def low_sun(sun_elevation_deg: Values, dni_wm2: Values) -> Floats: ...
@elementwise
def low_sun(sun_elevation_deg: Values, dni_wm2: Values) -> Values:
    """Return 1 where a low sun shines directly, else 0; NaN where either is unknown.

    A low sun behind cloud is good light: a rule on its height alone would forbid winter.

    Args:
        sun_elevation_deg: height of the sun above the horizon, degrees.
        dni_wm2: direct radiation square to the sun, W/m².
    """
    height, beam = np.asarray(sun_elevation_deg), np.asarray(dni_wm2)
    low = (height > 0.0) & (height < LOW_SUN_DEG) & (beam > SUNSHINE_DNI_WM2)
    return np.where(np.isnan(height) | np.isnan(beam), np.nan, low)

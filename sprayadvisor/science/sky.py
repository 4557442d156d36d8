"""Long-wave radiation of the sky, from what a forecast gives: temperature, humidity, sun, cloud.

How cloud is handled matters about three times more than which clear-sky formula is used. A clear,
humid summer night is covered by published averages only, not by rows of our own.

Scalars or arrays that broadcast; a float for scalars; NaN in gives NaN out.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import overload

import numpy as np

from sprayadvisor.science.humidity import vapour_pressure_hpa
from sprayadvisor.science.ranges import Floats, Values, elementwise

STEFAN_BOLTZMANN_WM2K4 = 5.670374419e-8  # CODATA 2018
KELVIN = 273.15  # 0 °C in K
# Below this clear-sky value the ratio of two small numbers says nothing (engineering estimate).
_LEAST_CLEAR_GHI_WM2 = 20.0
# Sun elevations between which trust passes from the forecast's cloud to the one told by the
# radiation; half and half at 10° (engineering estimate).
_CLOUD_BLEND_DEG = (5.0, 15.0)


@overload
def clear_sky_emissivity(air_temp_c: float, rh_pct: float) -> float: ...
@overload
def clear_sky_emissivity(air_temp_c: Values, rh_pct: Values) -> Floats: ...
@elementwise
def clear_sky_emissivity(air_temp_c: Values, rh_pct: Values) -> Values:
    """Return the emissivity of a cloudless sky, seen from the ground, 0 to 1.

    Args:
        air_temp_c: air temperature near the ground, °C.
        rh_pct: relative humidity over water, %.

    Source: Prata 1996, ε = 1 − (1 + w) exp(−√(1.2 + 3 w)), w = 46.5 e/T the precipitable water in
    cm from vapour pressure e (hPa) and temperature T (K).
    """
    water_cm = 46.5 * vapour_pressure_hpa(air_temp_c, rh_pct) / (air_temp_c + KELVIN)
    return 1.0 - (1.0 + water_cm) * np.exp(-np.sqrt(1.2 + 3.0 * water_cm))


@overload
def cloud_fraction_from_sun(ghi_wm2: float, clear_ghi_wm2: float) -> float: ...
@overload
def cloud_fraction_from_sun(ghi_wm2: Values, clear_ghi_wm2: Values) -> Floats: ...
@elementwise
def cloud_fraction_from_sun(ghi_wm2: Values, clear_ghi_wm2: Values) -> Values:
    """Return the effective cloud fraction told by the missing sunshine, 0 to 1.

    Args:
        ghi_wm2: global horizontal radiation, W/m².
        clear_ghi_wm2: the same under a cloudless sky, W/m²; below 20 the answer is NaN.

    Source: Crawford & Duchon 1999, 1 − GHI/GHI_clear, clipped.
    """
    cloud = np.clip(1.0 - ghi_wm2 / np.asarray(clear_ghi_wm2), 0.0, 1.0)
    return np.where(np.asarray(clear_ghi_wm2) >= _LEAST_CLEAR_GHI_WM2, cloud, np.nan)


@overload
def effective_cloud_fraction(
    ghi_wm2: float, clear_ghi_wm2: float, sun_elevation_deg: float, cloud_fraction: float
) -> float: ...
@overload
def effective_cloud_fraction(
    ghi_wm2: Values, clear_ghi_wm2: Values, sun_elevation_deg: Values, cloud_fraction: Values
) -> Floats: ...
@elementwise
def effective_cloud_fraction(
    ghi_wm2: Values, clear_ghi_wm2: Values, sun_elevation_deg: Values, cloud_fraction: Values
) -> Values:
    """Return the cloud fraction for the long-wave balance, by day and by night, 0 to 1.

    From the radiation while the sun stands above 15°, the forecast's own below 5°, and in between
    a blend that is half and half at 10°: a low sun's radiation is small, and hills and haze take
    more of it than cloud. What carries no weight may be missing.

    Args:
        ghi_wm2: global horizontal radiation, W/m².
        clear_ghi_wm2: the same under a cloudless sky, W/m².
        sun_elevation_deg: elevation of the sun, degrees.
        cloud_fraction: the forecast's cloud cover, 0 to 1.
    """
    low, high = _CLOUD_BLEND_DEG
    weight = np.clip((np.asarray(sun_elevation_deg) - low) / (high - low), 0.0, 1.0)
    by_sun = cloud_fraction_from_sun(ghi_wm2, clear_ghi_wm2)
    blend = weight * by_sun + (1.0 - weight) * cloud_fraction
    return np.where(weight == 0.0, cloud_fraction, np.where(weight == 1.0, by_sun, blend))


@overload
def longwave_down_wm2(air_temp_c: float, rh_pct: float, cloud_fraction: float) -> float: ...
@overload
def longwave_down_wm2(air_temp_c: Values, rh_pct: Values, cloud_fraction: Values) -> Floats: ...
@elementwise
def longwave_down_wm2(air_temp_c: Values, rh_pct: Values, cloud_fraction: Values) -> Values:
    """Return the long-wave radiation a flat surface gets from the whole sky, W/m².

    Cloud is taken as a black body at air temperature: ε = c + (1 − c) ε_clear (Crawford & Duchon
    1999). High cold cloud sends less than that, so a night under cirrus is a little too warm.

    Args:
        air_temp_c: air temperature near the ground, °C.
        rh_pct: relative humidity over water, %.
        cloud_fraction: effective cloud fraction, 0 to 1.
    """
    clear = clear_sky_emissivity(air_temp_c, rh_pct)
    emissivity = cloud_fraction + (1.0 - cloud_fraction) * clear
    return emissivity * STEFAN_BOLTZMANN_WM2K4 * (air_temp_c + KELVIN) ** 4


@overload
def sky_temp_c(longwave_down_wm2: float) -> float: ...
@overload
def sky_temp_c(longwave_down_wm2: Floats) -> Floats: ...
@elementwise
def sky_temp_c(longwave_down_wm2: Values) -> Values:
    """Return the temperature of a black sky that would send this radiation, °C.

    Args:
        longwave_down_wm2: long-wave radiation from the whole sky, W/m².
    """
    kelvin: Values = (longwave_down_wm2 / STEFAN_BOLTZMANN_WM2K4) ** 0.25
    return kelvin - KELVIN

"""Convection between a panel and the air: wind, lee, and what is left of it in a calm.

    h = share × (5.7 + 3.8 v × side) + (1 − share) × natural(ΔT, tilt)
    share = wind at the panel ÷ 0.5 m/s, at most 1

Published sets differ by a factor of two to three. The central value is McAdams at the wind of gun
height, from 0.5 m/s upwards whole; the members vary it. In a calm its 5.7 W/m²K, measured in the
unsettled air of a tunnel, gives way to natural convection, which is weak over a panel that is
colder than the air: low convection is the cautious side for dew by night and for heat by day.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from typing import overload

import numpy as np

from sprayadvisor.science.ranges import Floats, Values, elementwise

# McAdams, W/m²K and J/m³K, as in the EnergyPlus Engineering Reference, outside surface balance.
MCADAMS_CALM, MCADAMS_WIND = 5.7, 3.8
LEE_SHARE = 0.5  # forced convection in the lee over that to windward; TARP, same reference
FULL_WIND_MS = 0.5  # from here on the wind rules alone (engineering estimate)
DRIFT_MS = 0.2  # air outdoors is never quite still (engineering estimate)


@overload
def exposure(tilt_deg: float, azimuth_deg: float, wind_from_deg: float) -> float: ...
@overload
def exposure(tilt_deg: Values, azimuth_deg: Values, wind_from_deg: Values) -> Floats: ...
@elementwise
def exposure(tilt_deg: Values, azimuth_deg: Values, wind_from_deg: Values) -> Values:
    """Return the share of the wind's convection left on this side of the car, 0.5 to 1.

    It falls smoothly to ``LEE_SHARE`` on an upright panel that the wind comes at from behind, and
    stays 1 on one that faces the sky. An unknown direction gives 1: no lee is claimed.

    Args:
        tilt_deg: angle between the panel's normal and the zenith, °.
        azimuth_deg: bearing the panel faces, °.
        wind_from_deg: bearing the wind comes from, °.
    """
    behind = np.maximum(-np.cos(np.radians(wind_from_deg - azimuth_deg)), 0.0)
    share: Values = 1.0 - (1.0 - LEE_SHARE) * np.sin(np.radians(tilt_deg)) * behind
    return np.where(np.isnan(wind_from_deg), 1.0, share)


@overload
def wind_share(wind_ms: float) -> float: ...
@overload
def wind_share(wind_ms: Floats) -> Floats: ...
@elementwise
def wind_share(wind_ms: Values) -> Values:
    """Return how far the wind rules convection, from 0.4 in a calm to 1.

    Args:
        wind_ms: mean wind at the panel, m/s.
    """
    share: Values = np.clip(wind_ms, DRIFT_MS, FULL_WIND_MS) / FULL_WIND_MS
    return share


@overload
def mcadams_wm2k(wind_ms: float, exposed: float = ...) -> float: ...
@overload
def mcadams_wm2k(wind_ms: Values, exposed: Values = ...) -> Floats: ...
@elementwise
def mcadams_wm2k(wind_ms: Values, exposed: Values = 1.0) -> Values:
    """Return McAdams' coefficient, W/m²K.

    Args:
        wind_ms: mean wind at the panel, m/s; in a calm the drift of outdoor air.
        exposed: from ``exposure``.

    >>> mcadams_wm2k(2.0)
    13.3
    """
    return MCADAMS_CALM + MCADAMS_WIND * np.maximum(wind_ms, DRIFT_MS) * exposed


def natural_coefficients(tilt_deg: Floats) -> tuple[Floats, Floats]:
    """Return the factors of |ΔT|^⅓ for a panel warmer and one colder than the air, W/m²K^(4/3).

    Args:
        tilt_deg: angle between the panel's normal and the zenith, °, up to 90.

    Source: TARP/Walton as in the EnergyPlus Engineering Reference: 9.482/(7.283 − |cos Σ|) where
    the air is stirred (hot facing up), 1.810/(1.382 + |cos Σ|) where it lies still (cold facing
    up); both are 1.31 on an upright panel.
    """
    upward = np.abs(np.cos(np.radians(tilt_deg)))
    return 9.482 / (7.283 - upward), 1.810 / (1.382 + upward)


@overload
def convection_wm2k(wind_ms: float, excess_k: float, tilt_deg: float) -> float: ...
@overload
def convection_wm2k(wind_ms: Values, excess_k: Values, tilt_deg: Values) -> Floats: ...
@elementwise
def convection_wm2k(wind_ms: Values, excess_k: Values, tilt_deg: Values) -> Values:
    """Return the whole coefficient, without lee, W/m²K.

    Args:
        wind_ms: mean wind at the panel, m/s.
        excess_k: panel minus air temperature, K.
        tilt_deg: angle between the panel's normal and the zenith, °.
    """
    warm, cold = natural_coefficients(np.asarray(tilt_deg))
    natural = np.where(np.asarray(excess_k) > 0, warm, cold) * np.cbrt(np.abs(excess_k))
    share = wind_share(wind_ms)
    return share * mcadams_wm2k(wind_ms) + (1.0 - share) * natural

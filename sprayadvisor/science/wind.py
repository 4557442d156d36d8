"""Wind where the gun is, from the forecast's wind at 10 m over open ground."""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from functools import reduce
from typing import overload

import numpy as np

from sprayadvisor.errors import InputError
from sprayadvisor.science.quantities import STEP_MIN
from sprayadvisor.science.ranges import Floats, Values, elementwise

GUN_HEIGHT_M = 1.5
# Mean and gust at 1.5 m as a share of the 10 m value. The means of open ground and suburb are the
# ASHRAE boundary layers at 1.5 m. The rest is trade judgement: streets channel and corners swirl,
# so that in dense streets the profile's 0.24 would promise a calm that is not there.
_GUN_HEIGHT: dict[str, tuple[float, float]] = {
    "open": (0.77, 0.90),
    "suburb": (0.47, 0.60),
    "dense": (0.35, 0.50),
}

# Lower bounds of Beaufort 1 to 12 at 10 m, m/s. World Meteorological Organization, value from
# memory. 2 is felt on the face, 4 raises dust and loose paper.
BEAUFORT_FROM_MS = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)

# How far from the line of the wind a mist still lands: it fans out, and the forecast's direction is
# good to about 30° (trade judgement).
MIST_SPREAD_DEG = 45.0

_SUSTAINED_STEPS = 120 // STEP_MIN  # two hours running


def gun_height_factor(surroundings: str) -> tuple[float, float]:
    """Return mean wind and gust at gun height as shares of the 10 m values.

    Args:
        surroundings: ``open``, ``suburb`` or ``dense``.

    Raises:
        InputError: the word is none of these.
    """
    try:
        return _GUN_HEIGHT[surroundings]
    except KeyError:
        known = ", ".join(_GUN_HEIGHT)
        raise InputError(f"surroundings is {surroundings!r}; it must be one of {known}.") from None


@overload
def beaufort(wind_10m_ms: float) -> float: ...
@overload
def beaufort(wind_10m_ms: Floats) -> Floats: ...
@elementwise
def beaufort(wind_10m_ms: Values) -> Values:
    """Return the Beaufort number of a mean wind at 10 m, 0 to 12, as a float so that NaN stays.

    Args:
        wind_10m_ms: mean wind at 10 m, m/s.
    """
    number = np.searchsorted(BEAUFORT_FROM_MS, wind_10m_ms, side="right")
    return np.where(np.isnan(wind_10m_ms), np.nan, number)


@overload
def mist_reaches(wind_from_deg: float, *, side_deg: float) -> float: ...
@overload
def mist_reaches(wind_from_deg: Floats, *, side_deg: float) -> Floats: ...
@elementwise
def mist_reaches(wind_from_deg: Values, *, side_deg: float) -> Values:
    """Return 1 where the wind carries mist towards a side, else 0; NaN where it is unknown.

    Args:
        wind_from_deg: where the wind comes from, degrees clockwise from north.
        side_deg: bearing of the side, seen from the car, degrees.
    """
    towards = np.asarray(wind_from_deg) + 180.0
    off = np.abs((towards - side_deg + 180.0) % 360.0 - 180.0)
    return np.where(np.isnan(off), np.nan, off <= MIST_SPREAD_DEG)


def gust_sustained_ms(gust_ms: Floats) -> Floats:
    """Return the level that gusts keep for two hours running around each step, m/s.

    An hourly gust is one puff, and a coat takes a minute or three. For each step, of all two-hour
    stretches that contain it, the one with the largest smallest gust is taken: a single gusty hour
    leaves no mark, two hours running do. On a grid shorter than two hours the whole grid is the
    stretch. Stretches with a gap are left out; where every one has a gap, the answer is NaN.

    Args:
        gust_ms: gusts, m/s; the last axis is the step of a quarter hour.

    Returns:
        Array of the same shape, nowhere above ``gust_ms``.
    """
    steps = gust_ms.shape[-1]
    length = min(_SUSTAINED_STEPS, steps)
    if not length:
        return gust_ms.copy()
    smallest = _over_stretches(np.minimum, gust_ms, length)
    edge = [(0, 0)] * (gust_ms.ndim - 1) + [(length - 1, length - 1)]
    known = np.pad(np.where(np.isnan(smallest), -np.inf, smallest), edge, constant_values=-np.inf)
    kept = _over_stretches(np.maximum, known, length)
    return np.where(np.isneginf(kept), np.nan, kept)


def _over_stretches(take: np.ufunc, values: Floats, length: int) -> Floats:
    """Return what ``take`` leaves of every ``length`` steps running.

    Whole arrays, shifted, are taken together: many times quicker than a window at every step.
    """
    stretches = values.shape[-1] - length + 1
    shifted = (values[..., shift : shift + stretches] for shift in range(length))
    return np.asarray(reduce(take, shifted))

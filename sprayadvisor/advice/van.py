"""How cold a parked van gets at night and how hot by day, with the paint in it.

A simple state model: the load space follows a temperature of rest with a lag. That is the air's,
less what the roof radiates away under a clear dark sky, plus what the sun puts in. Every number in
it is an engineering estimate for a panel van without windows at the back; none is measured.
"""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import NamedTuple

import numpy as np

from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.outlook import Floats, Outlook
from sprayadvisor.science.quantities import STEP_MIN

LAG_H = 2.0
CLEAR_NIGHT_LOSS_K = 2.0
SUN_GAIN_K_PER_WM2 = 15.0 / 800.0
_DARK_WM2 = 50.0  # the sky's loss fades away up to this much daylight
_NIGHT = (time(18), time(8))
_DAY = (time(8), time(20))


class VanTemps(NamedTuple):
    """Lowest temperature of a night and highest of a day in the van, °C; NaN where not known."""

    low_c: float = float("nan")
    high_c: float = float("nan")


def van_temp_c(air_temp_c: Floats, cloud_fraction: Floats, ghi_wm2: Floats) -> Floats:
    """Return (step,) the temperature in a parked van; NaN where the weather is not known.

    Args:
        air_temp_c: (step,) air temperature.
        cloud_fraction: (step,) cloud cover, 0 to 1.
        ghi_wm2: (step,) sunshine on the level.
    """
    dark = np.clip(1.0 - ghi_wm2 / _DARK_WM2, 0.0, 1.0)
    rest = air_temp_c - CLEAR_NIGHT_LOSS_K * (1.0 - cloud_fraction) * dark
    rest = rest + SUN_GAIN_K_PER_WM2 * ghi_wm2
    taken_up = 1.0 - np.exp(-STEP_MIN / 60.0 / LAG_H)
    found = np.full_like(rest, np.nan)
    state = np.nan
    for step in np.flatnonzero(np.isfinite(rest)):  # over a gap the van keeps what it had
        state = rest[step] if np.isnan(state) else state + taken_up * (rest[step] - state)
        found[step] = state
    return found


def van_temps(outlook: Outlook, evening: date, day: date, zone: str) -> VanTemps:
    """Return the lowest and the highest temperature in a van parked where the outlook is for.

    Args:
        outlook: the weather there.
        evening: the night that begins on this local day is asked about.
        day: the local day whose heat is asked about.
        zone: zone of the days.
    """
    met = van_temp_c(outlook["air_temp_c"], outlook["cloud_fraction"], outlook["ghi_wm2"])
    night = _between(outlook, met, evening, _NIGHT[0], evening + timedelta(days=1), _NIGHT[1], zone)
    warm = _between(outlook, met, day, _DAY[0], day, _DAY[1], zone)
    return VanTemps(
        float(night.min()) if night.size else float("nan"),
        float(warm.max()) if warm.size else float("nan"),
    )


def _between(
    outlook: Outlook, met: Floats, first: date, begin: time, last: date, end: time, zone: str
) -> Floats:
    """Return what lies between two local times."""
    steps = [
        max(outlook.minute_of(local_time(day, clock, zone)) // STEP_MIN, 0)
        for day, clock in ((first, begin), (last, end))
    ]
    return met[steps[0] : steps[1]]

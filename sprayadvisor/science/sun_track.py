"""The sun over a whole grid, for many places at once and only once.

The radiation of a forecast, the panels of a job and each way of doing it otherwise ask for the same
sun. Most of what it takes to place it hangs on time alone, so that a dozen places in one call cost
little more than one.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.science.sun import SunPosition, sun_position

Place = tuple[float, float, float]  # latitude and longitude, degrees; height above the sea, m
MOST_KEPT = 256  # a fortnight of quarter hours is 40 kB
_kept: dict[tuple[bytes, Place], SunPosition] = {}


def sun_tracks(times_utc: NDArray[np.datetime64], places: Sequence[Place]) -> list[SunPosition]:
    """Return where the sun stands at each place, (step,) arrays that must not be written to.

    Args:
        times_utc: (step,) times, UTC.
        places: latitude, longitude and height of each; NaN gives NaN.
    """
    grid = times_utc.astype("datetime64[ms]").tobytes()
    missing = list(dict.fromkeys(place for place in places if (grid, place) not in _kept))
    fresh = dict(zip(missing, _placed(times_utc, missing), strict=True)) if missing else {}
    found = [fresh[place] if place in fresh else _kept[grid, place] for place in places]
    if len(_kept) + len(fresh) > MOST_KEPT:
        _kept.clear()
    _kept.update({(grid, place): track for place, track in fresh.items()})
    return found


def _placed(times_utc: NDArray[np.datetime64], places: Sequence[Place]) -> list[SunPosition]:
    """Return the tracks of some places, worked out together."""
    latitude, longitude, elevation_m = np.array(places).T[:, :, np.newaxis]
    together = sun_position(times_utc, latitude, longitude, elevation_m)
    for array in together:
        array.flags.writeable = False
    return [SunPosition(*rows) for rows in zip(*together, strict=True)]

"""From hourly forecast stamps to a grid of quarter hours.

    stamp        07:00               08:00               09:00
    instant        •───────────────────•───────────────────•      between two stamps
    mean, sum,     └── stamped 08:00 ──┘└── stamped 09:00 ─┘      the hour before the stamp
    maximum
    steps          07:00 :15  :30  :45  08:00 :15  :30  :45

Mixing the two kinds up is an error of one hour, which is why the kind is read from
``science.quantities`` and nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.errors import InputError
from sprayadvisor.science.quantities import QUANTITIES, STEP_MIN, Meaning
from sprayadvisor.science.ranges import Floats
from sprayadvisor.science.sun import clear_ghi_wm2, extraterrestrial_wm2
from sprayadvisor.science.sun_track import sun_tracks

if TYPE_CHECKING:
    import pandas as pd

STEPS_PER_HOUR = 60 // STEP_MIN
LONGEST_GAP_H = 3.0  # between valid stamps; a longer gap is not bridged (engineering estimate)

_STEP = np.timedelta64(STEP_MIN * 60, "s")  # in seconds, so that half of it is exact
_HOUR = np.timedelta64(1, "h")


@dataclass(frozen=True, slots=True)
class Grid:
    """Weather on quarter hours, without where it came from.

    Attributes:
        starts_utc: (step,) beginnings of the steps, ``datetime64[s]``, UTC.
        values: one (step,) float array for every name in ``QUANTITIES``; all NaN for a quantity
            the frame does not have.
        wet_hour_mm: (step,) rain of the whole hour the step lies in, mm.
    """

    starts_utc: NDArray[np.datetime64]
    values: dict[str, Floats]
    wet_hour_mm: Floats


@dataclass(frozen=True, slots=True)
class _SunShape:
    """How an hour's mean is shared among its steps: (hour, step of the hour) each."""

    weight: Floats
    limit: Floats


def to_grid(
    frame: pd.DataFrame, latitude: float, longitude: float, elevation_m: float | None = None
) -> Grid:
    """Return the quarter-hourly grid between the first and the last stamp of an hourly frame.

    Instants are interpolated to the middle of the step, over at most three hours between valid
    stamps; the wind's direction along the shorter way round, the weather code by the nearest
    stamp. Sums are split evenly and maxima held, so that totals are kept. Means of radiation are
    shared out by the sun's path so that the hour's mean is kept; an hour with a mean but without
    a sun is shared evenly. A missing value stays missing in every step it covers. A stamp that
    ``suspect_<quantity>`` marks is never bridged: nothing is known up to the stamps beside it.

    Args:
        frame: hourly, UTC index without gaps, columns named as in ``QUANTITIES``, with a boolean
            ``suspect_<quantity>`` beside any of them; others are left alone.
        latitude: degrees north.
        longitude: degrees east.
        elevation_m: metres above the sea; None counts as 0.

    Raises:
        InputError: the index is not hourly UTC with at least two stamps.
    """
    stamps = _hourly_stamps(frame)
    hours = len(stamps) - 1
    starts = stamps[0] + np.arange(hours * STEPS_PER_HOUR) * _STEP
    columns = {
        name: frame[name].to_numpy(dtype=np.float64, na_value=np.nan)
        if name in frame
        else np.full(hours + 1, np.nan)
        for name in QUANTITIES
    }
    shapes = _sun_shapes(starts, latitude, longitude, elevation_m or 0.0)
    values = {name: _steps(name, column, shapes) for name, column in columns.items()}
    for name, array in values.items():
        if QUANTITIES[name][0] is Meaning.INSTANT and f"suspect_{name}" in frame:
            doubted = frame[f"suspect_{name}"].to_numpy(dtype=bool)
            array[np.repeat(doubted[:-1] | doubted[1:], STEPS_PER_HOUR)] = np.nan
    return Grid(starts, values, np.repeat(columns["rain_mm"][1:], STEPS_PER_HOUR))


def _hourly_stamps(frame: pd.DataFrame) -> NDArray[np.datetime64]:
    """Return the stamps of a frame as ``datetime64[s]``, UTC."""
    import pandas as pd

    index = frame.index
    if not isinstance(index, pd.DatetimeIndex) or str(index.tz) != "UTC":
        raise InputError("The hourly frame has no UTC time index; convert its stamps to UTC first.")
    stamps = index.tz_localize(None).to_numpy().astype("datetime64[s]")
    if len(stamps) < 2 or np.any(np.diff(stamps) != _HOUR):
        raise InputError(
            "The hourly frame must have two stamps or more, one hour apart; reindex it first."
        )
    return stamps


def _steps(name: str, column: Floats, shapes: dict[str, _SunShape]) -> Floats:
    """Return one quantity on the steps, by what its stamps mean."""
    meaning = QUANTITIES[name][0]
    if meaning is Meaning.MEAN:
        return _share_out(column[1:], shapes[name]).ravel()
    if meaning is Meaning.SUM:
        return np.repeat(column[1:] / STEPS_PER_HOUR, STEPS_PER_HOUR)
    if meaning is Meaning.MAXIMUM:
        return np.repeat(column[1:], STEPS_PER_HOUR)
    if name == "weather_code":
        return _nearest(column)
    return _interpolate(column, turning=name == "wind_from_deg")


def _middles_h(stamps: int) -> Floats:
    """Return the middles of the steps, hours after the first stamp."""
    return (np.arange((stamps - 1) * STEPS_PER_HOUR) + 0.5) / STEPS_PER_HOUR


def _nearest(column: Floats) -> Floats:
    """Return the value of the nearest stamp for each step."""
    nearest: Floats = column[np.round(_middles_h(len(column))).astype(int)]
    return nearest


def _interpolate(column: Floats, *, turning: bool) -> Floats:
    """Return instants at the middles of the steps, on the circle if ``turning``."""
    middles = _middles_h(len(column))
    known = np.flatnonzero(~np.isnan(column))
    if not len(known):
        return np.full(len(middles), np.nan)
    after = np.searchsorted(known, middles)
    right = known[np.minimum(after, len(known) - 1)]
    left = known[np.maximum(after - 1, 0)]
    change = column[right] - column[left]
    if turning:
        change = (change + 180.0) % 360.0 - 180.0
    gap = right - left
    share = (middles - left) / np.maximum(gap, 1)
    between = column[left] + share * change
    if turning:
        between %= 360.0
    bridged = (gap > 0) & (gap <= LONGEST_GAP_H)  # no gap: before the first or after the last
    return np.where(bridged, between, np.nan)


def _sun_shapes(
    starts: NDArray[np.datetime64], latitude: float, longitude: float, elevation_m: float
) -> dict[str, _SunShape]:
    """Return how each radiation is shared out within an hour, and what a step can have at most.

    Global and diffuse follow clear-sky radiation; direct radiation follows the same divided by the
    sun's height, which is what a clear sky leaves of the beam. The limits are those of what is
    physically possible in the Baseline Surface Radiation Network (Long & Dutton 2002, value from
    memory): with the sun's height μ and radiation outside the air S, global 1.5 S μ^1.2 + 100,
    diffuse 0.95 S μ^1.2 + 50, direct S.
    """
    middles = starts + _STEP / 2
    (track,) = sun_tracks(middles, [(latitude, longitude, elevation_m)])
    zenith = track.zenith_deg
    height = np.maximum(np.cos(np.radians(zenith)), 0.0)
    clear = clear_ghi_wm2(zenith)
    beam = np.divide(clear, height, out=np.zeros_like(clear), where=height > 0.0)
    outside = extraterrestrial_wm2(middles)
    sunlit = outside * height**1.2
    by_hour = {
        "ghi_wm2": (clear, 1.5 * sunlit + 100.0),
        "dni_wm2": (beam, outside),
        "dhi_wm2": (clear, 0.95 * sunlit + 50.0),
    }
    return {
        name: _SunShape(weight.reshape(-1, STEPS_PER_HOUR), limit.reshape(-1, STEPS_PER_HOUR))
        for name, (weight, limit) in by_hour.items()
    }


def _share_out(means: Floats, shape: _SunShape) -> Floats:
    """Return (hour, step) values with the given hourly means, after the sun's path.

    What a step cannot hold goes to the others in their proportion. Where the sunlit steps together
    cannot hold it, the source sees another horizon than the formula does, and the hour is shared
    evenly.
    """
    total = (means * STEPS_PER_HOUR)[:, np.newaxis]
    full = np.zeros(shape.weight.shape, dtype=bool)
    for _ in range(STEPS_PER_HOUR + 1):  # each round but the last fills a step, or all is settled
        rest = total - np.where(full, shape.limit, 0.0).sum(axis=1, keepdims=True)
        weight = np.where(full, 0.0, shape.weight)
        whole = weight.sum(axis=1, keepdims=True)
        share = np.divide(weight, whole, out=np.zeros_like(weight), where=whole > 0.0)
        shared = np.where(full, shape.limit, rest * share)
        full |= shared > shape.limit
    kept = np.abs(shared.sum(axis=1, keepdims=True) - total) <= 1e-9 * np.maximum(total, 1.0)
    return np.where(kept, shared, total / STEPS_PER_HOUR)

"""The weather at one site over time, on a grid of quarter hours in UTC.

Step ``i`` is the quarter hour that begins at ``starts_utc[i]``. Instants are taken at its middle,
means hold over it, sums fall within it, and a maximum is the largest value the step may see.
A value that is missing or not to be trusted is NaN, and NaN never turns into a number again.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.science.quantities import PLAIN_NAMES

Floats = NDArray[np.float64]
Times = NDArray[np.datetime64]


def time_of(starts_utc: Times, minute: float) -> datetime:
    """Return the UTC time ``minute`` minutes after the beginning of a grid."""
    first_s = int(starts_utc[0].astype("datetime64[s]").astype(np.int64))
    return datetime.fromtimestamp(first_s, tz=UTC) + timedelta(minutes=float(minute))


def minute_of(starts_utc: Times, when: datetime) -> int:
    """Return whole minutes from the beginning of a grid to ``when`` (aware)."""
    return round((when - time_of(starts_utc, 0)).total_seconds() / 60)


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where a site's weather came from.

    Attributes:
        source: who made it, as printed to the reader.
        fetched_at: when it was fetched, UTC.
        quarter_hours_native: whether the source resolves quarter hours itself here; False means
            that they are interpolated from hours: a shower cannot be timed to the half hour.
        stale: whether this is an older answer used because a new one could not be had.
    """

    source: str
    fetched_at: datetime
    quarter_hours_native: bool = False
    stale: bool = False

    def age(self, now: datetime) -> timedelta:
        """Return how old the answer is."""
        return now - self.fetched_at


@dataclass(frozen=True, slots=True)
class Outlook:
    """Quarter-hourly weather at one site.

    Attributes:
        starts_utc: (step,) beginnings of the steps, ``datetime64[s]``, UTC, without gaps.
        values: one (step,) float array for each name in ``science.quantities.QUANTITIES``.
            ``rain_mm`` is the amount that falls in the step; the rule of rain looks at
            ``wet_hour_mm`` below.
        wet_hour_mm: (step,) amount of the whole hour a step lies in, mm: the forecast's own
            probability of rain is for more than 0.1 mm in an hour.
        provenance: where it came from.
        suspect: plain sentences about hours that failed a range or consistency check; their values
            are NaN.
        missing: names of required quantities that the source does not give at all here.
    """

    starts_utc: Times
    values: dict[str, Floats]
    wet_hour_mm: Floats
    provenance: Provenance
    suspect: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()

    def __len__(self) -> int:
        """Return the number of steps."""
        return len(self.starts_utc)

    def __getitem__(self, quantity: str) -> Floats:
        """Return the (step,) array of one quantity."""
        return self.values[quantity]

    def minute_of(self, when: datetime) -> int:
        """Return whole minutes from the beginning of the grid to ``when`` (aware)."""
        return minute_of(self.starts_utc, when)

    def time_of(self, minute: float) -> datetime:
        """Return the UTC time ``minute`` minutes after the beginning of the grid."""
        return time_of(self.starts_utc, minute)

    @property
    def lacks(self) -> str:
        """What is missing, as a person calls it; empty if nothing is."""
        return ", ".join(PLAIN_NAMES[name] for name in self.missing)

    @property
    def begins(self) -> datetime:
        """Beginning of the first step, UTC."""
        return time_of(self.starts_utc, 0)


@dataclass(frozen=True, slots=True)
class AirQuality:
    """Pollen and fine dust in the air at one site, hour by hour.

    Attributes:
        hours_utc: (hour,) ``datetime64[s]``, UTC, rising by an hour each.
        values: (hour,) arrays by name: ``pm10_ugm3`` and ``<plant>_pollen_m3``; NaN where unknown.
        provenance: where it came from.
    """

    hours_utc: Times
    values: dict[str, Floats]
    provenance: Provenance

    def at(self, name: str, times_utc: Times) -> Floats:
        """Return (step,) the value of the hour each time lies in, NaN outside what is known.

        Args:
            name: a name of ``values``.
            times_utc: (step,) times, UTC.
        """
        hour = (times_utc - self.hours_utc[0]) // np.timedelta64(1, "h")
        inside = (hour >= 0) & (hour < len(self.hours_utc))
        found: Floats = self.values[name][np.where(inside, hour, 0)]
        return np.where(inside, found, np.nan)

"""Finding a place by its name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

CREDIT = "Places: GeoNames (CC BY 4.0), by Open-Meteo.com"


@dataclass(frozen=True, slots=True)
class FoundPlace:
    """A place that a name may mean.

    Attributes:
        name: its name.
        within: where it lies, from the nearest to the widest: district, region, country.
        latitude: degrees north.
        longitude: degrees east.
        elevation_m: height above the sea, m; None if not known.
        zone: IANA time zone.
    """

    name: str
    within: tuple[str, ...]
    latitude: float
    longitude: float
    elevation_m: float | None
    zone: str


class PlaceFinder(Protocol):
    """Knows places by their names."""

    def find(self, name: str) -> Sequence[FoundPlace]:
        """Return what the name may mean, the likeliest first; empty if nothing.

        Raises:
            WeatherError: the search cannot be had.
        """
        ...

"""Finding towns and villages by name with the weather service's place search.

It knows no streets, and it is lax: a name may bring other names from other countries. So nothing
is ever chosen here; whoever asked picks one, or pastes coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Protocol

from sprayadvisor.adapters.open_meteo import strict_json
from sprayadvisor.errors import WeatherMalformed
from sprayadvisor.services.ports.places import FoundPlace

_MOST = 80  # letters kept of a name


class Asked(Protocol):
    """The client of the service."""

    def ask(self, query: Mapping[str, str]) -> bytes:
        """Return the answer to a question, or raise a ``WeatherError``."""
        ...


class PlaceSearch:
    """Place search over a client; see ``services.ports.places.PlaceFinder``.

    Args:
        client: asks the service.
    """

    def __init__(self, client: Asked) -> None:
        self._client = client

    def find(self, name: str) -> tuple[FoundPlace, ...]:
        """Return what the name may mean, the likeliest first; empty if nothing.

        A place without a zone or with impossible coordinates is left out.

        Raises:
            WeatherError: the search cannot be had, or its answer cannot be used.
        """
        content = strict_json.loads(self._client.ask({"name": name}))
        # No match at all is an answer without the key.
        results = content.get("results", []) if isinstance(content, Mapping) else None
        if not isinstance(results, list):
            raise WeatherMalformed(
                "The answer of the place search cannot be used: it holds no list of places; "
                "paste coordinates instead."
            )
        places = (_place(result) for result in results if isinstance(result, Mapping))
        return tuple(place for place in places if place is not None)


def _place(result: Mapping[str, object]) -> FoundPlace | None:
    """Return a place, None if it says too little; empty fields are left out by the service."""
    latitude, longitude = _number(result, "latitude", 90), _number(result, "longitude", 180)
    name, zone = _words(result, "name"), _words(result, "timezone")
    if latitude is None or longitude is None or not name or not zone:
        return None
    around = (_words(result, key) for key in ("admin3", "admin2", "admin1", "country"))
    return FoundPlace(
        name=name,
        within=tuple(dict.fromkeys(word for word in around if word and word != name)),
        latitude=latitude,
        longitude=longitude,
        elevation_m=_number(result, "elevation", 9000),
        zone=zone,
    )


def _number(result: Mapping[str, object], key: str, most: float) -> float | None:
    """Return a number of at most this size either way, None if it is none."""
    value = result.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if math.isfinite(value) and abs(value) <= most else None


def _words(result: Mapping[str, object], key: str) -> str:
    """Return a name on one line, empty if it is none."""
    value = result.get(key)
    text = value if isinstance(value, str) else ""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:_MOST]

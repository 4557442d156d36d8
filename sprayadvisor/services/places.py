"""Where a job is: from coordinates that were pasted, or from the name of a town."""

from __future__ import annotations

from dataclasses import dataclass

from sprayadvisor.errors import InputError
from sprayadvisor.services import typed
from sprayadvisor.services.ports.places import FoundPlace, PlaceFinder

_LEAST, _MOST = 2, 80  # the search knows nothing by a single letter


@dataclass(frozen=True, slots=True)
class Places:
    """Finding places by name.

    Attributes:
        finder: the search.
    """

    finder: PlaceFinder

    def find(self, name: str) -> tuple[FoundPlace, ...]:
        """Return the places a name may mean, the likeliest first; empty if there are none.

        Nothing is chosen: a search brings other names from other countries too. A place whose
        time zone this computer does not know is left out, since no hour there could be told.

        Raises:
            InputError: the name is too short or too long to look for.
            WeatherError: the search cannot be had.
        """
        wanted = typed.line(name, "place", _MOST)
        if len(wanted) < _LEAST:
            raise InputError("place: give at least two letters of a town, or paste coordinates.")
        return tuple(place for place in self.finder.find(wanted) if _has_known_zone(place))


def _has_known_zone(place: FoundPlace) -> bool:
    try:
        typed.zone(place.zone, "zone")
    except InputError:
        return False
    return True

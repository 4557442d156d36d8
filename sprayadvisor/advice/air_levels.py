"""How much of what lands in wet paint is about, in every step of a climate.

Levels are 0 low, 1 some, 2 high. A high one turns a go into care, and nothing here decides more. A
level that is not known is told as not known and held against nobody.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from sprayadvisor.advice.case import RAIN_HOUR_MM, Case, hours_since_soaked
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.model import Colour, Cover
from sprayadvisor.advice.outlook import AirQuality, Floats
from sprayadvisor.science import airborne, sun
from sprayadvisor.science.airborne import HAZARDS, Hazard
from sprayadvisor.science.wetness import hours_since

# Which hazard each quantity is the level of.
HAZARD_OF: MappingProxyType[str, str] = MappingProxyType(
    {
        "insect_level": "insects",
        "insect_lamp_level": "insects",
        "dust_level": "dust",
        "drip_level": "drips",
        "pollen_level": "pollen",
        "pm10_level": "pm10",
    }
)
LIGHT_COLOURS = frozenset({Colour.WHITE})  # of those we know, the one that draws flies
# The plants behind each of the kinds that pollen is graded by.
POLLEN_PLANTS: MappingProxyType[str, tuple[str, ...]] = MappingProxyType(
    {"tree": ("alder", "birch", "olive"), "grass": ("grass",), "weed": ("mugwort", "ragweed")}
)


def level_word(level: float) -> str:
    """Return a level as a word, ``not known`` for NaN."""
    return "not known" if np.isnan(level) else ("low", "some", "high")[round(level)]


def hazard_of(quantity: str) -> Hazard | None:
    """Return the words for what a quantity is the level of, None for any other quantity."""
    return HAZARDS[HAZARD_OF[quantity]] if quantity in HAZARD_OF else None


def unknown_as_low(values: Mapping[str, Floats]) -> dict[str, Floats]:
    """Return the levels among some quantities, with none where nothing is known.

    What cannot be known must not be a reason against a job; all that these levels hang on and a
    verdict needs has checks of its own.
    """
    return {name: np.nan_to_num(values[name]) for name in HAZARD_OF}


def air_levels(
    met: Mapping[str, Floats], case: Case, members: Members, air: AirQuality | None
) -> dict[str, Floats]:
    """Return (member, step) levels by quantity.

    Args:
        met: ``air_temp_c``, ``wind_ms``, ``gust_ms`` and ``sun_elevation_deg`` at the panel.
        case: site, cover and colour, and whether the car comes wet.
        members: for the rain and the time.
        air: pollen and fine dust; None where nothing is known of them.
    """
    shape = met["air_temp_c"].shape
    site, cover = case.site, case.covered_by
    rained = members.wet_hour_mm > RAIN_HOUR_MM
    # An hour without a value counts as whichever is worse: dry for dust, wet for drips.
    dry_h, wet_h = hours_since(rained), hours_since(rained | np.isnan(members.wet_hour_mm))
    outdoors = cover is not Cover.INDOORS  # neither rain nor passing cars reach in
    in_air = _from_air(air, members)
    return {
        **_insects(met, case, members),
        "dust_level": airborne.dust_level(
            met["gust_ms"], dry_h, ground=site.ground.value, traffic=site.kerb and outdoors
        ),
        "drip_level": airborne.drip_level(
            wet_h if outdoors else np.full_like(wet_h, np.inf),
            hours_since_soaked(case, members),
            trees=cover is Cover.TREES,
            kerb=site.kerb,
        ),
        **{name: np.broadcast_to(level, shape) for name, level in in_air.items()},
    }


def _insects(met: Mapping[str, Floats], case: Case, members: Members) -> dict[str, Floats]:
    """Return how many insects are about, with a lamp lit and without."""
    elevation = met["sun_elevation_deg"]
    to_sunset_h = sun.hours_to_sunset(elevation[0])
    months = members.starts_utc.astype("datetime64[M]").astype(np.int64)
    month = ((months + (6 if case.site.latitude < 0.0 else 0)) % 12 + 1).astype(np.float64)
    return {
        name: airborne.insect_level(
            met["air_temp_c"],
            met["wind_ms"],
            elevation,
            to_sunset_h,
            month,
            light_colour=case.panel.colour in LIGHT_COLOURS,
            lamp=lamp,
        )
        for name, lamp in (("insect_level", False), ("insect_lamp_level", True))
    }


def _from_air(air: AirQuality | None, members: Members) -> dict[str, Floats]:
    """Return (step,) levels of pollen and fine dust, NaN where they are not known."""
    if air is None:
        nothing = np.full(len(members.starts_utc), np.nan)
        return {"pollen_level": nothing, "pm10_level": nothing}
    times = members.starts_utc
    kinds = [
        airborne.pollen_level(
            _sum_of_known([air.at(f"{p}_pollen_m3", times) for p in plants]), kind=kind
        )
        for kind, plants in POLLEN_PLANTS.items()
    ]
    worst: Floats = np.fmax.reduce(kinds)
    return {
        "pollen_level": worst,
        "pm10_level": airborne.pm10_level(air.at("pm10_ugm3", times)),
    }


def _sum_of_known(parts: list[Floats]) -> Floats:
    """Return the sum of what is known, NaN where nothing is."""
    stacked = np.stack(parts)
    total: Floats = np.nansum(stacked, axis=0)
    return np.where(np.isnan(stacked).all(axis=0), np.nan, total)

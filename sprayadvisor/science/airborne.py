"""What lands in wet paint: insects, dust, drips, pollen and fine dust, each as a level.

Levels are 0 low, 1 some, 2 high, as floats so that NaN, unknown, stays. Alone they turn a go into
care, and never decide more than that. The scales are trade judgement unless a source is named;
where a published scale was made for health, it says so: nobody has published one for paint.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple, TypeVar, overload

import numpy as np

from sprayadvisor.errors import InputError
from sprayadvisor.science.ranges import Floats, Values, elementwise
from sprayadvisor.science.wind import BEAUFORT_FROM_MS

Entry = TypeVar("Entry")

LOW, SOME, HIGH = 0.0, 1.0, 2.0


class Hazard(NamedTuple):
    """Words for one thing that lands in wet paint.

    Attributes:
        name: what it is.
        some: why the level is *some*.
        high: why the level is *high*.
        action: the one thing that helps.
        scale: where the scale comes from.
    """

    name: str
    some: str
    high: str
    action: str
    scale: str


HAZARDS: MappingProxyType[str, Hazard] = MappingProxyType(
    {
        "insects": Hazard(
            "insects",
            "warm enough for small flies, and little wind",
            "warm and still: small flies at sunset, thunder flies in midday heat",
            "Get the clear on before or after; leave what lands alone, flat it out when hard.",
            "flight thresholds of aphids (Walters & Dixon 1984) and midges (Parasites & Vectors "
            "2018); the rest is trade judgement",
        ),
        "dust": Hazard(
            "dust",
            "dry ground and gusts, or traffic passing",
            "dry ground and gusts that lift it",
            "Wet the ground around the car ten minutes before, and let it settle.",
            "Beaufort 4 raises dust (World Meteorological Organization); the rest is trade "
            "judgement",
        ),
        "drips": Hazard(
            "drips",
            "water still sits in gaps and on the road",
            "water runs out of gaps, drips from trees or is thrown up by passing cars",
            "Blow out gaps and mirrors, move out from under the tree and back from the kerb.",
            "trade judgement",
        ),
        "pollen": Hazard(
            "pollen",
            "moderate pollen",
            "high pollen",
            "Tack right before the coat, and shut the canopy on the windward side.",
            "National Allergy Bureau classes, made for health, not for paint",
        ),
        "pm10": Hazard(
            "fine dust in the air",
            "more than the daily health guideline",
            "more than twice the daily health guideline",
            "Tack right before the coat, and use the quick clear.",
            "WHO 2021 daily guideline, made for health, not for paint",
        ),
    }
)

# Insects. Aphids do not take off at 10 °C and do at 16 °C (Walters & Dixon 1984); midges begin at
# 13 °C and peak at 16 to 18 °C just after sunset (Parasites & Vectors 2018). Wind, midday heat and
# season are trade judgement.
_NO_FLIGHT_C, _FULL_FLIGHT_C, _MIDDAY_HEAT_C = 10.0, 16.0, 22.0
_STILL_MS, _BREEZE_MS = 2.5, 4.0
_AROUND_SUNSET_H = 1.5
_HIGH_SUN_DEG, _DUSK_SUN_DEG = 35.0, 6.0
_FLYING_MONTHS = (5, 9)  # May to September

# Dust: gusts of Beaufort 3 move leaves, of Beaufort 4 raise dust and loose paper.
_DUST_SOME_MS, _DUST_HIGH_MS = BEAUFORT_FROM_MS[2], BEAUFORT_FROM_MS[3]
GROUND_WET_H, _GROUND_DAMP_H = 1.5, 12.0
_GROUND_DUST: dict[str, float] = {"paved": 0.0, "gravel": 1.0, "grass": -1.0}

_TREES_DRIP_H, _GAPS_WET_H = 1.0, 0.25  # after rain; trade judgement: 30–60 and 10–15 minutes
_SOAKED_H = 1.0  # after a wash or a wet road every gap is full: trade judgement, "within the hour"

# Lower bounds of *moderate* and *high* in grains/m³ over 24 h: National Allergy Bureau. Other
# services differ by a factor of 2 to 5.
POLLEN_BOUNDS: MappingProxyType[str, tuple[float, float]] = MappingProxyType(
    {"grass": (5.0, 20.0), "tree": (15.0, 90.0), "weed": (10.0, 50.0)}
)
PM10_GUIDELINE_UGM3 = 45.0  # WHO 2021, 24 h


@overload
def insect_level(
    air_temp_c: float,
    wind_ms: float,
    sun_elevation_deg: float,
    hours_to_sunset: float,
    month: float,
    *,
    light_colour: bool = ...,
    lamp: bool = ...,
) -> float: ...
@overload
def insect_level(
    air_temp_c: Values,
    wind_ms: Values,
    sun_elevation_deg: Values,
    hours_to_sunset: Values,
    month: Values,
    *,
    light_colour: bool = ...,
    lamp: bool = ...,
) -> Floats: ...
@elementwise
def insect_level(
    air_temp_c: Values,
    wind_ms: Values,
    sun_elevation_deg: Values,
    hours_to_sunset: Values,
    month: Values,
    *,
    light_colour: bool = False,
    lamp: bool = False,
) -> Values:
    """Return how many insects are about.

    High on warm still air around sunset and in still midday heat; one less outside May to
    September; one more, where any fly, for white, yellow or bright paint and for a lamp at dusk.

    Args:
        air_temp_c: air temperature, °C.
        wind_ms: mean wind at the gun, m/s.
        sun_elevation_deg: height of the sun above the horizon, degrees.
        hours_to_sunset: hours until the nearest sunset, negative after it, infinite without one.
        month: month of the northern year, 1 to 12; shift it by six south of the equator.
        light_colour: the paint is white, yellow or bright.
        lamp: a lamp is lit.
    """
    temp, wind, sun, away, season = np.broadcast_arrays(
        air_temp_c, wind_ms, sun_elevation_deg, np.abs(hours_to_sunset), month
    )
    still, sunset = wind < _STILL_MS, away <= _AROUND_SUNSET_H
    warm = temp >= _FULL_FLIGHT_C
    midday = (temp >= _MIDDAY_HEAT_C) & (sun >= _HIGH_SUN_DEG)
    some = (
        ((temp >= _NO_FLIGHT_C) & still & sunset)
        | (warm & still)
        | (warm & (wind < _BREEZE_MS) & sunset)
    )
    level = np.where(warm & still & (sunset | midday), HIGH, np.where(some, SOME, LOW))
    level -= (season < _FLYING_MONTHS[0]) | (season > _FLYING_MONTHS[1])
    drawn = light_colour | (lamp & (sun < _DUSK_SUN_DEG))
    level += drawn & (level >= SOME)
    return _known(np.clip(level, LOW, HIGH), temp, wind, sun, away, season)


@overload
def dust_level(
    gust_ground_ms: float, hours_since_rain: float, *, ground: str, traffic: bool = ...
) -> float: ...
@overload
def dust_level(
    gust_ground_ms: Values, hours_since_rain: Values, *, ground: str, traffic: bool = ...
) -> Floats: ...
@elementwise
def dust_level(
    gust_ground_ms: Values, hours_since_rain: Values, *, ground: str, traffic: bool = False
) -> Values:
    """Return how much dust the wind and the traffic lift.

    The gust near the ground is held to Beaufort bounds that were made for the mean at 10 m: on the
    cautious side. Ground still wet gives none, damp ground one less; gravel one more and grass one
    less where the wind lifts any; passing traffic one more, whatever the wind.

    Args:
        gust_ground_ms: gust near the ground, m/s.
        hours_since_rain: hours since it last rained, infinite if it has not, h.
        ground: ``paved``, ``gravel`` or ``grass``.
        traffic: cars pass within a few metres.

    Raises:
        InputError: an unknown ground.
    """
    on_ground = _looked_up("ground", ground, _GROUND_DUST)
    gust, dry_h = np.broadcast_arrays(gust_ground_ms, hours_since_rain)
    lifted = np.where(gust >= _DUST_HIGH_MS, HIGH, np.where(gust >= _DUST_SOME_MS, SOME, LOW))
    lifted = lifted + np.where(lifted >= SOME, on_ground, 0.0) - (dry_h < _GROUND_DAMP_H)
    level = np.clip(np.clip(lifted, LOW, HIGH) + traffic, LOW, HIGH)
    return _known(np.where(dry_h < GROUND_WET_H, LOW, level), gust, dry_h)


@overload
def drip_level(
    hours_since_rain: float, hours_since_soaked: float = ..., *, trees: bool = ..., kerb: bool = ...
) -> float: ...
@overload
def drip_level(
    hours_since_rain: Values,
    hours_since_soaked: Values = ...,
    *,
    trees: bool = ...,
    kerb: bool = ...,
) -> Floats: ...
@elementwise
def drip_level(
    hours_since_rain: Values,
    hours_since_soaked: Values = np.inf,
    *,
    trees: bool = False,
    kerb: bool = False,
) -> Values:
    """Return how likely water still falls on the panel after the rain has stopped.

    Args:
        hours_since_rain: hours since it last rained, infinite if it has not, h.
        hours_since_soaked: hours since the car came from a wash or a wet road, infinite if not, h.
        trees: the car stands under trees, which drip for an hour.
        kerb: the car stands at a kerb, and cars throw spray until the road is dry.
    """
    since, soaked = np.broadcast_arrays(hours_since_rain, hours_since_soaked)
    full = soaked < _SOAKED_H
    spray = full | (trees & (since < _TREES_DRIP_H)) | (kerb & (since < GROUND_WET_H))
    return _known(np.where(spray, HIGH, np.where(since < _GAPS_WET_H, SOME, LOW)), since, soaked)


@overload
def pollen_level(grains_m3: float, *, kind: str = ...) -> float: ...
@overload
def pollen_level(grains_m3: Floats, *, kind: str = ...) -> Floats: ...
@elementwise
def pollen_level(grains_m3: Values, *, kind: str = "grass") -> Values:
    """Return the pollen level on the scale of the National Allergy Bureau, made for health.

    Args:
        grains_m3: pollen in the air, grains/m³.
        kind: ``grass``, ``tree`` or ``weed``.

    Raises:
        InputError: an unknown kind.
    """
    some, high = _looked_up("kind", kind, POLLEN_BOUNDS)
    return _graded(grains_m3, some, high)


@overload
def pm10_level(pm10_ugm3: float) -> float: ...
@overload
def pm10_level(pm10_ugm3: Floats) -> Floats: ...
@elementwise
def pm10_level(pm10_ugm3: Values) -> Values:
    """Return the level of fine dust: some from the WHO's daily guideline, high from twice that.

    Args:
        pm10_ugm3: particles up to 10 µm, µg/m³.
    """
    return _graded(pm10_ugm3, PM10_GUIDELINE_UGM3, 2 * PM10_GUIDELINE_UGM3)


def _graded(amount: Values, some: float, high: float) -> Floats:
    """Return the level of an amount between two lower bounds."""
    value = np.asarray(amount)
    return _known(np.where(value >= high, HIGH, np.where(value >= some, SOME, LOW)), value)


def _known(level: Floats, *inputs: Floats) -> Floats:
    """Return the level, NaN where any input is."""
    unknown = np.zeros(np.shape(level), dtype=bool)
    for each in inputs:
        unknown |= np.isnan(each)
    return np.where(unknown, np.nan, level)


def _looked_up(name: str, word: str, table: Mapping[str, Entry]) -> Entry:
    """Return the entry of a word, or refuse it with the words that are known."""
    try:
        return table[word]
    except KeyError:
        known = ", ".join(table)
        raise InputError(f"{name} is {word!r}; it must be one of {known}.") from None

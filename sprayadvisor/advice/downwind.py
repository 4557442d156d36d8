"""What stands downwind of a site, and which of it the wind would cover with mist.

A neighbour's car can be cleaned; a person who breathes isocyanate mist may be ill for life. So
people are a stop, and things are a stop only above a light breeze. What is named in words that are
not in the table counts as people: it cannot be told that nobody stands there.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from sprayadvisor.advice.model import Cover, Site
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.science import wind

NOTHING, CARE, STOP = 0.0, 1.0, 2.0
LIGHT_BREEZE_BEAUFORT = 2.0  # above it the mist lands 5 to 15 m away: trade judgement
_CALM_BEAUFORT = 1.0  # below it no direction of a forecast means anything

SIDES: MappingProxyType[str, tuple[str, float]] = MappingProxyType(
    {
        "n": ("north", 0.0),
        "ne": ("north-east", 45.0),
        "e": ("east", 90.0),
        "se": ("south-east", 135.0),
        "s": ("south", 180.0),
        "sw": ("south-west", 225.0),
        "w": ("west", 270.0),
        "nw": ("north-west", 315.0),
    }
)
# What has nobody in it, or goes by: one word each, without its plural s. Trade judgement.
# fmt: off
THINGS = frozenset((
    "boat", "bush", "bike", "bin", "camper", "car", "caravan", "drain", "fence", "field",
    "garage", "greenhouse", "hedge", "lake", "lane", "lorry", "lorries", "motorhome", "parking",
    "pond", "river", "road", "sea", "shed", "stream", "street", "traffic", "trailer", "tree",
    "truck", "van", "vehicle", "wall", "washing", "water",
))
# What means people, whatever else is named with it: open windows above the neighbour's car.
PEOPLE = frozenset((
    "bench", "bus", "bedroom", "café", "cafe", "child", "children", "customer", "door",
    "entrance", "footpath", "garden", "gate", "guest", "kid", "kindergarten", "kitchen", "market",
    "nurseries", "nursery", "path", "pavement", "people", "playground", "pool", "pram", "queue",
    "school", "seat", "shop", "sidewalk", "terrace", "visitor", "walk", "window", "worker",
    "workshop",
))
# What says nothing about who may be there. Any other word beside a thing may mean people.
PLAIN = frozenset((
    "a", "an", "and", "another", "at", "behind", "big", "by", "drive", "her", "his", "in", "its",
    "my", "near", "neighbor", "neighbour", "next", "no", "of", "old", "on", "only", "or", "our",
    "parked", "s", "small", "the", "their", "to", "two", "with",
))
# fmt: on


class Side(NamedTuple):
    """A side of a site and what stands there."""

    name: str
    what: str
    people: bool


def means_people(what: str) -> bool:
    """Return whether people may be where these words say.

    A word that is not known may mean people, whatever thing is named with it: a hedge and a nursing
    home.

    Args:
        what: as the painter named it.
    """
    forms = [{word, word.removesuffix("s")} for word in re.findall(r"[^\W\d_]+", what.lower())]
    if any(form & PEOPLE or not form & (THINGS | PLAIN) for form in forms):
        return True
    return not any(form & THINGS for form in forms)


def downwind_level(site: Site, wind_from_deg: Floats, wind_10m_ms: Floats) -> Floats:
    """Return 0 where the mist reaches nothing that was named, 1 for care, 2 for stop.

    Care where the direction is not known or the air is calm, and where a light breeze carries the
    mist to things. NaN where it would go to things and the wind's speed is not known.

    Args:
        site: what stands on which side; indoors the mist stays indoors.
        wind_from_deg: (..., step) where the wind comes from.
        wind_10m_ms: (..., step) mean wind at 10 m.
    """
    level = np.zeros(np.broadcast_shapes(wind_from_deg.shape, wind_10m_ms.shape))
    if not site.downwind or site.cover is Cover.INDOORS:
        return level
    force = wind.beaufort(wind_10m_ms)
    onto_things = np.where(np.isnan(force), np.nan, CARE + (force > LIGHT_BREEZE_BEAUFORT))
    for side, what in site.downwind.items():
        reached = wind.mist_reaches(wind_from_deg, side_deg=SIDES[side][1]) == 1.0
        here = np.where(reached, STOP if means_people(what) else onto_things, NOTHING)
        level = np.maximum(level, here)
    no_direction = np.isnan(wind_from_deg) | (force < _CALM_BEAUFORT)
    return np.where(no_direction, CARE, level)


def reached_sides(site: Site, wind_from_deg: float) -> tuple[Side, ...]:
    """Return the named sides the mist goes to; all of them where the direction is not known.

    Args:
        site: what stands on which side.
        wind_from_deg: where the wind comes from, NaN where that is not known.
    """
    return tuple(
        Side(SIDES[side][0], what, means_people(what))
        for side, what in site.downwind.items()
        if wind.mist_reaches(wind_from_deg, side_deg=SIDES[side][1]) != 0.0
    )


def side_towards(wind_from_deg: float) -> str:
    """Return the name of the side the wind blows towards."""
    return side_at(wind_from_deg + 180.0)


def side_at(bearing_deg: float) -> str:
    """Return the name of the side a bearing points to."""
    return tuple(SIDES.values())[round(bearing_deg / 45.0) % len(SIDES)][0]

"""What stands downwind: people stop, things stop above a light breeze, the unknown is care."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from days import SITE

from sprayadvisor.advice.downwind import (
    SIDES,
    Side,
    downwind_level,
    means_people,
    reached_sides,
    side_towards,
)
from sprayadvisor.advice.model import Cover

NAN = float("nan")


def site(**sides: str):
    """Return a site with something on some sides."""
    return replace(SITE, downwind=MappingProxyType(sides))


def level(at, wind_from, wind=2.0):
    """Return the level of one wind."""
    return float(downwind_level(at, np.array([wind_from]), np.array([wind]))[0])


@pytest.mark.parametrize(
    ("what", "people"),
    [
        ("school gate", True),
        ("open windows", True),
        ("Playground", True),
        ("pavement", True),
        ("neighbour's cars", False),
        ("neighbours’ car", False),
        ("road", False),
        ("water", False),
        ("the river", False),
        ("cars under open windows", True),
        ("care home", True),
        ("hedge and nursing home", True),  # a thing beside it does not make it one
        ("parking, hospital behind", True),
        ("road with pedestrians", True),
        ("our old van behind the hedge", False),
        ("Mrs Penhale", True),  # nothing that is known to be a thing
        ("", True),
    ],
)
def test_words_tell_people_from_things(what, people):
    """People win over things, and what nobody can tell counts as people."""
    assert means_people(what) is people


@pytest.mark.parametrize(
    ("wind_from", "wind", "things", "people"),
    [
        (180.0, 2.0, 1.0, 2.0),  # a southerly light breeze blows it north
        (180.0, 3.3, 1.0, 2.0),
        (180.0, 3.4, 2.0, 2.0),  # Beaufort 3
        (225.0, 5.0, 2.0, 2.0),  # half a right angle off
        (226.0, 5.0, 0.0, 0.0),
        (0.0, 5.0, 0.0, 0.0),
        (NAN, 5.0, 1.0, 1.0),
        (0.0, 0.2, 1.0, 1.0),  # calm: no direction means anything
        (180.0, NAN, NAN, 2.0),
        (0.0, NAN, 0.0, 0.0),
    ],
)
def test_level_follows_wind_and_what_stands_there(wind_from, wind, things, people):
    """One side named, to the north."""
    np.testing.assert_equal(level(site(n="neighbour's cars"), wind_from, wind), things)
    np.testing.assert_equal(level(site(n="school gate"), wind_from, wind), people)


def test_the_worst_side_counts():
    """Cars to the north and a gate to the north-east: a southerly reaches both."""
    assert level(site(n="cars", ne="school gate"), 180.0) == 2.0
    assert level(site(n="cars", s="school gate"), 180.0) == 1.0


def test_where_nothing_is_named_or_the_mist_stays_inside_nothing_is_asked():
    """Not even the direction."""
    assert level(SITE, NAN, NAN) == 0.0
    assert level(replace(site(n="school gate"), cover=Cover.INDOORS), 180.0) == 0.0


def test_members_and_steps_keep_their_shape():
    """One wind and many members broadcast."""
    winds = np.array([[1.0, 4.0, 4.0], [6.0, 1.0, 1.0]])
    found = downwind_level(site(n="cars"), np.array([180.0, 180.0, 0.0]), winds)
    np.testing.assert_array_equal(found, [[1.0, 2.0, 0.0], [2.0, 1.0, 0.0]])


def test_sides_are_named_for_the_reader():
    """Those the mist goes to; all where the direction is not known."""
    at = site(n="cars", se="open windows")
    assert reached_sides(at, 190.0) == (Side("north", "cars", people=False),)
    assert reached_sides(at, 45.0) == ()
    assert [side.name for side in reached_sides(at, NAN)] == ["north", "south-east"]


@pytest.mark.parametrize("short", SIDES)
def test_the_wind_blows_towards_the_other_side(short):
    """A wind from one bearing blows to the opposite one."""
    name, bearing = SIDES[short]
    assert side_towards((bearing + 180.0) % 360.0) == name
    assert side_towards((bearing + 180.0 + 20.0) % 360.0) == name

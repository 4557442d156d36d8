"""What was read, against the sheet of the coat that comes next, and how long the lamp lasts."""

import math
from datetime import timedelta

import pytest
from at_car import FAIR, NOON, car, told
from days import catalogue, outlook

from sprayadvisor.advice.as_read import as_read
from sprayadvisor.advice.model import Colour, Panel, Part
from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.rest import stage_index
from sprayadvisor.advice.verdict import Word


def values(found):
    """Return the margins to the inside bound and the stop, by quantity."""
    return {
        one.check.quantity: (one.inside_margin, one.stop_margin) for one in found.as_read.values
    }


def test_what_was_read_is_held_against_the_next_coat_s_own_sheet():
    """Before base-warm the base counts, with the bounds its sheet prints."""
    limits = catalogue().sheets["base-solvent"].limits
    found = told("base-warm", panel_temp_c=14.0, air_temp_c=14.0, rh_pct=70.0, wind_ms=1.0)
    assert found.as_read.coat == "base, coat 1"
    assert values(found)["panel_temp_c"] == (
        14.0 - limits["panel_temp_c"].inside_min,
        14.0 - limits["panel_temp_c"].stop_min,
    )
    assert values(found)["rh_pct"][0] == limits["rh_pct"].inside_max - 70.0
    assert set(values(found)) == {"panel_temp_c", "rh_pct", "dew_margin_k", "wind_ms"}


def test_only_what_was_read_is_told_and_nothing_where_no_coat_is_ahead():
    """A margin to the dew point takes all three; in the bake no sheet of a coat is asked."""
    assert set(values(told("clear", panel_temp_c=16.0))) == {"panel_temp_c"}
    assert told("clear").as_read is None
    assert told("primer-lamp", panel_temp_c=50.0).as_read is None
    old = {"taken_at": NOON - timedelta(minutes=20)}
    assert told("clear", panel_temp_c=16.0, **old).as_read is None
    assert told("clear-lamp", panel_temp_c=40.0).as_read is None


def test_a_panel_that_was_not_read_is_named_where_it_is_too_cold_for_the_very_next_coat():
    """By the forecast; inside the sheet, or with work still to do before it, nothing is said."""
    cold = outlook(**FAIR | {"air_temp_c": 9.0, "ghi_wm2": 40.0, "dhi_wm2": 40.0})
    found = told("promoter", cold)
    (value,) = found.as_read.values
    assert (value.check.quantity, value.read) == ("panel_temp_c", False)
    assert value.inside_margin < 0.0
    assert told("promoter-warm", cold).as_read is None
    assert told("base").as_read is None


def test_the_lamps_stage_ends_when_the_panel_has_had_its_bake():
    """Heating up, then the sheet's minutes at the panel, in each place; plastic has its own."""
    found = told("clear-lamp", panel_temp_c=20.0).stage_now
    lamp = catalogue().sheets["clear-2k-quick"].lamp
    assert (found.kind, found.goal_temp_c, found.plastic) == ("bake", lamp.plastic_temp_c, True)
    assert found.hold_min == lamp.plastic_bake_min
    assert (found.ends_at - NOON).total_seconds() / 60 > lamp.plastic_bake_min
    assert (found.most_temp_c, found.read_temp_c) == (70.0, 20.0)
    cooling = told("clear-cool", panel_temp_c=50.0).stage_now
    assert (cooling.kind, cooling.goal_temp_c) == ("cool", 40.0)
    assert cooling.ends_at > NOON
    warm = told("base-warm").stage_now
    assert warm.kind == "warm"
    assert math.isnan(warm.read_temp_c)
    assert warm.most_temp_c == 70.0
    assert told("clear").stage_now is None


def test_where_the_metal_never_gets_warm_there_is_no_end():
    """In a gale no lamp bakes."""
    found = told("clear-lamp", outlook(**FAIR | {"wind_10m_ms": 30.0, "gust_10m_ms": 45.0}))
    assert found.word is Word.NO_GO
    assert found.stage_now.ends_at is None


def test_metal_bears_what_the_sheet_allows():
    """Without plastic the sheet's own hottest counts, and its bake on metal."""
    steel = car("clear-lamp", panels=(Panel(Part.LEFT_DOOR, Colour.BLUE),), process="door-scuff")
    lamp = steel.setup.sheets["clear"].lamp
    found = told("clear-lamp", of=steel).stage_now
    assert (found.plastic, found.most_temp_c) == (False, lamp.most_temp_c)
    assert found.goal_temp_c == lamp.metal_temp_c


@pytest.mark.parametrize("reading", [Reading(NOON), Reading(NOON, air_temp_c=14.0)])
def test_without_a_limit_there_is_nothing_to_hold_it_against(reading):
    """No sheet speaks of the air's temperature at the car."""
    here = car("clear")
    plan = here.setup.plan(here.policy)
    assert as_read(plan, stage_index(plan, here.ids), reading) is None

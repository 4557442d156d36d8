"""Readings against the sheet, and the lamp's times, in words."""

from dataclasses import replace
from datetime import timedelta

import pytest
from at_car import NOON, told

from sprayadvisor.advice.onsite_facts import StageNow
from sprayadvisor.render.told_onsite import tell_onsite
from sprayadvisor.units import Display

METRIC = Display()
CLEAR = told("clear")
BAKE = StageNow("bake", 55.0, 14.0, NOON + timedelta(minutes=25), 70.0, True, float("nan"))


def facts(found, display=METRIC):
    """Return the facts of an answer by label."""
    return dict(tell_onsite(found, display).facts)


def test_what_lies_outside_the_sheet_is_said_with_its_bounds():
    """Though something else decides: the painter has just read it."""
    said = facts(told("base", panel_temp_c=11.5, air_temp_c=13.0, rh_pct=70.0))["As read"]
    assert said.startswith("Panel temperature 11.5 °C: the sheet wants at least 12.0 °C, stop at ")
    assert "umidity" not in said
    imperial = facts(told("base", panel_temp_c=11.5), Display("f"))["As read"]
    assert imperial.startswith("Panel temperature 52.7 °F: the sheet wants at least 53.6 °F")


def test_what_lies_inside_is_said_in_one_line():
    """Nothing of what was not read."""
    found = facts(told("base", panel_temp_c=17.0, wind_ms=1.0))
    inside = "panel temperature and wind at the gun inside the sheet of “base, coat 1”."
    assert found["As read"] == inside
    assert "As read" not in facts(CLEAR)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "55 °C at the panel for 14 min each place, over by about 12:32."),
        ({"read_temp_c": 57.0}, "55 °C at the panel for 14 min each place, over by about 12:32."),
        (
            {"read_temp_c": 58.0},
            "58 °C read, 55 °C is the most: lamp back, plastic takes no more. 55 °C at the panel",
        ),
        ({"read_temp_c": 65.0, "plastic": False}, "55 °C at the panel for 14 min"),
        (
            {"read_temp_c": 73.0, "plastic": False},
            "73 °C read, 70 °C is the most: lamp back, the paint takes no more. 55 °C at the",
        ),
        ({"ends_at": None}, "the panel does not get to 55 °C in this weather."),
        (
            {"kind": "cool", "goal_temp_c": 40.0, "read_temp_c": 80.0},
            "down to 40 °C by about 12:32.",
        ),
        ({"kind": "warm", "goal_temp_c": 28.0}, "to 28 °C, by about 12:32; read it then."),
    ],
)
def test_the_lamp_is_told_with_its_end_and_when_it_must_go_back(changes, words):
    """Plastic bears no more than its bake, within what a thermometer is off by."""
    found = replace(CLEAR, stage_now=replace(BAKE, **changes))
    assert facts(found)["Lamp"].startswith(words)


def test_what_no_instrument_shows_is_told_as_said():
    """So that the answer can be read again for what it rests on."""
    found = told("base", wind_from_deg=92.0, all_clear=True)
    assert facts(found)["You said"] == (
        "Nobody is downwind, and what stands there is covered; the wind comes from the east."
    )
    assert "You said" not in facts(CLEAR)


def test_a_go_waits_in_large_letters_for_the_flash_off():
    """Far below the word it would be read after the gun is in the hand."""
    early = tell_onsite(told("clear", matt_at=NOON - timedelta(minutes=1)), METRIC)
    assert early.label.endswith("NOT YET")
    assert early.short.startswith("Not before 12:")
    over = told("clear", matt_at=NOON - timedelta(minutes=30))
    assert tell_onsite(over, METRIC).label.endswith("GO")
    assert facts(over)["Flash-off"].startswith("over by the clock, printed 12 min. One even matt")

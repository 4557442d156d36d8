"""Readings against the sheet, and the lamp's times, in words."""

from dataclasses import replace
from datetime import timedelta

import pytest
from at_car import FAIR, NOON, told
from days import BUMPER, outlook

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.model import Part
from sprayadvisor.advice.onsite_facts import StageNow
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.verdict import Word
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


def test_a_panel_by_the_forecast_is_told_as_that():
    """Nobody read it."""
    cold = outlook(**FAIR | {"air_temp_c": 9.0, "ghi_wm2": 40.0, "dhi_wm2": 40.0})
    assert (
        ", by the forecast: the sheet wants at least 15.0 °C"
        in facts(told("promoter", cold))["As read"]
    )


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
        ({"kind": "warm", "goal_temp_c": 28.0}, "to 28 °C, by about 12:32; read it then."),
    ],
)
def test_the_lamp_is_told_with_its_end_and_when_it_must_go_back(changes, words):
    """Plastic bears no more than its bake, within what a thermometer is off by."""
    found = replace(CLEAR, stage_now=replace(BAKE, **changes))
    assert facts(found)["Lamp"].startswith(words)


def deciding(quantity, value, share, *, minutes=0, panel=0, **bounds):
    """Return an answer to some readings in which a bound of a sheet decides at a minute."""
    found = told("base", outlook(**FAIR), panel_temp_c=17.0, rh_pct=84.0, wind_ms=1.0)
    check = Check(quantity, Origin("sheet", "Paint", 1, "1"), **bounds)
    minute = minute_of(found.judgement.climate.starts_utc, NOON) + minutes
    limiting = Limiting(check, 0, minute, value, -1.0, Level.INSIDE, share, panel)
    judgement = replace(found.judgement, word=Word.CARE, limiting=limiting, likelihood=(0.88, 0.97))
    return replace(found, word=Word.CARE, judgement=judgement)


def test_what_was_read_is_never_told_back_as_another_value():
    """Beyond the bound it is told as read; within it the instrument is named."""
    beyond = deciding("rh_pct", 87.0, 0.8, inside_max=80.0)
    assert facts(beyond)["Why"].startswith("Humidity 84 % at 12:07")
    assert "4 % beyond the sheet" in facts(beyond)["Why"]
    within = deciding("panel_temp_c", 14.4, 0.1, inside_min=15.0)
    assert facts(within)["Why"].startswith("In about 1 in 10 cases: panel temperature 14.4 °C at")
    assert facts(within)["Why"].endswith(
        "You read 17.0 °C: it may change within minutes, and instruments err."
    )
    assert "In about 1 in 10 cases it lies outside the sheets" in tell_onsite(within, METRIC).short


@pytest.mark.parametrize(
    "decides",
    [
        {"quantity": "panel_temp_c", "value": 14.4, "minutes": 60, "inside_min": 15.0},
        {"quantity": "dew_margin_k", "value": 2.0, "inside_min": 3.0},
    ],
)
def test_of_what_comes_later_or_was_not_read_nothing_is_said_of_the_instrument(decides):
    """An hour on it is the weather's doing, and the dew margin is worked out."""
    assert "You read" not in facts(deciding(share=0.1, **decides))["Why"]


def test_an_old_reading_is_not_told_beside_what_decides_now():
    """Twenty minutes on the panel is another one."""
    found = deciding("panel_temp_c", 14.4, 0.1, inside_min=15.0)
    old = replace(found.asked.reading, taken_at=NOON - timedelta(minutes=20))
    assert "You read" not in facts(replace(found, asked=replace(found.asked, reading=old)))["Why"]


def test_another_panel_than_the_one_that_was_read_is_told_as_it_is():
    """Its temperature is not known from the thermometer."""
    other = deciding("panel_temp_c", 14.4, 0.1, panel=1, inside_min=15.0)
    job = replace(other.job, panels=(BUMPER, replace(BUMPER, part=Part.ROOF)))
    other = replace(other, judgement=replace(other.judgement, job=job))
    assert "You read" not in facts(other)["Why"]


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
    lamp = facts(told("clear-lamp", matt_at=NOON - timedelta(minutes=1)))["Flash-off"]
    assert "Touch it on the tape beside: it no longer strings, whatever the clock says." in lamp
    rain = outlook(**FAIR, wet_hour_mm=3.0)
    stopped = facts(told("clear", rain, matt_at=NOON - timedelta(minutes=1)))["Flash-off"]
    assert stopped == "printed 12 min; it does not run to its end in this weather."
    over = told("clear", matt_at=NOON - timedelta(minutes=30))
    assert tell_onsite(over, METRIC).label.endswith("GO")
    assert facts(over)["Flash-off"].startswith("over by the clock, printed 12 min. One even matt")

"""The limiting check in words, and what goes wrong beyond it."""
# ruff: noqa: E501 - one row of the table a line

import math
from dataclasses import replace

import pytest
from days import job, plan_for

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import QUANTITY_WORDS, Check, Level
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.render.defects import defect
from sprayadvisor.render.limits import limiting_words
from sprayadvisor.units import Display

ORIGIN = Origin("sheet", "Quick 2K clear", 2, "r1")
PLAN = plan_for(job())


def limit(quantity, value, margin, level=Level.STOP, **bounds):
    """Return a limiting check at the first stage."""
    check = Check(quantity, ORIGIN, **bounds)
    return Limiting(check, 0, 0, value, margin, level, 1.0, 0)


RH = {"inside_max": 80.0, "stop_max": 88.0}
PANEL = {"inside_min": 15.0, "inside_max": 25.0, "stop_min": 8.0, "stop_max": 30.0}
SAID = [
    (limit("rh_pct", 92.0, -4.0, **RH), "92 %", "The sheet wants at most 80 %, stop at 88 %", "4 % beyond the stop"),
    (limit("rh_pct", 78.0, 2.0, Level.INSIDE, **RH), "78 %", "The sheet wants at most 80 %", "2 % in hand to the sheet"),
    (limit("panel_temp_c", 12.0, -3.0, Level.INSIDE, **PANEL), "12.0 °C", "The sheet wants at least 15.0 °C", "3.0 °C colder than the sheet wants"),
    (limit("panel_temp_c", 31.0, -1.0, **PANEL), "31.0 °C", "at most 25.0 °C", "1.0 °C above the stop"),
    (limit("panel_temp_c", math.nan, math.nan, **PANEL), "not known", "The sheet wants at least 15.0 °C, stop at 8.0 °C; the sheet wants at most 25.0", "rev. r1, p. 2)"),
    (limit("dew_margin_k", 1.5, -0.5, stop_min=2.0), "1.5 °C", "At least 2.0 °C, then stop", "0.5 °C beyond"),
    (limit("gust_ms", 9.0, -1.0, Level.INSIDE, inside_max=8.0), "9.0 m/s", "At most 8.0 m/s, with care beyond", "1.0 m/s beyond the sheet"),
    (limit("wet_hour_mm", 0.7, -0.6, stop_max=0.1), "rain 0.7 mm", "then stop", "any rain is too much"),
    (limit("wet_hour_mm", 0.0, 0.1, stop_max=0.1), "rain 0.0 mm", "then stop", "p. 2)"),
    (limit("off_hours", 1.0, -0.5, stop_max=0.5), "does not fit into the hours agreed", "11:40", "Quick 2K clear"),
    (limit("off_hours", 0.0, 0.5, stop_max=0.5), "within the hours agreed throughout", "", ""),
    (limit("low_sun", 0.0, 0.5, inside_max=0.5), "no low sun in the eye throughout", "", ""),
    (limit("downwind", 1.0, -0.5, inside_max=0.5, stop_max=1.5), "your mist may reach what", "11:40", ""),
    (limit("downwind", 2.0, -0.5, stop_max=1.5), "the wind takes your mist onto what", "11:40", ""),
    (limit("low_sun", 1.0, -0.5, Level.INSIDE, inside_max=0.5), "the sun stands low", "11:40", ""),
    (limit("drying", math.nan, math.nan), "is not over within a day", "too cold or too damp", ""),
    (limit("heating", math.nan, math.nan), "in this wind the lamp never gets", "11:40", ""),
    (limit("lamp_temp_c", 52.0, -8.0, stop_min=60.0), "metal under the lamp 52.0 °C", "At least 60.0 °C, then stop", "8.0 °C below the stop"),
    (limit("forecast", math.nan, math.nan), "the forecast does not reach to", "at 11:40", ""),
    (limit("elapsed_min", 70.0, -10.0, stop_max=60.0), "70 min", "At most 60 min, then stop", "10 min beyond"),
]  # fmt: skip


@pytest.mark.parametrize(("limiting", "value", "bounds", "margin"), SAID)
def test_value_bounds_and_margin_are_said(limiting, value, bounds, margin):
    """The sentence names value, both bounds on the side that counts, margin and origin."""
    words = limiting_words(limiting, PLAN, "11:40", Display())
    assert value in words
    assert bounds in words
    assert margin in words


def test_units_are_the_users():
    """Fahrenheit and miles an hour; a margin of temperatures has no offset."""
    display = Display("f", "mph")
    panel = limiting_words(
        limit("panel_temp_c", 12.0, -3.0, Level.INSIDE, **PANEL), PLAN, "1", display
    )
    assert "53.6 °F" in panel
    assert "5.4 °F colder" in panel
    gust = limit("gust_ms", 9.0, -1.0, Level.INSIDE, inside_max=8.0)
    assert "20.1 mph" in limiting_words(gust, PLAN, "1", display)


@pytest.mark.parametrize(
    "limiting", [said[0] for said in SAID if said[0].check.quantity != "forecast"]
)
def test_every_limit_has_a_defect_and_an_action(limiting):
    """Whatever limits, the painter is told what would be seen and what to do."""
    if math.isnan(limiting.value) and limiting.check.quantity not in ("drying", "heating"):
        return
    found = defect(limiting)
    assert found.seen
    assert found.action


def test_metal_that_was_warmed_and_is_cold_again_asks_for_more_lamp():
    """Not for the lamp that it had; metal too hot after it asks for shade as ever."""
    cold = limit("panel_temp_c", 12.0, -3.0, Level.INSIDE, inside_min=15.0)
    warmed = replace(cold, check=replace(cold.check, array="panel_temp_c at primer"))
    assert defect(warmed).seen == defect(cold).seen
    assert "hold the lamp on it longer" in defect(warmed).action
    hot = limit("panel_temp_c", 33.0, -3.0, Level.INSIDE, inside_max=30.0)
    after = replace(hot, check=replace(hot.check, array="hottest panel_temp_c after warm"))
    assert defect(after) == defect(hot)


def test_cold_and_hot_metal_go_wrong_differently():
    """Below its bound a panel runs, above it dries at the edge."""
    cold = defect(limit("panel_temp_c", 6.0, -2.0, **PANEL))
    hot = defect(limit("panel_temp_c", 33.0, -3.0, **PANEL))
    assert "runs" in cold.seen
    assert "dry edge" in hot.seen
    assert defect(limit("forecast", math.nan, math.nan)) is None
    assert "static" in defect(limit("rh_pct", 30.0, -5.0, stop_min=35.0)).seen


def test_every_quantity_has_words():
    """A new quantity needs a label and a scale."""
    assert all(words.label and words.scale > 0 for words in QUANTITY_WORDS.values())

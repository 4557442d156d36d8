"""The time without return, told at the car."""

from datetime import timedelta

from at_car import FAIR, NOON, told
from days import outlook

from sprayadvisor.render.told_onsite import tell_onsite
from sprayadvisor.units import Display


def facts(found):
    """Return the facts of an answer by label."""
    return dict(tell_onsite(found, Display()).facts)


def raining(mm=1.0):
    """Return a fair day with rain from now on."""
    weather = outlook(**FAIR)
    weather.wet_hour_mm[weather.minute_of(NOON) // 15 :] = mm
    return weather


def test_before_the_base_is_opened_it_is_said_for_how_long_there_is_no_way_back():
    """Until the bake is over; before stages that can be left, and behind it, nothing is said."""
    said = facts(told("base"))["No way back"]
    assert said.startswith("from here until about 13:")
    assert "rain radar before you open it" in said
    for stage in ("primer", "clear", "clear-lamp", "show"):
        assert "No way back" not in facts(told(stage))
    assert "No way back" not in facts(told("base", raining()))


def test_who_stands_before_an_open_base_is_told_what_to_do_with_it():
    """It cannot be left as it is; a base not yet on can."""
    open_ = facts(told("clear", raining()))["What now"]
    assert open_.startswith("Do not leave it: keep rain off")
    assert "lay the base again" in open_
    gale = outlook(**FAIR | {"wind_10m_ms": 15.0, "gust_10m_ms": 20.0})
    bake = facts(told("clear-lamp", gale))["What now"]
    assert "Leave the lamp off" in bake
    assert "base again" not in bake
    assert "Leave the lamp off" not in facts(told("clear-lamp", raining()))["What now"]
    late = facts(told("clear", raining(), matt_at=NOON - timedelta(hours=3)))["What now"]
    assert "ask again" not in late
    assert "lay the base again" in late
    assert "Cover it now" not in facts(told("polish", raining())).get("What goes wrong", "")
    for stage, weather in (("base", raining()), ("clear", None), ("primer", raining())):
        assert "What now" not in facts(told(stage, weather))

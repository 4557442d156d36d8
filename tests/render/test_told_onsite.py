"""The answer at the car in words: the answer first, cautions always."""

from dataclasses import replace
from datetime import time, timedelta

import pytest
from at_car import FAIR, NOON, car, told
from days import SITE, outlook

from sprayadvisor.advice.at_the_car import reading_alone
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.model import Cover
from sprayadvisor.advice.onsite import Danger, OnSiteAnswer, Reading
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.cautions import WEATHER_ONLY
from sprayadvisor.render.onsite_json import onsite_json
from sprayadvisor.render.told_onsite import danger_words, onsite_text, tell_onsite
from sprayadvisor.units import Display

METRIC = Display()


def facts(found, display=METRIC):
    """Return the facts of an answer by label."""
    return dict(tell_onsite(found, display).facts)


def rainy(hours):
    """Return a fair day with rain from so many hours after noon on."""
    weather = outlook(**FAIR)
    weather.wet_hour_mm[weather.minute_of(NOON + timedelta(hours=hours)) // 15 :] = 2.0
    return weather


def test_the_answer_comes_first_and_the_cautions_always():
    """Word with its shape, what it is about, how likely; then what stands behind it."""
    for found in (told(), told(wind_ms=6.0), told(panel_temp_c=60.0), told(shelter=Cover.INDOORS)):
        lines = onsite_text(found, METRIC).splitlines()
        assert lines[0].split("  ")[0][2:] in ("GO", "NO-GO", "UNKNOWN", "NOT JUDGED")
        assert lines[0].endswith(", 12:07")
        assert any(WEATHER_ONLY in line for line in lines)
    lines = onsite_text(told(), METRIC).splitlines()
    assert lines[0] == "● GO  T1, Hazel Court: clear, coat 1, 12:07"
    assert lines[1] == "About 8 in 10 that it fits until “lamp on the clear” is over."


def test_a_go_tells_margins_and_the_time_it_is_dust_free():
    """And what is nearest, even where the work is over by then."""
    found = facts(told("clear", rainy(3), panel_temp_c=18.0, air_temp_c=16.0, rh_pct=65.0))
    assert found["Now"] == "panel 18.0 °C, dew point 9.4 °C: 8.6 °C in hand."
    assert found["Dust-free"].startswith("in about ")
    assert found["Dust-free"].endswith("at the end of the bake.")
    assert found["Nearest danger"] == "rain from 15:00."
    assert "Tightest" in found
    assert "Why" not in found
    assert found["From the forecast"] == "wind 0.9 m/s; read it to be surer."
    assert "isocyanates" in " ".join(tell_onsite(told(), METRIC).cautions)


def test_a_no_tells_why_what_goes_wrong_and_what_would_help():
    """In the trade's words."""
    shower = outlook(**FAIR)
    step = shower.minute_of(NOON) // 15
    shower.wet_hour_mm[step : step + 2] = 0.6
    found = told("primer", shower)
    text = onsite_text(found, METRIC)
    assert "■ NO-GO" in text
    assert "Do not begin: about 3 in 10 that it can be done." in text
    assert facts(found)["Why"].startswith("Rain 0.6 mm at 12:07")
    assert facts(found)["What goes wrong"]
    wait = "Wait until 12:30: go; inside the sheets about 8 in 10, now about 3 in 10."
    assert wait in facts(found)["What would help"]
    assert facts(found)["Nearest danger"] == "rain now already."


def test_a_panel_under_its_dew_point_is_told_as_wet():
    """Not as a negative number."""
    found = told(panel_temp_c=12.0, air_temp_c=15.0, rh_pct=85.0)
    assert "under it, so water forms on it" in facts(found)["Now"]
    assert facts(found)["Nearest danger"] == "dew margin under 3.0 °C now already."


def test_between_the_bounds_the_maker_does_not_stand_behind_it():
    """Care says so, and leaves the call to the painter."""
    found = told("clear", panel_temp_c=27.0, sure=True)
    assert found.word is Word.CARE
    assert "the maker will not stand behind it. Your call." in tell_onsite(found, METRIC).short
    likely = told(of=car("clear", outlook(rain_probability_pct=5.0), one=False))
    assert likely.word is Word.CARE
    assert tell_onsite(likely, METRIC).short.endswith("It may not hold. Your call.")


def test_care_by_the_site_names_the_site():
    """Neither sheet nor odds: what stands downwind."""
    site = replace(SITE, downwind={"ne": "neighbour's cars"})
    found = told(of=car("clear", site=site))
    assert found.word is Word.CARE
    assert "Beyond what you said of the site. Your call." in tell_onsite(found, METRIC).short
    assert "with care" in facts(found)["Nearest danger"]


def test_a_rare_case_is_told_as_rare():
    """Else a margin in hand would seem to be contradicted."""
    of = car("clear", outlook(**FAIR), one=False)
    found = told(of=of, panel_temp_c=13.6, air_temp_c=15.0, rh_pct=68.0)
    assert 0.0 < found.judgement.limiting.share < 0.5
    assert facts(found)["Why"].startswith(("In about ", "In less than "))
    assert "cases: dew margin" in facts(found)["Why"]


@pytest.mark.parametrize(
    ("mist_s", "short", "felt"),
    [
        (12.0, "Do not begin. The panel is too damp by breath mist", "too damp"),
        (8.0, "It may not hold. The breath mist goes slowly", "close to damp"),
        (2.0, "About 8 in 10", "dry enough"),
    ],
)
def test_what_hands_say_is_told(mist_s, short, felt):
    """Where it decides no odds are told beside it."""
    found = told(mist_s=mist_s)
    assert tell_onsite(found, METRIC).short.startswith(short)
    assert felt in facts(found)["Without instruments"]
    assert ("Why" in facts(found)) is False


def test_the_flash_off_is_told_printed_and_expected():
    """And by when the next coat must be on."""
    found = facts(told(matt_at=NOON - timedelta(minutes=2)))
    assert found["Flash-off"].startswith("printed 12 min, expect about ")
    assert "counted from matt, so until" in found["Flash-off"]
    begun = told("blend-flash", of=car("blend-flash", begun_at=NOON - timedelta(minutes=2)))
    said = facts(begun)["Flash-off"]
    assert said.endswith("Wait for one even matt, whatever the clock says.")
    assert found["By"].startswith("it must go on by 12:50")
    late = tell_onsite(told(matt_at=NOON - timedelta(minutes=70)), METRIC)
    assert "on for too long to take another" in late.short
    assert "changes nothing" in facts(told("look", matt_at=NOON))["Flash-off"]


def test_a_coat_still_flashing_off_is_waited_for_in_the_first_line():
    """A go at noon with a coat just matt is read as spray now, were the time further down."""
    just_matt = told(matt_at=NOON)
    assert just_matt.word in (Word.GO, Word.CARE)
    until = facts(just_matt)["Flash-off"].partition("so until ")[2][:5]
    assert tell_onsite(just_matt, METRIC).short.startswith(f"Not before {until}: the coat before ")
    for found in (
        told(),
        told(matt_at=NOON - timedelta(minutes=40)),
        told(wind_ms=6.0, matt_at=NOON),
    ):
        assert "Not before" not in tell_onsite(found, METRIC).short


def test_questions_stand_first_and_say_how_to_insist():
    """One that cannot be is not to be insisted on."""
    found = tell_onsite(told(panel_temp_c=60.0), METRIC)
    assert found.short == "Not judged yet, please look at these first:"
    assert found.questions[0].endswith("If it is right, ask again and say you are sure.")
    assert found.facts == ()
    never = tell_onsite(told(rh_pct=140.0), METRIC)
    assert "sure" not in never.questions[0]


def test_safe_stops_are_told_with_their_time():
    """As the answer where only what follows does not fit, or ahead, or here as it is."""
    only = tell_onsite(told("primer", rainy(1.25)), METRIC)
    assert only.label.endswith("CARE")
    assert only.short.startswith("Only as far as “")
    assert "so far. What follows does not fit" in only.short
    assert "Safe stop" not in dict(only.facts)
    ahead = facts(replace(told("primer", rainy(1.25)), only_as_far=False))["Safe stop"]
    assert ahead.startswith("after “")
    assert "so far. Keep it dry" in ahead
    here = facts(told("base-warm", rainy(-1)))["Safe stop"]
    assert here.startswith("here, as it is, after “blow out, degrease")


def test_a_car_that_is_wanted_back_sooner_is_told():
    """The hours decide no verdict at the car."""
    found = told(of=car("clear", back_by=time(12, 20)))
    assert facts(found)["Car back"].startswith(
        "wanted by 12:20, and it is not dust-free before 12:"
    )
    assert "Car back" not in facts(told(of=car("clear", back_by=time(18, 0))))


def test_other_units_are_used_throughout():
    """°F for temperatures and their differences, mph for wind."""
    found = facts(told(panel_temp_c=18.0), Display("f", "mph"))
    assert found["Now"].startswith("panel 64.4 °F, dew point ")
    assert "air 6" in found["From the forecast"]
    assert "mph" in found["From the forecast"]


def test_ways_out_are_told_as_things_to_do():
    """Van, canopy, warmth and lamp."""
    rain = outlook(**FAIR)
    rain.wet_hour_mm[:] = 0.3
    assert (
        "Put the canopy up, every leg weighted: go" in facts(told("clear", rain))["What would help"]
    )
    damp = outlook(**FAIR | {"air_temp_c": 8.5, "rh_pct": 80.0, "ghi_wm2": 50, "dhi_wm2": 50})
    warmed = facts(told("primer", damp, panel_temp_c=7.5))["What would help"]
    assert "Warm the panel to 30 °C first and go straight on: care" in warmed


def test_an_answer_without_weather_tells_the_reading_s_own_margin():
    """Unknown all the same, with the reason and when the stage was said."""
    found = OnSiteAnswer(
        told().job,
        told().asked,
        NOON,
        Word.UNKNOWN,
        why="no answer from the forecast",
        stage="clear",
        stage_name="clear",
        said_at=NOON,
        conditions=reading_alone(Reading(NOON, 14.5, 12.0, 71.0)),
        weather_problem="the service is down",
    )
    told_ = tell_onsite(found, METRIC)
    assert told_.short == (
        "No answer from the forecast. It cannot be judged; do not take it for a go."
    )
    assert dict(told_.facts)["Now"] == "panel 14.5 °C, dew point 6.9 °C: 7.6 °C in hand."
    assert dict(told_.facts)["You said"] == "This stage at 12:07."
    assert dict(told_.facts)["Forecast"] == "The service is down."
    bare = tell_onsite(replace(found, why="", conditions=None), METRIC)
    assert bare.short == "It cannot be judged; do not take it for a go."
    filled = replace(found, filled=("rh_pct", "wind_ms"), conditions=reading_alone(Reading(NOON)))
    assert dict(tell_onsite(filled, METRIC).facts)["From the forecast"].startswith(
        "humidity not known and wind not known"
    )


@pytest.mark.parametrize(
    ("check", "level", "too_low", "words"),
    [
        (Check("panel_temp_c", Origin("practice"), stop_min=5.0), Level.STOP, True,
         "panel temperature under 5.0 °C"),
        (Check("rh_pct", Origin("practice"), inside_max=85.0), Level.INSIDE, False,
         "humidity over 85 %"),
        (Check("insect_level", Origin("practice"), inside_max=1.5), Level.INSIDE, False,
         "insects high"),
        (Check("downwind", Origin("site"), stop_max=1.5), Level.STOP, False,
         "the wind takes your mist onto what stands downwind"),
    ],
)  # fmt: skip
def test_dangers_have_names(check, level, too_low, words):
    """A bound with its side, or what it is about."""
    assert danger_words(Danger(check, level, NOON, 0.5, too_low), METRIC) == words


def test_a_machine_gets_numbers_times_and_the_notice():
    """Null for what is not known or not there."""
    found = onsite_json(told("clear", rainy(3), panel_temp_c=18.0, matt_at=NOON))
    assert found["verdict"] == "go"
    assert found["asked_at"] == "2026-04-17T12:07+01:00"
    assert found["reading"]["panel_temp_c"] == 18.0
    assert found["nearest_danger"]["quantity"] == "wet_hour_mm"
    assert found["flash_off"]["printed_min"] == 12.0
    assert found["dust_free"]["by_lamp"] is True
    assert found["must_begin_by"] == "2026-04-17T12:52+01:00"
    assert found["notice"] == WEATHER_ONLY
    assert (found["safe_stop"], found["ways"], found["felt"]) == (None, [], None)
    asked = onsite_json(told(panel_temp_c=60.0))
    assert [one["field"] for one in asked["questions"]] == ["panel_temp_c"]
    assert (asked["now"], asked["dust_free"], asked["nearest_danger"]) == (None, None, None)
    stopped = onsite_json(told("primer", rainy(1.25)))
    assert stopped["safe_stop"]["verdict"] == "go"


@pytest.mark.parametrize(
    ("likelihood", "words"), [(0.6, "Chiefly, in about 2 in 10 cases"), (0.8, "In about 2 in 10")]
)
def test_a_reason_that_is_not_all_of_it_says_so(likelihood, words):
    """Four in ten fail and two of them for this: the others are not kept quiet."""
    answer = told("primer", rainy(3))
    decides = replace(answer.judgement.limiting, share=0.2)
    found = replace(
        answer.judgement, limiting=decides, word=Word.CARE, likelihood=(likelihood, likelihood)
    )
    shown = facts(replace(answer, judgement=found, word=Word.CARE))
    assert shown["Why"].startswith(words)

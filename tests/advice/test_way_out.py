"""What would make it safe is computed and better, or not told; and where the job can be left."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from at_car import FAIR, NOON, bare, car, told
from days import KIT, SITE, outlook

from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.model import Cover, Power
from sprayadvisor.advice.onsite import Way
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.verdict import Word
from sprayadvisor.advice.way_out import helps


def ways(found):
    """Return the ways out by what is done."""
    return {way.change: way for way in found.ways}


def shower(minutes_from_now, minutes, mm=0.4):
    """Return a fair day with one shower."""
    weather = outlook(**FAIR)
    first = (weather.minute_of(NOON) + minutes_from_now) // 15
    weather.wet_hour_mm[first : first + minutes // 15] = mm
    weather.values["rain_mm"][first : first + minutes // 15] = mm / 4
    return weather


def gusts(minutes_from_now, minutes):
    """Return a fair day with one spell of wind that no coat is laid in."""
    weather = outlook(**FAIR)
    first = (weather.minute_of(NOON) + minutes_from_now) // 15
    for name, speed_ms in (("wind_10m_ms", 14.0), ("gust_10m_ms", 20.0)):
        weather.values[name][first : first + minutes // 15] = speed_ms
    return weather


def test_over_an_open_coat_nobody_waits_for_the_rain_to_pass():
    """It would lie in that rain; the same shower ends a wait for the base, which is not on yet."""
    assert Change.LATER not in ways(told("clear", shower(0, 15)))
    assert Change.LATER not in ways(told("clear", shower(8, 15)))
    assert Change.LATER in ways(told("base", shower(0, 15)))


@pytest.mark.parametrize(
    ("word", "likelihood", "better"),
    [
        (Word.GO, 0.80, True),
        (Word.CARE, 0.66, True),
        (Word.CARE, 0.64, False),
        (Word.CARE, 0.60, False),
        (Word.NO_GO, 0.99, False),
        (Word.UNKNOWN, 0.99, False),
    ],
)
def test_what_helps_gives_a_better_word_or_the_same_one_clearly_surer(word, likelihood, better):
    """Of a care with 6 in 10; less than one in twenty more is no gain."""
    found = Judgement(car().setup.job, Word.CARE, likelihood=(0.3, 0.60))
    assert helps(Way(Change.SHADE, word, likelihood, 0.0), found) is better


def test_a_go_needs_no_way_out():
    """Nothing is offered where nothing is wrong."""
    found = told()
    assert (found.word, found.ways, found.safe_stop) == (Word.GO, (), None)


def test_a_shower_is_waited_out_before_the_primer():
    """The first quarter hour at which it fits is told, with both odds."""
    found = told("primer", shower(0, 45))
    assert found.word is Word.NO_GO
    wait = ways(found)[Change.LATER]
    assert wait.word is Word.GO
    assert NOON + timedelta(minutes=30) < wait.at <= NOON + timedelta(minutes=60)
    assert wait.likelihood > wait.before


def test_fine_rain_in_a_light_wind_asks_for_the_canopy():
    """Where one is in the van and not up; the panel begins as warm as it is."""
    rain = outlook(**FAIR)
    rain.wet_hour_mm[:] = 0.3
    found = told("clear", rain)
    assert found.word is Word.NO_GO
    assert ways(found)[Change.CANOPY].word is Word.GO
    none = told("clear", rain, of=car("clear", rain, kit=replace(KIT, canopy=False)))
    assert Change.CANOPY not in ways(none)
    up = told("clear", rain, of=car("clear", rain, site=replace(SITE, cover=Cover.CANOPY)))
    assert up.word is Word.GO


def test_wind_asks_for_the_van():
    """A wind between its bounds at the gun is broken by the van to windward."""
    found = told("clear", outlook(**FAIR | {"gust_10m_ms": 2.2}), wind_ms=4.3)
    assert found.word is Word.NO_GO
    assert found.judgement.limiting.check.quantity == "wind_ms"
    assert ways(found)[Change.WIND_BREAK].word in (Word.GO, Word.CARE)


def test_cold_metal_is_warmed_before_the_primer():
    """However warm it is: against dew a little helps too; what to is told."""
    damp = outlook(**FAIR | {"air_temp_c": 8.5, "rh_pct": 80.0, "ghi_wm2": 50, "dhi_wm2": 50})
    found = told("primer", damp, panel_temp_c=7.5)
    assert found.word is Word.NO_GO
    warm = ways(found)[Change.WARM_FIRST]
    assert (warm.to_c, warm.about) == (30.0, "primer")
    assert warm.word in (Word.GO, Word.CARE)
    without = car("primer", damp, kit=bare())
    assert Change.WARM_FIRST not in ways(told(of=without, panel_temp_c=7.5))


def test_the_lamp_that_was_left_in_the_van_is_offered():
    """Where air-drying runs into the evening's rain."""
    weather = shower(35, 600)
    without = told("clear", weather, lamp=False)
    assert without.word is Word.NO_GO
    assert Change.LAMP in ways(without) or told("clear", weather).word is Word.NO_GO
    unplugged = car("clear", weather, site=replace(SITE, power=Power.NONE))
    assert told("clear", weather, of=unplugged).word is Word.NO_GO


def test_with_the_base_on_nobody_waits_for_long():
    """Half an hour, or until the coat must be covered; then waiting is no way out."""
    long_blow = gusts(0, 60)
    assert Change.LATER not in ways(told("clear", long_blow))
    short = gusts(0, 15)
    assert ways(told("clear", short))[Change.LATER].at <= NOON + timedelta(minutes=30)
    matt = told("clear", short, matt_at=NOON - timedelta(minutes=44))
    assert Change.LATER not in ways(matt)
    fresh = told("clear", short, matt_at=NOON - timedelta(minutes=20))
    assert ways(fresh)[Change.LATER].at <= fresh.latest


def test_nothing_is_begun_before_the_flash_off_is_over():
    """To wait means to wait longer than for that."""
    found = told("clear", gusts(8, 15), matt_at=NOON - timedelta(minutes=9))
    assert found.word is Word.NO_GO
    assert found.flash_off.at > NOON
    assert ways(found)[Change.LATER].at >= NOON + timedelta(minutes=23)


def test_what_does_not_help_is_not_told():
    """In a downpour all day there is no way out."""
    found = told("clear", shower(-120, 24 * 60, mm=6.0))
    assert (found.word, found.ways) == (Word.NO_GO, ())


def test_of_the_unknown_nothing_is_promised():
    """Where the weather is not known no change makes it known."""
    holes = outlook(**FAIR)
    holes.values["wind_10m_ms"][:] = np.nan
    found = told("clear", holes)
    assert (found.word, found.ways) == (Word.UNKNOWN, ())


def test_the_job_can_be_left_before_the_base():
    """At the farthest safe stop that still fits, or here, or nowhere once the base is on."""
    late_rain = shower(75, 600)
    found = told("primer", late_rain)
    assert found.judgement.word is Word.NO_GO
    assert (found.word, found.only_as_far) == (Word.CARE, True)
    assert found.likelihood == found.safe_stop.likelihood
    assert found.safe_stop.stage.startswith(("primer cools", "sand", "blow out, degrease"))
    assert found.safe_stop.at > NOON
    assert found.safe_stop.word is Word.GO
    here = told("base-warm", shower(0, 600))
    assert here.safe_stop.stage.startswith("blow out, degrease")
    assert here.safe_stop.at is None
    assert np.isnan(here.safe_stop.likelihood)
    assert told("clear", shower(0, 600)).safe_stop is None
    before_base = told("base", shower(0, 600))
    assert before_base.word is Word.NO_GO
    assert before_base.safe_stop.stage.startswith("blow out, degrease")


def test_a_flash_off_that_still_runs_comes_before_the_safe_stop_too():
    """Primer that was matt a moment ago is not under the lamp at once."""
    late_rain = shower(105, 600)
    free = told("primer-lamp", late_rain)
    runs = told("primer-lamp", late_rain, matt_at=NOON)
    assert free.only_as_far
    assert runs.flash_off.at > NOON
    assert runs.safe_stop.at >= free.safe_stop.at + (runs.flash_off.at - NOON)


def test_a_damp_panel_is_not_painted_up_to_a_safe_stop():
    """What hands say is too damp gets no primer either, however dry the forecast is till then."""
    damp = told("primer", shower(75, 600), mist_s=20.0)
    assert (damp.word, damp.only_as_far, damp.ways) == (Word.NO_GO, False, ())
    assert damp.safe_stop is None or damp.safe_stop.at is None


def test_slow_breath_mist_keeps_every_way_from_a_go():
    """Where the wind forbids it now, a calmer hour makes a damp panel no drier."""
    lull = told("base", gusts(0, 60), mist_s=7.0)
    assert lull.judgement.word is Word.NO_GO
    assert {way.word for way in lull.ways} <= {Word.CARE}
    assert any(way.word is Word.GO for way in told("base", gusts(0, 60)).ways)


@pytest.mark.parametrize("stage", ["mask-primer", "primer"])
def test_where_nothing_is_safe_nothing_is_said(stage):
    """In rain neither the stage ahead nor the one before is a place to stop at."""
    found = told(stage, shower(-60, 24 * 60, mm=5.0))
    assert found.word is Word.NO_GO
    assert (found.safe_stop is None) == (stage == "primer")

"""The answer at the car: only what is left is judged, from this minute, on what was read."""

from dataclasses import replace
from datetime import time, timedelta
from types import MappingProxyType

import numpy as np
import pytest
from at_car import COLD, EASY, FAIR, NOON, asked, bare, car, told
from days import KIT, SITE, climate_for, job, outlook, plan_for
from hypothesis import given, settings
from hypothesis import strategies as st

from sprayadvisor.advice.at_the_car import answer, reading_alone
from sprayadvisor.advice.caps import LATE
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.ensemble import from_runs
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.model import Colour, Cover, Panel, Part
from sprayadvisor.advice.onsite import Felt, Reading
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.verdict import RANKED, Word
from sprayadvisor.science.humidity import dew_point_c


def names(found):
    """Return the stages that were judged."""
    return [stage.id for stage in found.judgement.plan.stages]


@pytest.mark.parametrize(
    ("stage", "first", "last", "moment"),
    [
        ("look", "look", "clear-lamp", Moment.BEFORE_BASE),
        ("primer", "primer-1", "clear-lamp", Moment.BEFORE_BASE),
        ("base", "base-1", "clear-lamp", Moment.BEFORE_BASE),
        ("blend", "blend", "clear-lamp", Moment.BEFORE_CLEAR),
        ("clear", "clear-1", "clear-lamp", Moment.BEFORE_CLEAR),
        ("clear-lamp", "clear-lamp", "clear-lamp", Moment.BEFORE_CLEAR),
        ("clear-cool", "clear-cool", "show", Moment.BEFORE_CLEAR),
    ],
)
def test_only_what_is_left_is_judged(stage, first, last, moment):
    """From the stage that comes next to the end of the bake, or after that to the end."""
    found = told(stage)
    assert (names(found)[0], names(found)[-1]) == (first, last)
    assert (found.stage, found.moment) == (first, moment)


def test_the_base_that_is_on_is_not_judged_again():
    """Weather that would have spoilt the base an hour ago spoils no clear."""
    wet = outlook(**FAIR)
    step = wet.minute_of(NOON) // 15
    wet.wet_hour_mm[step - 4 : step - 1] = 0.8
    assert told("clear", wet).word is Word.GO
    assert told("clear", outlook(**FAIR)).word is Word.GO


def test_work_begins_at_this_minute():
    """Not at the next quarter hour: seven past is seven past."""
    found = told()
    walk = found.judgement.play.walk
    assert found.judgement.at(int(walk.begins[0, 0])) == NOON
    assert all(margin.at >= NOON for margin in found.margins)


def test_a_reading_as_forecast_gives_the_brief_s_own_odds():
    """With the reading equal to the model, one member, and a start on the quarter: the same play.

    The brief judges the whole job; from its first stage on so does the question at the car, up to
    the end of the bake.
    """
    at = NOON.replace(minute=0)
    booked = job(arrive_from=time(12), arrive_to=time(12), back_by=None)
    plain = car("look", one=True, arrive_from=time(12), arrive_to=time(12))
    first = told("look", now=at, of=plain, asked=asked(taken_at=at))
    here = first.conditions
    read = Reading(at, here.panel_temp_c, here.air_temp_c, here.rh_pct, here.wind_ms)
    found = told("look", now=at, of=plain, asked=replace(asked(), reading=read))
    policy = EASY
    whole = judge(
        booked,
        plan_for(booked),
        climate_for(booked, outlook(**FAIR)),
        policy,
        policy.thresholds[Moment.BEFORE_BASE],
        at,
    )
    assert found.word is whole.word
    shown = len(found.judgement.plan.stages)
    for mine, its in (
        (found.judgement.play.walk.begins, whole.play.walk.begins),
        (found.judgement.play.walk.ends, whole.play.walk.ends),
    ):
        offset = found.judgement.climate.starts_utc[0] - whole.climate.starts_utc[0]
        minutes = int(offset / np.timedelta64(1, "m"))
        assert (mine[:shown, 0] + minutes).tolist() == its[:shown, 0].tolist()


def test_the_reading_decides_the_dew_margin():
    """What was read is what is told; what was not is taken from the forecast, and named."""
    found = told(panel_temp_c=13.0, air_temp_c=15.0, rh_pct=80.0)
    dew = dew_point_c(15.0, 80.0)
    assert found.conditions.dew_point_c == pytest.approx(dew)
    assert found.conditions.dew_margin_k == pytest.approx(13.0 - dew)
    assert found.word is Word.NO_GO
    assert found.judgement.limiting.check.quantity == "dew_margin_k"
    assert found.filled == ("wind_ms",)
    assert found.danger.check.quantity == "dew_margin_k"
    assert found.danger.too_low


def test_doubtful_readings_stop_everything():
    """No word but unknown, nothing judged, nothing offered."""
    found = told(panel_temp_c=60.0)
    assert (found.word, found.judgement, found.ways) == (Word.UNKNOWN, None, ())
    assert [doubt.field for doubt in found.doubts] == ["panel_temp_c"]


@pytest.mark.parametrize(
    "changes",
    [{"rh_pct": 140.0}, {"air_temp_c": 1e9}, {"wind_ms": float("inf")}, {"panel_temp_c": np.nan}],
)
def test_what_cannot_be_is_never_reckoned_with(changes):
    """Not even by who is sure."""
    found = told(**changes, sure=True)
    assert (found.word, found.judgement, len(found.doubts)) == (Word.UNKNOWN, None, 1)


def test_two_pack_indoors_is_not_judged():
    """Under a roof said now as under one booked; not even doubts are raised."""
    for found in (
        told(shelter=Cover.INDOORS, panel_temp_c=60.0),
        told(of=car(site=replace(SITE, cover=Cover.INDOORS))),
    ):
        assert (found.word, found.doubts, found.judgement) == (Word.NOT_JUDGED, (), None)
        assert "extraction" in found.why


def test_missing_weather_is_never_a_go():
    """Where the coming hour is not known the word is unknown, whatever was read."""
    holes = outlook(**FAIR)
    step = holes.minute_of(NOON) // 15
    holes.values["rh_pct"][step + 1 : step + 3] = np.nan
    found = told("clear", holes, panel_temp_c=18.0, air_temp_c=16.0, rh_pct=65.0, wind_ms=1.0)
    assert found.word is Word.UNKNOWN
    assert found.ways == ()


@pytest.mark.parametrize(
    ("changes", "word", "why"),
    [
        ({}, Word.GO, ""),
        ({"mist_s": 2.0}, Word.GO, ""),
        ({"mist_s": 8.0}, Word.CARE, "the breath mist goes slowly"),
        ({"mist_s": 12.0}, Word.NO_GO, "too damp by breath mist"),
        ({"stripe_min": 25.0}, Word.NO_GO, "too damp by breath mist or stripe"),
    ],
)
def test_hands_overrule_the_forecast_for_the_worse(changes, word, why):
    """What is felt lowers the word and never raises it; then no odds are told."""
    found = told(**changes)
    assert found.word is word
    assert why in found.why
    assert np.isnan(found.likelihood) == bool(why)


@pytest.mark.parametrize(
    ("stage", "read", "word"),
    [
        ("clear", {"unread": True}, Word.CARE),
        ("clear", {"air_temp_c": 15.0, "rh_pct": 60.0, "unread": True}, Word.CARE),
        ("clear", {"panel_temp_c": 17.0}, Word.GO),
        ("clear", {"panel_temp_c": 17.0, "taken_at": NOON - timedelta(minutes=14)}, Word.GO),
        ("clear", {"panel_temp_c": 17.0, "taken_at": NOON - timedelta(minutes=16)}, Word.CARE),
        ("clear", {"mist_s": 2.0}, Word.GO),
        ("clear", {"mist_s": 2.0, "taken_at": NOON - timedelta(minutes=16)}, Word.CARE),
        ("base", {"unread": True}, Word.GO),
        ("clear-lamp", {"unread": True}, Word.GO),
    ],
)
def test_clear_is_no_go_on_the_forecast_alone(stage, read, word):
    """The panel is read, or breathed on, before it goes on; the bake sprays nothing."""
    found = told(stage, **read)
    assert found.word is word
    assert ("read the panel" in found.why) is (word is Word.CARE)


def test_what_is_felt_never_raises_a_word():
    """A dry stripe on a panel at its dew point changes nothing."""
    bad = {"panel_temp_c": 12.0, "rh_pct": 80.0}
    assert told(**bad).word is told(**bad, stripe_min=5.0).word is Word.NO_GO
    assert told(**bad, stripe_min=5.0).felt is Felt.FINE
    damp = told(**bad, mist_s=20.0)
    assert (damp.word, damp.why) == (Word.NO_GO, "")


def test_the_runs_of_an_ensemble_are_drawn_to_the_reading_like_any_weather():
    """Runs a degree apart agree at the reading and part again after it."""
    runs = [outlook(**FAIR | {"air_temp_c": 9.0 + number}) for number in range(12)]
    members = from_runs(outlook(**FAIR), runs, seed=3, origin=NOON - timedelta(hours=6))
    here = replace(car("clear", one=False), members=members)
    found = told(of=here, panel_temp_c=16.0, air_temp_c=14.0, rh_pct=70.0)
    met = found.judgement.climate
    step = minute_of(met.starts_utc, NOON) // 15
    spread = [float(np.std(met["air_temp_c"][:, later])) for later in (step - 1, step, step + 24)]
    assert spread[0] > 3.0
    assert spread[1] < 0.6 < spread[2] < spread[0]
    assert np.median(met["panel_temp_c"][:, step]) == pytest.approx(16.0)
    assert met.n_members == 12


def test_where_nobody_said_which_way_it_stands_the_way_that_decides_is_told():
    """What stands beside a reason must not contradict it: hot facing the sun, told as hot."""
    sun = outlook(**FAIR | {"dni_wm2": 800.0, "cloud_fraction": 0.0, "air_temp_c": 18.0})
    door = Panel(Part.LEFT_DOOR, Colour.BLACK)
    found = told(
        "base", of=car("base", sun, panels=(door,), process="door-scuff", heading_deg=None)
    )
    limiting = found.judgement.limiting
    assert limiting.check.quantity == "panel_temp_c"
    assert abs(found.conditions.panel_temp_c - limiting.value) < 5.0


def test_what_is_read_under_the_lamp_says_nothing_of_the_panel_in_the_weather():
    """However hot it is read, it cools to the same panel and in the same time."""
    ends = {told("clear-cool", panel_temp_c=c).stage_now.ends_at for c in (20.0, 45.0, 55.0)}
    assert len(ends) == 1
    cooled = told("polish-cool", panel_temp_c=45.0)
    assert cooled.judgement.climate["panel_temp_c"].max() < 30.0
    assert cooled.conditions.panel_temp_c == 45.0


def test_a_lamp_that_comes_late_bakes_all_the_same():
    """The clear is on; nobody is told to take it off again."""
    found = told("clear-lamp", panel_temp_c=16.0, matt_at=NOON - timedelta(minutes=40))
    assert (found.why, found.latest) == ("", None)
    assert found.word is not Word.NO_GO


def test_a_coat_that_was_on_for_too_long_is_the_reason_in_any_weather():
    """Rain is not, nor is there anything to wait for."""
    wet = outlook(**FAIR, wet_hour_mm=3.0)
    found = told("clear", wet, matt_at=NOON - timedelta(hours=3))
    assert (found.word, found.why) == (Word.NO_GO, LATE)
    assert found.ways == ()


def test_the_mist_goes_where_the_wind_is_felt_to_blow():
    """People to the east and a west wind: no; felt from the east, or nobody there: go."""
    people = replace(SITE, downwind=MappingProxyType({"e": "school"}))
    west = outlook(**FAIR | {"wind_from_deg": 270.0, "wind_10m_ms": 3.0, "gust_10m_ms": 5.0})
    here = car("base", west, site=people)
    blown = told(of=here)
    assert blown.word is Word.NO_GO
    assert blown.judgement.limiting.check.quantity == "downwind"
    assert told(of=here, wind_from_deg=90.0).word is Word.GO
    assert told(of=here, all_clear=True).word is Word.GO
    assert told(of=here, wind_from_deg=280.0).word is Word.NO_GO


def test_no_metal_is_warmed_in_the_rain():
    """The lamp stands in it, and what it warms is to be painted; the rain is the reason."""
    wet = outlook(**FAIR)
    step = wet.minute_of(NOON) // 15
    wet.wet_hour_mm[step] = 1.0
    found = told("base-warm", wet)
    assert found.word is Word.NO_GO
    assert found.judgement.limiting.check.quantity == "wet_hour_mm"
    dry = outlook(**FAIR)
    dry.wet_hour_mm[step - 1] = 1.0
    assert told("base-warm", dry).word is Word.GO


def test_the_printed_clock_begins_anew_when_the_coat_is_matt():
    """The flash-off counts from then, and the clear waits for it."""
    found = told(matt_at=NOON)
    assert names(found)[0] == "blend-flash"
    assert found.flash_off.printed_min == 12.0
    walk = found.judgement.play.walk
    clear = names(found).index("clear-1")
    assert found.judgement.at(int(walk.begins[clear, 0])) == found.flash_off.at > NOON
    earlier = told(matt_at=NOON - timedelta(minutes=6))
    assert earlier.flash_off.at < found.flash_off.at
    assert earlier.flash_off.at > NOON
    over = told(matt_at=NOON - timedelta(minutes=40))
    assert over.flash_off.at == NOON
    assert told().flash_off is None


def test_a_flash_off_the_painter_is_in_counts_since_he_said_so():
    """With ``job at``; a hand stage begins now, whenever it was announced."""
    since = NOON - timedelta(minutes=5)
    found = told(of=car("blend-flash", begun_at=since))
    assert found.flash_off is not None
    assert found.judgement.at(int(found.judgement.play.walk.begins[0, 0])) == since
    coat = told(of=car("clear", begun_at=since))
    assert coat.judgement.at(int(coat.judgement.play.walk.begins[0, 0])) == NOON


@pytest.mark.parametrize("stage", ["look", "tack"])
def test_matt_says_nothing_where_nothing_flashes(stage):
    """Before the first stage, or after hand work."""
    assert told(stage, matt_at=NOON).flash_off is None


def test_the_coat_before_must_be_covered_in_time():
    """Past its sheet's longest wait the answer is no, whatever the weather."""
    fresh = told(matt_at=NOON - timedelta(minutes=20))
    assert fresh.word is Word.GO
    assert fresh.latest == NOON + timedelta(minutes=25)
    late = told(matt_at=NOON - timedelta(minutes=61))
    assert late.word is Word.NO_GO
    assert "too long to take another" in late.why
    assert told().latest is None


def test_no_lamp_means_air_drying():
    """Then dust-free is in the air, and later."""
    baked, dried = told(), told(lamp=False)
    assert (baked.dust_free.by_lamp, dried.dust_free.by_lamp) == (True, False)
    assert names(dried)[-1].startswith("clear-lamp-")
    assert told(of=car(kit=bare())).dust_free == dried.dust_free


def test_nothing_is_dust_free_where_nothing_is_wet():
    """Unmasking has no wet coat ahead."""
    found = told("unmask")
    assert found.dust_free is None
    assert found.word is Word.GO


def test_a_stage_that_this_plan_lacks_says_so():
    """Polishing is another day where paint only air-dries."""
    found = told(of=replace(car(), ids=("gone",)))
    assert (found.word, found.judgement, found.stage) == (Word.UNKNOWN, None, "")
    assert "nothing of this stage is left" in found.why


def test_the_hours_are_the_painter_s_own_at_the_car():
    """Who works on after closing time is told about the weather, not about the clock."""
    late = replace(EASY, work_to=time(12, 0))
    assert told(of=car(policy=late)).word is Word.GO


def test_a_reading_of_an_hour_ago_counts_for_less():
    """It fades from when it was taken."""
    now = told(panel_temp_c=17.0).conditions.panel_temp_c
    at = NOON - timedelta(hours=1)
    then = told(asked=asked(taken_at=at, panel_temp_c=17.0)).conditions.panel_temp_c
    assert now == pytest.approx(17.0)
    assert then != pytest.approx(17.0, abs=0.2)


def test_a_reading_alone_tells_its_own_margin():
    """Without a forecast; NaN where something is missing."""
    found = reading_alone(Reading(NOON, 14.5, 12.0, 71.0))
    assert found.dew_margin_k == pytest.approx(14.5 - dew_point_c(12.0, 71.0))
    assert np.isnan(found.wind_ms)
    assert np.isnan(reading_alone(Reading(NOON, 14.5)).dew_margin_k)


def test_a_canopy_put_up_does_not_warm_the_panel_at_once():
    """Without a reading it begins at the temperature it had under the open sky."""
    open_, under = told(), told(shelter=Cover.CANOPY)
    assert under.conditions.panel_temp_c == pytest.approx(open_.conditions.panel_temp_c)
    assert under.job.site.cover is Cover.CANOPY


@settings(max_examples=8)
@given(st.floats(8.0, 24.0), st.floats(0.0, 6.0))
def test_a_colder_panel_is_never_better_against_dew(panel_temp_c, colder_by):
    """Where the dew decides, the word of a colder panel is no better."""
    weather = outlook(**COLD)
    of = car("clear", weather, kit=bare(replace(KIT, canopy=False)))
    warm, cold = (
        answer(of, replace(asked(panel_temp_c=value), sure=True), NOON)
        for value in (panel_temp_c, panel_temp_c - colder_by)
    )
    if warm.judgement.limiting.check.quantity == "dew_margin_k":
        assert RANKED.index(cold.word) <= RANKED.index(warm.word)
        assert cold.judgement.likelihood[Level.STOP] <= warm.judgement.likelihood[Level.STOP]

"""What is left, from a minute on: what is dust-free when, and what breaks a bound next."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from at_car import COLD, EASY, FAIR, NOON, asked, bare, car, told
from days import SITE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.dangers import danger
from sprayadvisor.advice.from_now import (
    Rest,
    chain_from,
    dust_free,
    flash_off,
    judge_from,
    quarters_after,
    rest_of,
)
from sprayadvisor.advice.model import Cover
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.rest import stage_index
from sprayadvisor.advice.verdict import Word


def rest(stage="clear", weather=None, since=None, kit=None, days=5):
    """Return the rest of a bumper corner from a stage on, at noon."""
    weather = weather if weather is not None else outlook(days, **FAIR)
    booking = job()
    plan = plan_for(booking) if kit is None else plan_for(booking, kit=kit)
    met = climate_for(booking, weather)
    now = minute_of(met.starts_utc, NOON)
    whole = Rest(booking, plan, met, EASY, EASY.thresholds[Moment.BEFORE_CLEAR], 0, now)
    first = stage_index(plan, (stage,))
    return rest_of(whole, first, len(plan.stages), flashes_since=since and now - since)


def shown(one):
    """Return the play of a rest."""
    return judge_from(one, chain_from(one))[1]


def next_danger(one):
    """Return the nearest danger of a rest."""
    chain = chain_from(one)
    return danger(one, chain, judge_from(one, chain)[1])


def test_the_past_is_taken_to_have_been_as_now():
    """Between the coat turning matt and now nothing else is known."""
    one = rest("blend-flash", since=40)
    now, first = one.now_min // 15, one.begin_min // 15
    assert now - first >= 2
    for array in one.climate.values.values():
        assert np.array_equal(
            array[:, first : now + 1].T, array[:, [now] * (now - first + 1)].T, equal_nan=True
        )
    assert rest().begin_min == rest().now_min


def test_paint_that_never_dries_is_never_dust_free():
    """Nor does its flash-off end: below the stall nothing is promised."""
    ice = outlook(**FAIR | {"air_temp_c": -5.0, "rh_pct": 60.0, "ghi_wm2": 0.0, "dhi_wm2": 0.0})
    frozen = rest("clear", ice, kit=bare())
    assert dust_free(frozen, shown(frozen)) is None
    gone = outlook(3, **FAIR | {"rh_pct": np.nan})
    stalled = rest("blend-flash", gone, since=5)
    open_ended = flash_off(stalled, shown(stalled))
    assert (open_ended.printed_min, open_ended.at) == (12.0, None)
    assert np.isnan(open_ended.expected_min)
    assert flash_off(rest("clear"), shown(rest("clear"))) is None


def test_warmth_of_a_lamp_that_was_on_before_is_in_the_reading_alone():
    """From the base on a cold panel is cold, from the lamp on the cold metal on it is warmed."""
    cold = outlook(**COLD | {"rh_pct": 50.0})
    at_base = told("base", cold, panel_temp_c=5.5)
    assert at_base.judgement.limiting.check.array == ""
    assert at_base.word is Word.NO_GO
    assert told("base", cold, panel_temp_c=18.0).word is Word.GO
    at_lamp = told("base-warm", cold, panel_temp_c=5.5)
    assert at_lamp.judgement.plan.warmths
    assert at_lamp.judgement.limiting.check.quantity == "elapsed_min"
    assert at_lamp.danger.check.quantity == "panel_temp_c"
    assert at_lamp.danger.at > NOON


def test_a_rest_without_a_bound_fits_and_nothing_limits_it():
    """Packing up after the last coat asks nothing of the weather."""
    one = rest("show")
    found, play = judge_from(one, chain_from(one))
    if not play.readings:
        assert found.limiting is None
    assert dust_free(one, play) is None
    assert found.word is Word.GO


def test_the_nearest_danger_has_its_time():
    """Whether the work is over by then or not; a stop that breaks sooner goes first."""
    weather = outlook(**FAIR)
    step = weather.minute_of(NOON + timedelta(hours=3)) // 15
    weather.wet_hour_mm[step:] = 0.5
    one = rest("clear", weather)
    found = next_danger(one)
    assert (found.check.quantity, found.level) == ("wet_hour_mm", Level.STOP)
    assert found.at == NOON.replace(minute=0) + timedelta(hours=3)
    assert not found.too_low
    assert found.share == 1.0
    calm = rest("clear")
    assert next_danger(calm) is None


@pytest.mark.parametrize(("chance_pct", "is_danger"), [(50.0, True), (20.0, False)])
def test_what_a_third_of_the_weathers_bring_is_a_danger(chance_pct, is_danger):
    """Less than that is not told at the car."""
    rainy = FAIR | {"rain_probability_pct": lambda h: np.where(h >= 14.0, chance_pct, 0.0)}
    found = told(of=car("clear", outlook(**rainy), one=False), panel_temp_c=16.0).danger
    assert (found is not None and found.check.quantity == "wet_hour_mm") is is_danger


def test_a_danger_at_hand_is_told_at_this_minute():
    """An inside bound broken already is no news where something worse follows."""
    weather = outlook(**FAIR | {"rh_pct": 87.0})
    step = weather.minute_of(NOON + timedelta(hours=2)) // 15
    weather.wet_hour_mm[step:] = 0.5
    one = rest("clear", weather)
    assert next_danger(one).check.quantity == "wet_hour_mm"
    damp = rest("clear", outlook(**FAIR | {"rh_pct": 95.0}))
    found = next_danger(damp)
    assert found.at == NOON
    assert found.check.quantity in ("rh_pct", "dew_margin_k")


def test_several_panels_are_in_danger_with_their_worst():
    """One panel beyond a bound is enough."""
    wide = car("clear", panels=(*job().panels, *job().panels))
    assert told(of=wide, wind_ms=6.0).danger.check.quantity in ("wind_ms", "gust_sustained_ms")


def test_quarters_after_begin_on_the_grid():
    """The next quarter hour comes first, the bound last."""
    assert quarters_after(7, 40).tolist() == [15, 30]
    assert quarters_after(15, 45).tolist() == [30, 45]
    assert quarters_after(15, 20).tolist() == []


def test_indoors_no_rain_comes():
    """A bound that no member can break is no danger."""
    roof = job(site=replace(SITE, cover=Cover.CANOPY))
    assert told(of=car("clear", site=roof.site)).danger is None


@pytest.mark.parametrize("minutes", [0, 7, 14])
def test_any_minute_will_do_to_begin_with(minutes):
    """Minutes are counted from then, and nothing is judged before it."""
    at = NOON - timedelta(minutes=7) + timedelta(minutes=minutes)
    found = told(now=at, asked=asked(taken_at=at))
    assert found.dust_free.at - found.made_at == timedelta(minutes=found.dust_free.minutes)

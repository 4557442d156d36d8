"""What wets fresh clear in the hours after the work."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from at_car import EASY, bare
from days import BUMPER, EVENING, KIT, climate_for, job, outlook, plan_for

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.entries import entry
from sprayadvisor.advice.first_night import AFTER_LAMP, IN_AIR, Wetting, first_night
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.model import Part
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.verdict import Word


def after(weather, kit=KIT, booking=None):
    """Return the entry of a job in one weather, and what it says of the first night."""
    booking = booking or job()
    found = judge(
        booking,
        plan_for(booking, EASY, kit),
        climate_for(booking, weather),
        EASY,
        EASY.thresholds[Moment.EVENING],
        EVENING,
    )
    told = entry(found, weather, EASY)
    return told, told.first_night


def rain_from(hour_utc, mm=1.0, days=5):
    """Return (step,) rain from an hour of the job's day on."""
    wet = np.zeros(days * 96)
    wet[2 * 96 + hour_utc * 4 :] = mm
    return wet


@pytest.mark.parametrize(("kit", "hours"), [(KIT, AFTER_LAMP), (bare(), IN_AIR)])
def test_it_lasts_three_hours_after_a_bake_and_half_a_day_in_air(kit, hours):
    """Counted from the end of the bake, or from when it is dust-free."""
    told, night = after(outlook(rain_probability_pct=0.0), kit)
    assert night.until - told.commitment[1] == hours
    assert (night.rain.share, night.rain.at) == (0.0, None)


def test_rain_an_hour_after_the_bake_spoils_no_stage_and_is_still_told():
    """All wet stages are through, so it is no no-go; the rain on the fresh clear is named."""
    dry, _ = after(outlook(rain_probability_pct=0.0))
    hour = dry.commitment[1] + timedelta(hours=1)
    told, night = after(outlook(rain_probability_pct=0.0, wet_hour_mm=rain_from(hour.hour)))
    assert told.judgement.word is not Word.NO_GO
    assert told.commitment[1] <= hour.replace(minute=0)
    assert night.rain.share == 1.0
    assert night.rain.at == hour.replace(minute=0)
    later, night = after(outlook(rain_probability_pct=0.0, wet_hour_mm=rain_from(hour.hour + 4)))
    assert (later.judgement.word, night.rain.share) == (Word.GO, 0.0)


def test_dew_on_the_fresh_clear_counts_like_rain():
    """A clear, still, damp evening wets a panel that dries in the air."""
    clear = {"cloud_fraction": 0.0, "wind_10m_ms": 0.6, "rain_probability_pct": 0.0}
    _, night = after(outlook(**clear, rh_pct=lambda h: np.where(h > 16, 97.0, 60.0)), bare())
    assert night.dew.share == 1.0
    assert night.rain.share == 0.0


def test_what_is_not_known_is_said_to_be_so_and_without_a_clear_nothing_is():
    """A hole in the rain is no dry evening, nor a wet one; nor is the end of the forecast."""
    holes = outlook(rain_probability_pct=0.0)
    told, dry = after(holes)
    assert dry.rain.known
    holes.wet_hour_mm[holes.minute_of(told.commitment[1]) // 15 + 2 :] = np.nan
    assert after(holes)[1].rain == Wetting(0.0, None, known=False)
    found = told.judgement
    last = found.at(len(found.climate.starts_utc) * 15)
    assert not first_night(found, last).rain.known
    assert not first_night(found, last - timedelta(hours=1)).rain.known
    assert first_night(found, None) is None


def test_rain_on_one_panel_of_two_is_rain():
    """Either of them spots."""
    two = job(panels=(BUMPER, replace(BUMPER, part=Part.ROOF)))
    wet = rain_from(14)
    told, _ = after(outlook(rain_probability_pct=0.0, wet_hour_mm=wet), booking=two)
    met = told.judgement.climate
    dry_first = {**met.values, "wet_hour_mm": met["wet_hour_mm"].copy()}
    dry_first["wet_hour_mm"][0] = 0.0
    climate = Climate(met.starts_utc, dry_first, met.n_cases, met.n_members)
    found = replace(told.judgement, climate=climate)
    assert first_night(found, told.commitment[1]).rain.share == 1.0

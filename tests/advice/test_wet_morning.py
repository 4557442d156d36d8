"""Water on the panels in the morning: until when, white or not, and whether wiping is worth it."""

from dataclasses import replace
from datetime import datetime, time
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from days import ZONE, job, outlook

from sprayadvisor.advice.case import cases_of
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.members import single
from sprayadvisor.advice.model import Colour, Panel, Part
from sprayadvisor.advice.wet_morning import wet_morning, wiped_cases

ROOF, DOOR = Panel(Part.ROOF, Colour.WHITE), Panel(Part.LEFT_DOOR, Colour.WHITE)
DAY_BEGINS = 2 * 96  # of the grid, UTC; local time is an hour ahead


def up(h):
    """Return how high the sun is, 0 to 1."""
    return np.clip(np.sin(np.pi * (h - 6) / 14), 0, None)


def dewy(low_c=6.0, **changes):
    """Return clear, damp and still weather whose sun dries the dew by noon."""
    usual = {
        "air_temp_c": lambda h: low_c + 9.0 * up(h),
        "rh_pct": lambda h: 97.0 - 40.0 * up(h),
        "wind_10m_ms": 1.0,
        "gust_10m_ms": 2.0,
        "cloud_fraction": 0.0,
        "ghi_wm2": lambda h: 600 * up(h),
        "dni_wm2": lambda h: 600.0 * ((h > 6) & (h < 20)),
        "dhi_wm2": lambda h: 100 * up(h),
    }
    return outlook(**(usual | changes))


def found(booking, weather):
    """Return what is found of a job's panels, wiped on arrival where one is wet then."""
    members = single(weather)
    cases = cases_of(booking, weather.starts_utc)
    met = climate(members, cases)
    wiped = wiped_cases(booking, cases, met)
    return wet_morning(booking, met, climate(members, wiped) if wiped else None)


def local(when: datetime) -> time:
    """Return the local clock time of an instant."""
    return when.astimezone(ZoneInfo(ZONE)).time()


def test_the_door_away_from_the_sun_stays_wet_longest_and_wiped_early_it_dews_again():
    """At seven it is still colder than the dew point; turned to the sun it is the roof's turn."""
    early = job(panels=(DOOR, ROOF), arrive_from=time(7, 5), arrive_to=time(8))
    wet = found(early, dewy())
    assert wet.panel == 0
    assert found(replace(early, heading_deg=180.0), dewy()).panel == 1
    assert wet.white_until is None
    assert time(8) < local(wet.until) < time(13)
    assert local(wet.wiped_at) == time(7, 5)
    assert time(7, 5) <= local(wet.again_at) <= time(8)


def test_wiped_once_the_sun_is_on_it_it_stays_dry():
    """What is left to dry is wiped off, and nothing comes after it."""
    late = job(panels=(ROOF,), arrive_from=time(9, 30), arrive_to=time(10))
    wet = found(late, dewy())
    assert local(wet.until) > time(9, 30)
    assert local(wet.wiped_at) == time(9, 30)
    assert wet.again_at is None


@pytest.mark.parametrize("arrive", [time(13, 30), time(5), time(15)])
def test_nothing_is_wiped_that_is_dry_on_arrival_or_out_of_the_morning(arrive):
    """Then only the end of the wet is told."""
    booking = job(panels=(ROOF,), arrive_from=arrive, arrive_to=time(16))
    wet = found(booking, dewy())
    assert wet.until is not None
    assert (wet.wiped_at, wet.again_at) == (None, None)


def test_what_more_than_half_of_the_members_say_counts():
    """Three weathers, of which two are wet: wet until two are dry."""
    booking = job(panels=(ROOF,), arrive_from=time(15), arrive_to=time(16))
    alone = [found(booking, weather) for weather in (dewy(), dewy(wind_10m_ms=2.0), outlook())]
    ends = sorted(wet.until for wet in alone if wet)
    assert len(ends) == 2
    assert ends[0] < ends[1]
    singles = [single(weather) for weather in (dewy(), dewy(wind_10m_ms=2.0), outlook())]
    together = replace(
        singles[0],
        values={name: np.concatenate([one[name] for one in singles]) for name in singles[0].values},
        wet_hour_mm=np.concatenate([one.wet_hour_mm for one in singles]),
        sky_emissivity_offset=np.zeros(3),
        ln_convection=np.zeros(3),
    )
    met = climate(together, cases_of(booking, together.starts_utc))
    assert wet_morning(booking, met).until == ends[0]


def test_frost_is_white_before_it_is_water():
    """White while the panel is below freezing, wet until what has thawed is dry."""
    wet = found(job(panels=(ROOF,), arrive_from=time(8), arrive_to=time(9)), dewy(-4.0))
    assert wet.white_until is not None
    assert local(wet.white_until) < local(wet.until)


def test_a_panel_that_does_not_dry_all_morning_has_no_end():
    """Rain from before six to the afternoon."""
    wet = found(job(panels=(ROOF,)), outlook(rain_mm=0.2, wet_hour_mm=0.8, rh_pct=98.0))
    assert wet.until is None
    assert local(wet.again_at) == local(wet.wiped_at)  # it rains on


def test_a_dry_morning_and_one_beyond_the_forecast_have_nothing_to_tell():
    """No panel is wet at six, or nobody knows."""
    assert found(job(panels=(ROOF,)), outlook()) is None
    assert found(job(panels=(ROOF,)), outlook(1)) is None


def test_unknown_is_not_called_wet():
    """A gap in the weather all morning: nothing is told of water that nobody has seen."""
    air = np.full(5 * 96, 10.0)
    air[DAY_BEGINS : DAY_BEGINS + 60] = np.nan
    assert found(job(panels=(ROOF,)), outlook(air_temp_c=air)) is None

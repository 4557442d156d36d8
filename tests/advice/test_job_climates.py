"""The climates of many jobs at once are those of each alone."""

from dataclasses import replace
from datetime import time

import numpy as np
import pytest
from days import EVENING, SITE, job, outlook

from sprayadvisor.advice import climate as climate_module
from sprayadvisor.advice.case import Case, cases_of
from sprayadvisor.advice.climate import Climate, Scene, climate, climates
from sprayadvisor.advice.job_climates import Group, job_climates
from sprayadvisor.advice.members import draw, single
from sprayadvisor.advice.model import Colour, Material, Panel, Part

ROOF = Panel(Part.ROOF, Colour.BLACK)
DOOR = Panel(Part.LEFT_DOOR, Colour.WHITE, Material.PLASTIC)
DAMP = {"rh_pct": 99.0, "cloud_fraction": 0.0, "wind_10m_ms": 0.5}


def assert_same(one: Climate, other: Climate) -> None:
    """Every number is the same, the unknown ones too."""
    assert (one.n_cases, one.n_members) == (other.n_cases, other.n_members)
    np.testing.assert_array_equal(one.starts_utc, other.starts_utc)
    assert set(one.values) == set(other.values)
    for name, array in one.values.items():
        np.testing.assert_array_equal(array, other[name], err_msg=name)


def scene(place: int, days: int = 3, members: int = 4, **weather):
    """Return two panels at one of many places in weather of its own."""
    site = replace(SITE, latitude=50.0 + place, elevation_m=40.0 * place)
    cases = [Case(site, ROOF), Case(site, DOOR, 90.0 * place, washed_at_min=60 * place)]
    drawn = draw(outlook(days, **weather), members, seed=place, origin=EVENING)
    return Scene(drawn, cases)


@pytest.mark.parametrize("most_rows", [4096, 12, 1])
def test_scenes_together_are_as_alone(monkeypatch, most_rows):
    """To the last digit, with gaps, other lengths, other members, and however many at once."""
    monkeypatch.setattr(climate_module, "MOST_ROWS", most_rows)
    gap = np.full(3 * 96, 12.0)
    gap[100:104] = np.nan
    scenes = [
        scene(1),
        scene(2, days=4, air_temp_c=2.0),
        scene(3, air_temp_c=gap),
        scene(4, members=6, rain_mm=0.3, wet_hour_mm=1.2),
        scene(5, pressure_hpa=np.nan),
    ]
    together = climates(scenes)
    for one, whole in zip(scenes, together, strict=True):
        assert_same(climate(one.members, one.cases, one.air_quality), whole)


def test_no_scenes_have_no_climates():
    """An empty day."""
    assert climates([]) == []
    assert job_climates([]) == {}


def test_each_job_has_its_own_cases_and_those_wet_on_arrival_are_wiped():
    """By reference, in whatever group it stands; a dry job is not wiped."""
    damp, fair = single(outlook(**DAMP)), single(outlook())
    two = job(ref="A", panels=(ROOF, DOOR), arrive_from=time(8), arrive_to=time(9))
    one = job(ref="B", panels=(DOOR,), driven_until=time(8), heading_deg=45.0)
    dry = job(ref="C", panels=(ROOF,))
    found = job_climates([Group([two, one], damp), Group([dry], fair)])
    assert list(found) == ["A", "B", "C"]
    for booking, members in ((two, damp), (one, damp), (dry, fair)):
        cases = cases_of(booking, members.starts_utc)
        assert_same(climate(members, cases), found[booking.ref].climate)
    assert found["C"].wiped is None
    wiped = found["A"].wiped
    assert wiped.n_cases == 2
    step = 2 * 96 + 28
    assert wiped["film_mm"][0, step] < found["A"].climate["film_mm"][0, step]

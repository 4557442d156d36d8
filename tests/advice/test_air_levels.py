"""Levels of what lands in wet paint: what raises each, when, and what an unknown one does."""

from dataclasses import replace

import numpy as np
import pytest
from days import BUMPER, GRID_BEGINS, SITE, outlook

from sprayadvisor.advice.air_levels import HAZARD_OF, air_levels, hazard_of, unknown_as_low
from sprayadvisor.advice.case import Case
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.members import single
from sprayadvisor.advice.model import Colour, Cover, Ground, Panel, Part, Surroundings
from sprayadvisor.advice.outlook import AirQuality, Provenance
from sprayadvisor.science.airborne import HAZARDS

NOON, DUSK = 2 * 96 + 52, 2 * 96 + 78  # 13:00 and 19:30 UTC of the day; the sun sets at 19:38
JULY = np.datetime64("2026-07-15T00:00:00", "s")
WHITE = Panel(Part.REAR_BUMPER, Colour.WHITE)
LOW, SOME, HIGH = 0.0, 1.0, 2.0


def air(**grains: float) -> AirQuality:
    """Return the same air all along; what is not given is not known."""
    names = ["pm10_ugm3", *(f"{p}_pollen_m3" for p in ("alder", "birch", "grass"))]
    names += [f"{p}_pollen_m3" for p in ("mugwort", "olive", "ragweed")]
    begin = np.datetime64(GRID_BEGINS.replace(tzinfo=None), "s")
    hours = begin + np.arange(120) * np.timedelta64(3600, "s")
    values = {name: np.full(120, grains.get(name.split("_")[0], np.nan)) for name in names}
    return AirQuality(hours, values, Provenance("invented", GRID_BEGINS))


def levels(site=SITE, panel=BUMPER, quality=None, begin=None, wet=None, **weather):
    """Return what one panel meets, by quantity, in a single member."""
    sky = outlook(**weather)
    if begin is not None:
        sky = replace(sky, starts_utc=begin + (sky.starts_utc - sky.starts_utc[0]))
    if wet is not None:
        sky.wet_hour_mm[wet] = 0.5
    met = climate(single(sky), [Case(site, panel)], quality)
    return {name: met[name][0] for name in HAZARD_OF}


def test_every_level_has_its_hazard_and_no_other_quantity_has_one():
    """Reason and action are found by the quantity."""
    assert {hazard_of(name) for name in HAZARD_OF} == set(HAZARDS.values())
    assert hazard_of("wind_ms") is None


def test_flies_come_with_warmth_season_dusk_and_light_paint():
    """A warm still evening in July is high, April one less, the south has its summer in January."""
    warm = {"air_temp_c": 19.0, "wind_10m_ms": 1.0}
    assert levels(**warm)["insect_level"][DUSK] == SOME
    july = levels(begin=JULY, **warm)["insect_level"]
    sunset = 2 * 96 + 84  # about 21:00 UTC in July
    assert july[sunset] == HIGH
    assert july[sunset - 12] == SOME  # three hours before: warm and still
    cold = levels(begin=JULY, air_temp_c=8.0, wind_10m_ms=1.0)["insect_level"]
    assert cold[sunset] == LOW
    south = replace(SITE, latitude=-53.0)
    january = np.datetime64("2026-01-15T00:00:00", "s")
    assert levels(south, begin=january, **warm)["insect_level"].max() == HIGH
    assert levels(south, begin=JULY, **warm)["insect_level"].max() == SOME
    assert levels(panel=WHITE, begin=JULY, **warm)["insect_level"][sunset - 12] == HIGH


def test_a_lit_lamp_draws_flies_once_the_sun_is_low():
    """By day it makes no difference."""
    found = levels(begin=JULY, air_temp_c=17.0, wind_10m_ms=1.0)
    night = 2 * 96 + 91  # 22:45 UTC, beyond an hour and a half after sunset
    assert found["insect_level"][night] == SOME
    assert found["insect_lamp_level"][night] == HIGH
    assert found["insect_lamp_level"][NOON] == found["insect_level"][NOON]


def test_dust_needs_gusts_on_dry_ground_or_traffic():
    """Rain lays it, gravel gives more, a kerb brings some whatever the wind."""
    windy = {"gust_10m_ms": 10.0}  # 6 m/s at the ground of a suburb
    assert levels(**windy)["dust_level"][NOON] == HIGH
    rained = levels(wet=slice(NOON - 4, NOON), **windy)["dust_level"]
    assert rained[[NOON - 1, NOON + 4, NOON + 20, NOON + 60]].tolist() == [LOW, LOW, SOME, HIGH]
    breezy = {"gust_10m_ms": 6.0}
    assert levels(**breezy)["dust_level"][NOON] == SOME
    assert levels(replace(SITE, ground=Ground.GRAVEL), **breezy)["dust_level"][NOON] == HIGH
    assert levels(replace(SITE, kerb=True), gust_10m_ms=1.0)["dust_level"][NOON] == SOME
    open_ground = replace(SITE, surroundings=Surroundings.OPEN)
    assert levels(open_ground, gust_10m_ms=7.0)["dust_level"][NOON] == HIGH


@pytest.mark.parametrize(
    ("changes", "after"),
    [
        ({}, [SOME, LOW, LOW, LOW]),
        ({"cover": Cover.TREES}, [HIGH, HIGH, LOW, LOW]),
        ({"kerb": True}, [HIGH, HIGH, HIGH, LOW]),
        ({"kerb": True, "cover": Cover.CANOPY}, [HIGH, HIGH, HIGH, LOW]),
        ({"kerb": True, "cover": Cover.INDOORS}, [LOW, LOW, LOW, LOW]),
    ],
)
def test_drips_go_on_after_rain(changes, after):
    """At once, half an hour, an hour and a quarter, and two hours after the last wet hour."""
    found = levels(replace(SITE, **changes), wet=slice(NOON - 4, NOON))["drip_level"]
    assert found[[NOON - 1, NOON + 1, NOON + 4, NOON + 8]].tolist() == after
    assert found[NOON - 5] == LOW


def test_a_washed_car_drips_for_an_hour_and_a_driven_one_if_the_road_was_wet():
    """Water in every gap, whatever the weather."""
    hour = slice(NOON, NOON + 6)

    def drips(wet=None, **done):
        sky = outlook()
        if wet is not None:
            sky.wet_hour_mm[wet] = 0.5
        return climate(single(sky), [Case(SITE, BUMPER, **done)])["drip_level"][0, hour].tolist()

    soaked, dry = [HIGH] * 4 + [LOW] * 2, [LOW] * 6
    assert drips(washed_at_min=NOON * 15 + 3) == soaked
    assert drips(driven_at_min=NOON * 15) == dry
    assert drips(wet=slice(NOON - 8, NOON - 4), driven_at_min=NOON * 15) == soaked
    assert drips(wet=slice(NOON - 12, NOON - 8), driven_at_min=NOON * 15) == dry
    assert drips(washed_at_min=-15, driven_at_min=10**6) == dry


def test_an_hour_of_unknown_rain_counts_as_whichever_is_worse():
    """Dry for dust, wet for drips; neither is left unknown by it."""
    gap = {"wet_hour_mm": np.where(np.arange(480) == NOON - 1, np.nan, 0.0), "gust_10m_ms": 10.0}
    trees = levels(replace(SITE, cover=Cover.TREES), **gap)
    assert trees["dust_level"][NOON] == HIGH
    assert trees["drip_level"][NOON] == HIGH


def test_pollen_is_graded_by_kind_and_the_worst_counts():
    """Trees together, grasses, weeds; fine dust by its own bounds."""
    found = levels(quality=air(alder=50.0, birch=45.0, grass=3.0, pm10=50.0))
    assert found["pollen_level"][NOON] == HIGH
    assert found["pm10_level"][NOON] == SOME
    assert levels(quality=air(birch=45.0))["pollen_level"][NOON] == SOME
    assert levels(quality=air(grass=21.0))["pollen_level"][NOON] == HIGH
    assert levels(quality=air(ragweed=9.0, mugwort=0.5, pm10=95.0))["pollen_level"][NOON] == LOW


def test_without_air_quality_pollen_is_not_known_and_held_against_nobody():
    """Unknown in the climate, none in what is checked; other levels stay as they are."""
    for quality in (None, air()):
        found = levels(quality=quality, gust_10m_ms=10.0)
        assert np.isnan(found["pollen_level"]).all()
        assert np.isnan(found["pm10_level"]).all()
        checked = unknown_as_low({name: values[np.newaxis] for name, values in found.items()})
        assert set(checked) == set(HAZARD_OF)
        assert not checked["pollen_level"].any()
        assert checked["dust_level"][0, NOON] == HIGH


def test_levels_share_the_shape_of_the_weather():
    """One row for each member, whatever is the same for all."""
    members = single(outlook())
    met = climate(members, [Case(SITE, BUMPER)])
    trees = Case(SITE, BUMPER, cover=Cover.TREES)
    found = air_levels(met.values, trees, members, air(birch=1.0))
    assert {values.shape for values in found.values()} == {met["air_temp_c"].shape}

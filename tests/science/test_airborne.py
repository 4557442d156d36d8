"""What lands in wet paint: directions, bounds, gaps.

The levels are trade judgement, no source, except where ``tests/reference`` holds them to one.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.advice.model import Ground
from sprayadvisor.errors import InputError, RangeError
from sprayadvisor.science import airborne
from sprayadvisor.science.airborne import HIGH, LOW, SOME

NAN = math.nan
DAY = 6.0  # hours to sunset, far from it


@pytest.mark.parametrize(
    ("air", "wind", "sun", "to_sunset", "month", "extra", "level"),
    [
        (24.0, 1.0, 55.0, DAY, 7, {}, HIGH),  # still midday heat
        (24.0, 3.0, 55.0, DAY, 7, {}, LOW),  # the same with a breeze
        (19.0, 1.0, 55.0, DAY, 7, {}, SOME),  # warm and still, not hot
        (19.0, 3.0, 2.0, 0.5, 7, {}, SOME),  # breeze at sunset
        (12.0, 1.0, 2.0, 0.5, 7, {}, SOME),
        (12.0, 1.0, 55.0, DAY, 7, {}, LOW),
        (19.0, 1.0, 2.0, 0.5, 10, {}, SOME),  # one less outside the season
        (12.0, 1.0, 2.0, 0.5, 4, {}, LOW),
        (19.0, 1.0, 55.0, DAY, 7, {"light_colour": True}, HIGH),
        (19.0, 1.0, -5.0, -2.0, 7, {"lamp": True}, HIGH),
        (19.0, 1.0, 30.0, DAY, 7, {"lamp": True}, SOME),  # by day a lamp draws nothing
        (8.0, 1.0, -5.0, 0.0, 7, {"lamp": True, "light_colour": True}, LOW),  # none fly
        (19.0, 1.0, 2.0, math.inf, 7, {}, SOME),  # a day without a sunset
    ],
)
def test_insect_level(air, wind, sun, to_sunset, month, extra, level):
    """Warmth, stillness, sunset or midday, season, colour and lamp, scalar and array."""
    assert airborne.insect_level(air, wind, sun, to_sunset, month, **extra) == level
    array = airborne.insect_level(np.array([air]), wind, sun, to_sunset, month, **extra)
    np.testing.assert_array_equal(array, [level])


@given(
    st.floats(-10.0, 40.0),
    st.floats(0.0, 15.0),
    st.floats(-30.0, 60.0),
    st.floats(-12.0, 12.0),
    st.integers(1, 12),
)
def test_more_wind_or_cold_never_brings_more_insects(air, wind, sun, to_sunset, month):
    """A level falls with either, rises with a light colour, and is one of three."""
    level = airborne.insect_level(air, wind, sun, to_sunset, month)
    assert level in (LOW, SOME, HIGH)
    assert airborne.insect_level(air, wind + 1.0, sun, to_sunset, month) <= level
    assert airborne.insect_level(air - 2.0, wind, sun, to_sunset, month) <= level
    assert airborne.insect_level(air, wind, sun, to_sunset, month, light_colour=True) >= level


@pytest.mark.parametrize("place", range(5))
def test_insects_unknown_where_anything_is_unknown(place):
    """A gap in any input gives NaN there and there only."""
    values = [np.full(2, each) for each in (19.0, 1.0, 2.0, 0.5, 7.0)]
    values[place] = values[place].copy()
    values[place][0] = NAN
    np.testing.assert_array_equal(airborne.insect_level(*values), [NAN, HIGH])


@pytest.mark.parametrize(
    ("gust", "dry_h", "ground", "traffic", "level"),
    [
        (2.0, 100.0, "paved", False, LOW),
        (2.0, 100.0, "gravel", False, LOW),  # loose, but nothing lifts it
        (4.0, 100.0, "paved", False, SOME),
        (4.0, 100.0, "gravel", False, HIGH),
        (4.0, 100.0, "grass", False, LOW),
        (7.0, 100.0, "paved", False, HIGH),
        (7.0, 100.0, "grass", False, SOME),
        (7.0, 6.0, "paved", False, SOME),  # damp
        (12.0, 1.0, "gravel", True, LOW),  # wet
        (1.0, 100.0, "paved", True, SOME),  # traffic, whatever the wind
        (7.0, math.inf, "gravel", True, HIGH),
    ],
)
def test_dust_level(gust, dry_h, ground, traffic, level):
    """Gust, dryness, ground and traffic, scalar and array."""
    assert airborne.dust_level(gust, dry_h, ground=ground, traffic=traffic) == level
    array = airborne.dust_level(np.array([gust]), dry_h, ground=ground, traffic=traffic)
    np.testing.assert_array_equal(array, [level])


@given(st.floats(0.0, 20.0), st.floats(0.0, 72.0), st.sampled_from(list(Ground)))
def test_more_gust_or_dryness_never_brings_less_dust(gust, dry_h, ground):
    """Every ground a site may have is known, and the level rises with either."""
    level = airborne.dust_level(gust, dry_h, ground=ground)
    assert level in (LOW, SOME, HIGH)
    assert airborne.dust_level(gust + 1.0, dry_h, ground=ground) >= level
    assert airborne.dust_level(gust, dry_h + 3.0, ground=ground) >= level
    assert airborne.dust_level(gust, dry_h, ground=ground, traffic=True) >= level


@pytest.mark.parametrize(
    ("since_h", "trees", "kerb", "level"),
    [
        (0.1, False, False, SOME),
        (0.3, False, False, LOW),
        (0.5, True, False, HIGH),
        (1.2, True, False, LOW),
        (1.2, False, True, HIGH),
        (1.5, True, True, LOW),
        (math.inf, True, True, LOW),
    ],
)
def test_drip_level(since_h, trees, kerb, level):
    """Gaps drip for a quarter of an hour, trees for one, a kerb is sprayed for one and a half."""
    assert airborne.drip_level(since_h, trees=trees, kerb=kerb) == level
    drips = airborne.drip_level(np.array([since_h, NAN]), trees=trees, kerb=kerb)
    np.testing.assert_array_equal(drips, [level, NAN])


def test_a_soaked_car_drips_for_an_hour():
    """From a wash or a wet road, long after the last rain."""
    since = np.array([0.0, 0.99, 1.0, NAN])
    np.testing.assert_array_equal(airborne.drip_level(99.0, since), [HIGH, HIGH, LOW, NAN])


def test_dust_pollen_and_fine_dust_unknown_where_unknown():
    """A gap stays a gap."""
    np.testing.assert_array_equal(
        airborne.dust_level(np.array([NAN, 7.0, 7.0]), np.array([9.0, NAN, 99.0]), ground="paved"),
        [NAN, NAN, HIGH],
    )
    assert math.isnan(airborne.pollen_level(NAN))
    np.testing.assert_array_equal(airborne.pm10_level(np.array([NAN, 200.0])), [NAN, HIGH])


def test_unknown_words_are_refused():
    """The sentence gives the words that are known."""
    with pytest.raises(InputError, match="ground is 'mud'; it must be one of paved, gravel, grass"):
        airborne.dust_level(1.0, 1.0, ground="mud")
    with pytest.raises(InputError, match="kind is 'moss'; it must be one of grass, tree, weed"):
        airborne.pollen_level(1.0, kind="moss")


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: airborne.insect_level(19.0, -1.0, 2.0, 0.5, 7), "wind_ms"),
        (lambda: airborne.insect_level(19.0, 1.0, 2.0, 0.5, 13), "month"),
        (lambda: airborne.dust_level(500.0, 1.0, ground="paved"), "gust_ground_ms"),
        (lambda: airborne.drip_level(-1.0), "hours_since_rain"),
        (lambda: airborne.pollen_level(-1.0), "grains_m3"),
        (lambda: airborne.pm10_level(-1.0), "pm10_ugm3"),
    ],
)
def test_scalars_that_cannot_be_true_are_refused(call, name):
    """The sentence names the argument."""
    with pytest.raises(RangeError, match=f"^{name} is "):
        call()


def test_every_hazard_says_why_what_helps_and_by_whose_scale():
    """Words are there for each level, and a scale made for health says that it was."""
    assert set(airborne.HAZARDS) == {"insects", "dust", "drips", "pollen", "pm10"}
    for hazard in airborne.HAZARDS.values():
        assert all(len(words) > 3 for words in hazard)
        assert hazard.some != hazard.high
    for kind in ("pollen", "pm10"):
        assert "made for health" in airborne.HAZARDS[kind].scale

"""Wind at the gun: factors, Beaufort numbers, gusts that last."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from sprayadvisor.advice.model import Surroundings
from sprayadvisor.errors import InputError, RangeError
from sprayadvisor.science import wind

GUSTS = hnp.arrays(
    np.float64,
    st.integers(1, 40),
    elements=st.one_of(st.just(math.nan), st.integers(0, 20).map(float)),
)


@pytest.mark.parametrize(
    ("surroundings", "mean", "gust"),
    [("open", 0.77, 0.9), ("suburb", 0.47, 0.6), ("dense", 0.35, 0.5)],
)
def test_gun_height_factor(surroundings, mean, gust):
    """Trade judgement for the gusts and the dense street, no source; profile for the others."""
    assert wind.gun_height_factor(surroundings) == (mean, gust)


def test_every_surroundings_of_a_site_has_a_factor():
    """A site's word is always known, and a more sheltered one never has more wind."""
    factors = [wind.gun_height_factor(each) for each in Surroundings]
    assert factors == sorted(factors, reverse=True)


def test_unknown_surroundings_are_refused():
    """One sentence names the word and those that are known."""
    with pytest.raises(InputError, match="'desert'; it must be one of open, suburb, dense"):
        wind.gun_height_factor("desert")


def test_beaufort_of_scalars_arrays_and_gaps():
    """A float for a scalar, NaN stays, and a wind that cannot be is refused."""
    assert type(wind.beaufort(5.5)) is float
    np.testing.assert_array_equal(wind.beaufort(np.array([0.0, np.nan, 99.0])), [0, np.nan, 12])
    with pytest.raises(RangeError, match="wind_10m_ms is -1 m/s"):
        wind.beaufort(-1.0)


def slowly(gust):
    """Return the sustained gust by plain loops over two-hour stretches."""
    length = min(8, len(gust))
    kept = np.full(len(gust), math.nan)
    for step in range(len(gust)):
        for begin in range(len(gust) - length + 1):
            stretch = gust[begin : begin + length]
            if begin <= step < begin + length and not np.isnan(stretch).any():
                kept[step] = np.nanmax([kept[step], stretch.min()])
    return kept


@given(GUSTS)
def test_sustained_gust_equals_plain_loops(gust):
    """The same as trying every stretch of eight steps, gaps and short grids included."""
    np.testing.assert_array_equal(wind.gust_sustained_ms(gust), slowly(gust))


@given(GUSTS)
def test_sustained_gust_is_never_above_the_gust(gust):
    """What lasts is at most what there is, and a gap stays a gap."""
    kept = wind.gust_sustained_ms(gust)
    known = ~np.isnan(kept)
    assert np.all(kept[known] <= gust[known])
    assert np.isnan(kept[np.isnan(gust)]).all()


def test_one_gusty_hour_leaves_no_mark_and_two_do():
    """A single hour is a puff; the same level for two hours running counts in full."""
    one, two = np.full(24, 4.0), np.full(24, 4.0)
    one[8:12] = 11.0
    two[8:16] = 11.0
    np.testing.assert_array_equal(wind.gust_sustained_ms(one), np.full(24, 4.0))
    np.testing.assert_array_equal(wind.gust_sustained_ms(two), two)


def test_sustained_gust_over_members():
    """The last axis is the step; each member is taken by itself. No steps give no steps."""
    gusts = np.random.default_rng(3).uniform(0.0, 15.0, (2, 3, 30))
    kept = wind.gust_sustained_ms(gusts)
    np.testing.assert_array_equal(kept[1, 2], slowly(gusts[1, 2]))
    assert wind.gust_sustained_ms(np.empty((4, 0))).shape == (4, 0)


@pytest.mark.parametrize(
    ("wind_from", "side", "reached"),
    [(180.0, 0.0, 1.0), (0.0, 0.0, 0.0), (135.0, 0.0, 1.0), (134.0, 0.0, 0.0), (225.0, 0.0, 1.0),
     (350.0, 180.0, 1.0), (10.0, 180.0, 1.0), (math.nan, 90.0, math.nan)],
)  # fmt: skip
def test_mist_goes_where_the_wind_blows_and_a_little_beside(wind_from, side, reached):
    """Half a right angle to either side, across north too; unknown stays unknown."""
    np.testing.assert_equal(wind.mist_reaches(wind_from, side_deg=side), reached)
    many = wind.mist_reaches(np.array([wind_from, wind_from]), side_deg=side)
    np.testing.assert_array_equal(many, [reached, reached])

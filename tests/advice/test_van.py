"""How cold and how hot a parked van gets: never colder than the clear sky makes it, with a lag."""

from datetime import date

import numpy as np
import pytest
from days import DAY, ZONE, outlook
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.advice.van import (
    CLEAR_NIGHT_LOSS_K,
    SUN_GAIN_K_PER_WM2,
    VanTemps,
    van_temp_c,
    van_temps,
)

THURSDAY = date(2026, 4, 16)
STILL = {"ghi_wm2": 0.0, "cloud_fraction": 1.0, "air_temp_c": 8.0}
temps = st.floats(-20.0, 40.0)


def steady(air_c, cloud, ghi, steps=96):
    """Return the last of a day of the same weather."""
    return van_temp_c(np.full(steps, air_c), np.full(steps, cloud), np.full(steps, ghi))[-1]


def test_under_cloud_at_night_the_van_is_as_cold_as_the_air():
    """A clear sky takes its share, the sun gives its own."""
    assert steady(8.0, 1.0, 0.0) == pytest.approx(8.0)
    assert steady(8.0, 0.0, 0.0) == pytest.approx(8.0 - CLEAR_NIGHT_LOSS_K)
    assert steady(24.0, 0.0, 800.0) == pytest.approx(24.0 + 800.0 * SUN_GAIN_K_PER_WM2)


@given(temps, temps)
def test_the_van_lags_between_what_was_and_what_is(before, after):
    """It never overshoots, and in two hours goes 63 % of the way."""
    air = np.r_[np.full(8, before), np.full(8, after)]
    met = van_temp_c(air, np.ones(16), np.zeros(16))
    assert min(before, after) - 1e-9 <= met.min() <= met.max() <= max(before, after) + 1e-9
    assert met[-1] == pytest.approx(after + (before - after) * np.exp(-1.0), abs=1e-6)


def test_gaps_are_not_known_and_the_van_keeps_what_it_had():
    """NaN where the weather is, and nowhere else."""
    air = np.array([np.nan, 10.0, np.nan, 10.0, 10.0])
    met = van_temp_c(air, np.ones(5), np.zeros(5))
    np.testing.assert_array_equal(met, [np.nan, 10.0, np.nan, 10.0, 10.0])


def test_night_and_day_are_those_asked_about():
    """From six in the evening to eight, and the heat of the day, both local."""
    cold = np.full(5 * 96, 8.0)
    cold[2 * 96 : 2 * 96 + 24] = 1.0  # before dawn on the day
    weather = outlook(**(STILL | {"air_temp_c": cold}))
    assert van_temps(weather, THURSDAY, DAY, ZONE).low_c == pytest.approx(1.35, abs=0.01)
    assert van_temps(weather, DAY, DAY, ZONE).low_c == pytest.approx(8.0, abs=0.05)
    warm = outlook(air_temp_c=25.0, ghi_wm2=lambda h: np.where((h > 9) & (h < 16), 800.0, 0.0))
    assert 38.0 < van_temps(warm, THURSDAY, DAY, ZONE).high_c < 40.0


def test_a_night_not_known_throughout_is_not_known():
    """Its coldest hour may be the one that is missing; a day before the forecast likewise."""
    holed = np.full(5 * 96, 8.0)
    holed[2 * 96 + 8] = np.nan
    found = van_temps(outlook(**(STILL | {"air_temp_c": holed})), THURSDAY, DAY, ZONE)
    assert np.isnan(found.low_c)
    assert found.high_c == pytest.approx(8.0)
    gone = van_temps(outlook(), date(2026, 4, 10), date(2026, 4, 10), ZONE)
    assert np.isnan(gone).all()
    assert np.isnan(VanTemps()).all()

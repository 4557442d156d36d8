"""Daylight: scalars, arrays, gaps, and when a low sun dazzles."""

import math

import numpy as np
import pytest

from sprayadvisor.errors import RangeError
from sprayadvisor.science import light


@pytest.mark.parametrize("function", [light.illuminance_lx, light.diffuse_illuminance_lx])
def test_daylight_is_in_proportion(function):
    """Twice the radiation is twice the light, none is dark, unknown stays unknown."""
    assert function(0.0) == 0.0
    assert function(200.0) == 2 * function(100.0)
    assert math.isnan(function(math.nan))
    np.testing.assert_array_equal(
        function(np.array([0.0, 100.0, np.nan])), [0.0, function(100.0), np.nan]
    )


@pytest.mark.parametrize(
    ("elevation", "beam", "low"),
    [
        (5.0, 400.0, 1.0),
        (5.0, 120.0, 0.0),  # behind cloud: good light
        (7.9, 121.0, 1.0),
        (8.0, 400.0, 0.0),
        (0.0, 400.0, 0.0),
        (-3.0, 400.0, 0.0),
    ],
)
def test_a_low_sun_counts_only_when_it_shines(elevation, beam, low):
    """Above the horizon, below 8° and with a beam; an overcast winter noon is fine."""
    assert light.low_sun(elevation, beam) == low
    np.testing.assert_array_equal(light.low_sun(np.array([elevation]), beam), [low])


def test_an_unknown_beam_or_sun_is_unknown():
    """NaN stays NaN wherever it comes from."""
    unknown = light.low_sun(np.array([np.nan, 40.0, 5.0]), np.array([0.0, np.nan, 0.0]))
    np.testing.assert_array_equal(unknown, [np.nan, np.nan, 0.0])
    assert math.isnan(light.low_sun(5.0, math.nan))


def test_radiation_that_cannot_be_is_refused():
    """The sentence names the argument."""
    with pytest.raises(RangeError, match="ghi_wm2 is -5 W/m²"):
        light.illuminance_lx(-5.0)
    with pytest.raises(RangeError, match="dhi_wm2 is 5000 W/m²"):
        light.diffuse_illuminance_lx(5000.0)
    with pytest.raises(RangeError, match="sun_elevation_deg is 95"):
        light.low_sun(95.0, 0.0)

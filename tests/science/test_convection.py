"""Convection: what wind, lee, tilt and calm make of it."""

import math

import numpy as np
import pytest

from sprayadvisor.errors import RangeError
from sprayadvisor.science import convection


def test_from_half_a_metre_per_second_the_wind_rules_alone():
    """There the coefficient is McAdams', whatever the panel's temperature."""
    for wind_ms in (0.5, 1.0, 3.0, 10.0):
        expected = 5.7 + 3.8 * wind_ms
        for excess in (-10.0, 0.0, 40.0):
            h = convection.convection_wm2k(wind_ms, excess, 3.0)
            assert h == pytest.approx(expected)


def test_in_a_calm_a_cold_panel_keeps_its_cold_better_than_a_hot_one_its_heat():
    """Air lies still on a cold roof and rises off a hot one; upright there is no difference."""
    cold = convection.convection_wm2k(0.0, -8.0, 0.0)
    hot = convection.convection_wm2k(0.0, 8.0, 0.0)
    assert 2.0 < cold < hot < 5.7
    upright = convection.convection_wm2k(0.0, np.array([-8.0, 8.0]), 90.0)
    assert upright[0] == pytest.approx(upright[1], rel=0.01)


def test_convection_never_falls_as_the_wind_rises():
    """The hand-over from calm to wind has no step and no dip."""
    wind = np.linspace(0.0, 1.0, 1001)
    for excess in (-15.0, -0.1, 0.0, 5.0, 25.0):
        h = convection.convection_wm2k(wind, excess, 0.0)
        assert np.all(np.diff(h) >= -1e-12)
        assert np.all(np.diff(h) < 0.05)


@pytest.mark.parametrize(
    ("tilt", "from_deg", "share"),
    [
        (90.0, 180.0, 1.0),  # straight at it
        (90.0, 90.0, 1.0),  # along it
        (90.0, 0.0, 0.5),  # from behind
        (90.0, 45.0, 1 - 0.5 * math.cos(math.pi / 4)),
        (0.0, 0.0, 1.0),  # a level panel has no lee
        (90.0, math.nan, 1.0),  # unknown direction: no lee is claimed
    ],
)
def test_lee_halves_the_winds_share_on_an_upright_panel(tilt, from_deg, share):
    """A panel that faces south, in winds from around the compass."""
    assert convection.exposure(tilt, 180.0, from_deg) == pytest.approx(share)
    exposed = convection.exposure(tilt, 180.0, np.array([from_deg]))
    assert convection.mcadams_wm2k(2.0, exposed)[0] == pytest.approx(5.7 + 7.6 * share)


def test_unknown_in_is_unknown_out():
    """A missing wind or temperature leaves no coefficient."""
    assert math.isnan(convection.convection_wm2k(math.nan, 5.0, 0.0))
    assert math.isnan(convection.convection_wm2k(0.1, math.nan, 0.0))
    assert math.isnan(convection.mcadams_wm2k(math.nan))
    assert math.isnan(convection.wind_share(math.nan))


def test_a_wind_that_cannot_be_is_refused():
    """The error names the wind and its bounds."""
    with pytest.raises(RangeError, match="wind_ms is -1 m/s; it must lie between 0 and 115"):
        convection.convection_wm2k(-1.0, 0.0, 0.0)

"""Long-wave sky: directions, bounds, the blend of two clouds, what stays unknown."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.errors import RangeError
from sprayadvisor.science import sky

TEMPS = st.floats(-40.0, 45.0)
HUMIDITIES = st.floats(1.0, 100.0)
FRACTIONS = st.floats(0.0, 1.0)


@given(TEMPS, HUMIDITIES)
def test_clear_sky_emissivity_is_a_share(air, rh):
    """Between 0.6 and 1 in any air a painter meets."""
    assert 0.6 < sky.clear_sky_emissivity(air, rh) < 1.0


@given(TEMPS, st.floats(1.0, 95.0), st.floats(0.0, 0.95))
def test_damper_or_cloudier_air_sends_more(air, rh, cloud):
    """Radiation rises with humidity and with cloud, and never beyond a black body at air."""
    base = sky.longwave_down_wm2(air, rh, cloud)
    assert sky.longwave_down_wm2(air, rh + 5.0, cloud) > base
    assert sky.longwave_down_wm2(air, rh, cloud + 0.05) > base
    assert base <= sky.STEFAN_BOLTZMANN_WM2K4 * (air + sky.KELVIN) ** 4


@given(TEMPS, HUMIDITIES, FRACTIONS)
def test_sky_temperature_round_trip(air, rh, cloud):
    """A black sky at the sky temperature sends the radiation back, and is not over the air."""
    radiation = sky.longwave_down_wm2(air, rh, cloud)
    temp = sky.sky_temp_c(radiation)
    assert sky.STEFAN_BOLTZMANN_WM2K4 * (temp + sky.KELVIN) ** 4 == pytest.approx(radiation)
    assert temp <= air + 1e-9


@pytest.mark.parametrize(
    ("ghi", "clear", "cloud"),
    [(800.0, 800.0, 0.0), (900.0, 800.0, 0.0), (0.0, 800.0, 1.0), (200.0, 800.0, 0.75)],
)
def test_cloud_from_the_missing_sunshine(ghi, clear, cloud):
    """One less the ratio, clipped: brighter than clear is no cloud."""
    assert sky.cloud_fraction_from_sun(ghi, clear) == pytest.approx(cloud)
    np.testing.assert_allclose(sky.cloud_fraction_from_sun(np.array([ghi]), clear), [cloud])


def test_cloud_from_a_sun_too_weak_to_tell():
    """Below 20 W/m² of clear-sky radiation, and by night, the answer is unknown."""
    cloud = sky.cloud_fraction_from_sun(np.array([0.0, 5.0, 10.0]), np.array([0.0, 19.9, 20.0]))
    np.testing.assert_array_equal(cloud, [np.nan, np.nan, 0.5])


@pytest.mark.parametrize(
    ("elevation", "cloud"),
    [(60.0, 0.75), (15.0, 0.75), (10.0, 0.475), (5.0, 0.2), (-30.0, 0.2)],
)
def test_cloud_by_day_by_night_and_between(elevation, cloud):
    """Radiation tells by day, the forecast by night, half and half with the sun at 10°."""
    assert sky.effective_cloud_fraction(200.0, 800.0, elevation, 0.2) == pytest.approx(cloud)


def test_what_carries_no_weight_may_be_missing():
    """By night the radiation, by day the forecast's cloud; in between both are needed."""
    nan = math.nan
    assert sky.effective_cloud_fraction(0.0, 0.0, -10.0, 0.3) == 0.3
    assert sky.effective_cloud_fraction(nan, nan, -10.0, 0.3) == 0.3
    assert sky.effective_cloud_fraction(200.0, 800.0, 40.0, nan) == 0.75
    for values in ((nan, 800.0, 10.0, 0.3), (200.0, 800.0, 10.0, nan), (200.0, 800.0, nan, 0.3)):
        assert math.isnan(sky.effective_cloud_fraction(*values))
    assert math.isnan(sky.effective_cloud_fraction(nan, 800.0, 40.0, 0.3))
    assert math.isnan(sky.effective_cloud_fraction(0.0, 0.0, -10.0, nan))


@given(st.floats(-20.0, 70.0), FRACTIONS, FRACTIONS)
def test_the_blend_lies_between_the_two_clouds(elevation, share, forecast):
    """Never outside what the sun and the forecast say."""
    by_sun = sky.cloud_fraction_from_sun(600.0 * (1.0 - share), 600.0)
    blend = sky.effective_cloud_fraction(600.0 * (1.0 - share), 600.0, elevation, forecast)
    assert min(by_sun, forecast) - 1e-12 <= blend <= max(by_sun, forecast) + 1e-12


def test_scalars_arrays_and_gaps():
    """Scalars give floats, arrays broadcast over (member, step), NaN stays."""
    assert type(sky.longwave_down_wm2(10, 80, 0)) is float
    radiation = sky.longwave_down_wm2(np.full((3, 1), 10.0), 80.0, np.array([0.0, 0.5, np.nan]))
    assert radiation.shape == (3, 3)
    np.testing.assert_array_equal(np.isnan(radiation[0]), [False, False, True])
    assert math.isnan(sky.sky_temp_c(math.nan))
    assert math.isnan(sky.clear_sky_emissivity(math.nan, 50.0))


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: sky.longwave_down_wm2(10.0, 80.0, 1.5), "cloud_fraction"),
        (lambda: sky.clear_sky_emissivity(99.0, 80.0), "air_temp_c"),
        (lambda: sky.sky_temp_c(-1.0), "longwave_down_wm2"),
        (lambda: sky.cloud_fraction_from_sun(-1.0, 100.0), "ghi_wm2"),
        (lambda: sky.effective_cloud_fraction(0.0, 0.0, 91.0, 0.0), "sun_elevation_deg"),
    ],
)
def test_scalars_that_cannot_be_true_are_refused(call, name):
    """The sentence names the argument."""
    with pytest.raises(RangeError, match=f"^{name} is "):
        call()

"""Humidity: round trips, directions, bounds, what is refused and what stays unknown."""

import inspect
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.errors import InputError, RangeError
from sprayadvisor.science import humidity

TEMPS = st.floats(-40.0, 50.0)
HUMIDITIES = st.floats(1.0, 100.0)
FUNCTIONS = (
    (humidity.saturation_pressure_hpa, (20.0,)),
    (humidity.saturation_pressure_ice_hpa, (-5.0,)),
    (humidity.vapour_pressure_hpa, (20.0, 50.0)),
    (humidity.vapour_pressure_deficit_hpa, (20.0, 50.0)),
    (humidity.dew_point_c, (20.0, 50.0)),
    (humidity.dew_point_from_pressure_c, (11.7,)),
    (humidity.frost_point_c, (-5.0, 50.0)),
    (humidity.rh_from_dew_point_pct, (20.0, 9.3)),
    (humidity.surface_rh_pct, (20.0, 50.0, 12.0)),
    (humidity.wet_bulb_c, (20.0, 50.0, 1000.0)),
)


@pytest.mark.parametrize(
    ("function", "values"), FUNCTIONS, ids=lambda v: getattr(v, "__name__", "")
)
def test_scalars_and_arrays_alike(function, values):
    """A scalar gives a plain float, arrays of any shape the same numbers in that shape."""
    scalar = function(*values)
    assert type(scalar) is float
    array = function(*(np.full((2, 3), value) for value in values))
    assert array.shape == (2, 3)
    np.testing.assert_allclose(array, scalar, rtol=1e-12)


@pytest.mark.parametrize(
    ("function", "values"), FUNCTIONS, ids=lambda v: getattr(v, "__name__", "")
)
def test_nan_in_any_place_stays_nan(function, values):
    """A missing value never turns into a number, in scalars or arrays."""
    for place in range(len(values)):
        holed = [math.nan if index == place else value for index, value in enumerate(values)]
        assert math.isnan(function(*holed))
        assert np.isnan(function(*(np.array([value, value]) for value in holed))).all()


@pytest.mark.parametrize(
    ("function", "values"), FUNCTIONS, ids=lambda v: getattr(v, "__name__", "")
)
def test_scalars_that_cannot_be_true_are_refused_by_name(function, values):
    """Each argument is checked, and the sentence says which, its value and its range."""
    for place, name in enumerate(inspect.signature(function).parameters):
        wrong = [4321.0 if index == place else value for index, value in enumerate(values)]
        with pytest.raises(RangeError, match=rf"{name} is 4321 .*between"):
            function(*wrong)


def test_keywords_and_whole_numbers_will_do():
    """Arguments may be named, and integers, lists and mixed shapes broadcast."""
    assert humidity.dew_point_c(rh_pct=50, air_temp_c=20) == humidity.dew_point_c(20.0, 50.0)
    mixed = humidity.dew_point_c([10, 20], np.array([[50.0], [80.0], [90.0]]))
    assert mixed.shape == (3, 2)


@given(TEMPS, HUMIDITIES)
def test_dew_point_round_trip(air, rh):
    """Humidity from the dew point of a humidity is that humidity, to 1e-9."""
    dew = humidity.dew_point_c(air, rh)
    assert humidity.rh_from_dew_point_pct(air, dew) == pytest.approx(rh, rel=1e-9)
    vapour = humidity.vapour_pressure_hpa(air, rh)
    assert humidity.dew_point_from_pressure_c(vapour) == pytest.approx(dew, abs=1e-9)


@given(TEMPS, HUMIDITIES)
def test_dew_point_lies_at_or_below_the_air(air, rh):
    """Td ≤ T, Td(T, 100 %) = T, and the frost point lies between the two when it freezes."""
    dew = humidity.dew_point_c(air, rh)
    assert dew <= air + 1e-9
    assert humidity.dew_point_c(air, 100.0) == pytest.approx(air, abs=1e-9)
    frost = humidity.frost_point_c(air, rh)
    assert frost >= dew - 1e-9
    if dew >= 0.0:
        assert frost == pytest.approx(dew, abs=1e-9)


@given(TEMPS, st.floats(1.0, 99.0))
def test_more_humidity_or_warmth_lifts_the_dew_point(air, rh):
    """The dew point rises with either."""
    assert humidity.dew_point_c(air, rh + 1.0) > humidity.dew_point_c(air, rh)
    assert humidity.dew_point_c(air + 1.0, rh) > humidity.dew_point_c(air, rh)


@given(TEMPS, HUMIDITIES)
def test_a_surface_at_the_dew_point_is_at_100_percent(air, rh):
    """Exactly there, more below it, less above it."""
    dew = humidity.dew_point_c(air, rh)
    assert humidity.surface_rh_pct(air, rh, dew) == pytest.approx(100.0, rel=1e-9)
    assert humidity.surface_rh_pct(air, rh, dew - 1.0) > 100.0
    assert humidity.surface_rh_pct(air, rh, dew + 1.0) < 100.0
    assert humidity.surface_rh_pct(air, rh, air) == pytest.approx(rh, rel=1e-9)


@given(TEMPS, HUMIDITIES)
def test_deficit_and_vapour_make_up_saturation(air, rh):
    """What is there and what is missing sum up to what fits."""
    parts = humidity.vapour_pressure_hpa(air, rh) + humidity.vapour_pressure_deficit_hpa(air, rh)
    assert parts == pytest.approx(humidity.saturation_pressure_hpa(air), rel=1e-12)


@given(TEMPS, HUMIDITIES, st.floats(600.0, 1080.0))
def test_wet_bulb_lies_between_dew_point_and_air(air, rh, pressure):
    """Td ≤ Tw ≤ T at every pressure."""
    wet = humidity.wet_bulb_c(air, rh, pressure)
    assert humidity.dew_point_c(air, rh) - 1e-6 <= wet <= air + 1e-6


def test_wet_bulb_converges_over_the_whole_range():
    """Every physical corner gives a finite value, scalars among them, and 100 % the air itself."""
    air, rh, pressure = np.meshgrid(
        np.linspace(-90.0, 60.0, 76), np.linspace(0.0, 100.0, 26), [500.0, 800.0, 1100.0]
    )
    wet = humidity.wet_bulb_c(air, rh, pressure)
    assert np.isfinite(wet).all()
    np.testing.assert_allclose(wet[rh == 100.0], air[rh == 100.0], atol=1e-6)
    for corner in ((-90.0, 0.0, 500.0), (60.0, 0.0, 1100.0), (60.0, 100.0, 500.0)):
        assert math.isfinite(humidity.wet_bulb_c(*corner))


def test_a_wet_bulb_that_is_not_found_is_said_or_unknown(monkeypatch):
    """Without enough steps a scalar raises one sentence; in an array that element alone is NaN."""
    monkeypatch.setattr(humidity, "_WET_BULB_STEPS", 2)
    with pytest.raises(InputError, match="No wet bulb was found for 30 °C, 20 % and 1000 hPa"):
        humidity.wet_bulb_c(30.0, 20.0, 1000.0)
    wet = humidity.wet_bulb_c(np.array([30.0, 25.0]), np.array([20.0, 100.0]))
    assert math.isnan(wet[0])
    assert wet[1] == pytest.approx(25.0)


def test_dry_air_has_no_dew_point_and_makes_no_noise():
    """0 % and 0 hPa give NaN, without a warning (warnings are errors here)."""
    assert math.isnan(humidity.dew_point_c(20.0, 0.0))
    assert np.isnan(humidity.frost_point_c(np.array([-5.0, 5.0]), 0.0)).all()
    assert math.isnan(humidity.dew_point_from_pressure_c(0.0))
    assert humidity.vapour_pressure_hpa(20.0, 0.0) == 0.0


def test_arrays_are_computed_as_they_are():
    """Impossible elements neither raise nor warn nor touch their neighbours."""
    dew = humidity.dew_point_c(np.array([20.0, 20.0, -300.0]), np.array([-5.0, 50.0, 50.0]))
    assert math.isnan(dew[0])
    assert dew[1] == humidity.dew_point_c(20.0, 50.0)


def test_water_and_ice_meet_at_freezing():
    """Below 0 °C less vapour settles on ice than on water; at 0 °C the two are equal."""
    assert humidity.saturation_pressure_ice_hpa(0.0) == humidity.saturation_pressure_hpa(0.0)
    cold = np.linspace(-60.0, -0.1, 50)
    ice, water = humidity.saturation_pressure_ice_hpa(cold), humidity.saturation_pressure_hpa(cold)
    assert np.all(ice < water)

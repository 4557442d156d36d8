"""Units at the edge."""

import math

import pytest

from sprayadvisor.units import (
    Display,
    c_to_f,
    f_to_c,
    k_to_f_difference,
    wind_from_ms,
    wind_to_ms,
)

# BIPM SI brochure and NIST SP 811: °F = 1.8 °C + 32; 1 mi/h = 0.44704 m/s; 1 kn = 1852 m/h.
TEMPERATURES = [(0.0, 32.0), (100.0, 212.0), (-40.0, -40.0)]
SPEEDS = [("ms", 1.0), ("kmh", 3.6), ("mph", 1 / 0.44704), ("kn", 3600 / 1852)]


@pytest.mark.parametrize(("celsius", "fahrenheit"), TEMPERATURES)
def test_temperatures_convert_both_ways(celsius, fahrenheit):
    """Ice, steam, and where both scales meet."""
    assert c_to_f(celsius) == pytest.approx(fahrenheit)
    assert f_to_c(fahrenheit) == pytest.approx(celsius)


def test_a_difference_has_no_offset():
    """3 K are 5.4 °F, not 37.4."""
    assert k_to_f_difference(3.0) == pytest.approx(5.4)


@pytest.mark.parametrize(("unit", "per_ms"), SPEEDS)
def test_speeds_convert_both_ways(unit, per_ms):
    """Published conversion factors."""
    assert wind_from_ms(1.0, unit) == pytest.approx(per_ms)
    assert wind_to_ms(wind_from_ms(7.3, unit), unit) == pytest.approx(7.3)


def test_numbers_are_shown_in_the_users_units():
    """Rounded, with a unit, never minus nought, and unknown for NaN."""
    metric, other = Display(), Display("f", "mph")
    assert (metric.temp(-0.4), metric.temp(12.34, 1)) == ("0 °C", "12.3 °C")
    assert (other.temp(10.0), other.difference(3.0), other.speed(4.4704)) == (
        "50 °F",
        "5.4 °F",
        "10 mph",
    )
    assert metric.difference(-0.04) == "0.0 °C"
    for told in (metric.temp, metric.difference, metric.speed):
        assert told(math.nan) == "unknown"

"""Flash-off and cure: directions, bounds, caps and what is refused."""

import math

import numpy as np
import pytest

from sprayadvisor.errors import InputError, RangeError
from sprayadvisor.science import drying

CALM = drying.WIND_REFERENCE_MS


def test_the_clock_stands_at_one_under_reference_conditions():
    """Both carriers run at 1 at the sheet's reference temperature, humidity and wind."""
    for carrier in ("solvent", "water"):
        assert drying.flash_rate(carrier, 20.0, 20.0, 50.0, CALM) == pytest.approx(1.0)
        rate = drying.flash_rate(carrier, 23.0, 23.0, 45.0, CALM, 23.0, 45.0)
        assert rate == pytest.approx(1.0)


def test_a_warmer_panel_flashes_faster_and_damp_air_slows_only_water():
    """Solvent looks at the panel alone, water at panel and air."""
    for carrier in ("solvent", "water"):
        rates = drying.flash_rate(carrier, np.linspace(5.0, 45.0, 41), 10.0, 70.0, 1.0)
        assert np.all(np.diff(rates) > 0)
    humidity = np.linspace(20.0, 90.0, 15)
    assert np.all(np.diff(drying.flash_rate("water", 20.0, 20.0, humidity, 1.0)) < 0)
    assert np.ptp(drying.flash_rate("solvent", 20.0, 20.0, humidity, 1.0)) == 0.0


@pytest.mark.parametrize("panel_temp_c", [15.0, 19.9, 20.0])
def test_water_never_dries_on_a_panel_at_or_below_the_dew_point(panel_temp_c):
    """Without drying drive the rate is exactly 0 and the minutes are infinite."""
    rate = drying.flash_rate("water", panel_temp_c, 20.0, 100.0, 3.0)
    assert rate == 0.0
    assert drying.flash_minutes(10.0, rate) == math.inf


def test_wind_helps_a_little_and_never_beyond_the_cap():
    """The factor is 1 at the reference wind, rises slowly, and is bounded at both ends."""
    assert drying.wind_factor(CALM) == 1.0
    factors = drying.wind_factor(np.linspace(0.0, 115.0, 500))
    assert np.all(np.diff(factors) >= 0)
    assert factors[0] == pytest.approx(0.2**drying.WIND_EXPONENT)
    assert factors[-1] == drying.WIND_CAP
    assert drying.wind_factor(4.0) < 1.3


@pytest.mark.parametrize(
    ("rate", "cap", "minutes"),
    [(0.5, 1.0, 20.0), (1.0, 1.0, 10.0), (1.8, 1.0, 10.0), (1.8, 2.0, 10 / 1.8), (3.0, 2.0, 5.0)],
)
def test_printed_minutes_are_a_floor_up_to_the_cap(rate, cap, minutes):
    """A fast clock shortens base to half at most, clear and primer not at all."""
    assert drying.flash_minutes(10.0, rate, cap) == pytest.approx(minutes)
    assert drying.flash_minutes(np.array([10.0]), rate, cap)[0] == pytest.approx(minutes)


def test_cure_rate_is_the_inverse_of_cure_minutes_and_stops_below_the_stall():
    """Above the stall rate × minutes is the printed time; below it nothing happens."""
    temps = np.array([4.9, 5.0, 12.0, 20.0, 60.0])
    rates = drying.cure_rate(temps, 20.0, 50.0)
    assert rates[0] == 0.0
    minutes = drying.cure_minutes(30.0, temps, 20.0, 50.0)
    np.testing.assert_allclose(rates[1:] * minutes[1:], 30.0)
    assert drying.cure_rate(4.0, 20.0, 50.0, stall_temp_c=3.0) > 0.0
    assert drying.cure_rate(20.0, 20.0, 50.0) == 1.0


def test_unknown_in_is_unknown_out():
    """One NaN among the arguments leaves no number, and touches no neighbour."""
    good = [20.0, 18.0, 60.0, 1.0, 20.0, 50.0]
    for carrier in ("solvent", "water"):
        for place in range(len(good)):
            scalars = [math.nan if i == place else v for i, v in enumerate(good)]
            assert math.isnan(drying.flash_rate(carrier, *scalars))
            arrays = [np.array([v, good[i]]) for i, v in enumerate(scalars)]
            answer = drying.flash_rate(carrier, *arrays)
            assert math.isnan(answer[0])
            assert answer[1] > 0
    for args in [(math.nan, 1.0), (10.0, math.nan), (math.nan, 0.0)]:
        assert math.isnan(drying.flash_minutes(*args))
    assert math.isnan(drying.cure_rate(math.nan, 20.0, 50.0))
    assert math.isnan(drying.cure_minutes(30.0, math.nan, 20.0, 50.0))


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: drying.flash_rate("solvent", 20.0, 20.0, 101.0, 1.0), "rh_pct is 101 %"),
        (lambda: drying.flash_rate("water", 300.0, 20.0, 50.0, 1.0), "panel_temp_c is 300"),
        (lambda: drying.flash_rate("water", 20.0, 20.0, 50.0, -1.0), "wind_ms is -1"),
        (lambda: drying.flash_minutes(-5.0, 1.0), "printed_min is -5"),
        (lambda: drying.cure_minutes(30.0, 20.0, 20.0, 400.0), "activation_kj_mol is 400"),
        (lambda: drying.cure_rate(20.0, 20.0, 50.0, 99.0), "stall_temp_c is 99"),
    ],
)
def test_a_scalar_that_cannot_be_true_is_refused(call, sentence):
    """The error names the quantity, its value and what is possible."""
    with pytest.raises(RangeError, match=sentence):
        call()


def test_an_unknown_carrier_is_refused_by_name():
    """There are two carriers, and the sentence says which."""
    with pytest.raises(InputError, match='carrier is "oil"; it must be "solvent" or "water"'):
        drying.flash_rate("oil", 20.0, 20.0, 50.0, 1.0)

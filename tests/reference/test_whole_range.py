"""Every formula over the whole physical range: an answer everywhere, scalars as arrays, directions.

The formulae are found by themselves, so that a new one is swept too.
"""

import importlib
import inspect
import math
import pkgutil
from dataclasses import replace

import numpy as np
import panels
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor import science
from sprayadvisor.science import convection, drying, lamp
from sprayadvisor.science.panel import steady_temp_c, trace
from sprayadvisor.science.ranges import PHYSICAL_RANGES
from sprayadvisor.science.sky import KELVIN
from sprayadvisor.science.wetness import FILM_MAX_MM

LONGEST_H = 200.0  # stands for hours without an end


def formulae():
    """Return every elementwise formula with the names of its quantities."""
    found = {}
    for module in pkgutil.iter_modules(science.__path__):
        for name, one in vars(importlib.import_module(f"{science.__name__}.{module.name}")).items():
            wrapped = getattr(one, "__wrapped__", None)
            if wrapped is None or inspect.isgeneratorfunction(wrapped):
                continue
            quantities = [
                each.name
                for each in inspect.signature(wrapped).parameters.values()
                if each.kind is not inspect.Parameter.KEYWORD_ONLY
            ]
            if set(quantities) <= set(PHYSICAL_RANGES):
                found[name] = (one, quantities)
    return found


FORMULAE = formulae()
SETTINGS = {"dust_level": {"ground": "gravel"}, "mist_reaches": {"side_deg": 90.0}}
# Where a formula has no answer, by quantity; each says so in its docstring.
NO_ANSWER = {
    "dew_point_c": lambda at: at["rh_pct"] == 0.0,
    "dew_point_from_pressure_c": lambda at: at["vapour_pressure_hpa"] == 0.0,
    "frost_point_c": lambda at: at["rh_pct"] == 0.0,
    "cloud_fraction_from_sun": lambda at: at["clear_ghi_wm2"] < 20.0,
    "effective_cloud_fraction": lambda at: (
        (at["clear_ghi_wm2"] < 20.0) & (at["sun_elevation_deg"] > 5.0)
    ),
}
MAY_BE_MISSING = {
    "exposure": {"wind_from_deg"},  # no lee is then claimed
    # with the sun at 0° only the forecast's cloud carries weight
    "effective_cloud_fraction": {"ghi_wm2", "clear_ghi_wm2"},
}


def bounds(quantity):
    """Return the physical range, cut to what can be counted."""
    low, high, _ = PHYSICAL_RANGES[quantity]
    return max(low, -LONGEST_H), min(high, LONGEST_H) if math.isinf(high) else high


def corners(quantities):
    """Return arrays with every corner of the range, its middle, and points drawn from it."""
    ends = [(*bounds(quantity), sum(bounds(quantity)) / 2) for quantity in quantities]
    grid = np.array(np.meshgrid(*ends)).reshape(len(quantities), -1)
    low, high = np.array([bounds(quantity) for quantity in quantities]).T[:, :, np.newaxis]
    drawn = np.random.default_rng(5).uniform(low, high, (len(quantities), 3000))
    return np.concatenate([grid, drawn], axis=1)


def test_there_are_formulae_to_sweep():
    """The search finds those of every module, and no exception stands for one that is gone."""
    assert len(FORMULAE) >= 35
    assert set(NO_ANSWER) | set(SETTINGS) <= set(FORMULAE)


@pytest.mark.parametrize("name", sorted(FORMULAE))
def test_an_answer_over_the_whole_range(name):
    """A number or infinity at every corner and between, NaN only where the formula says so."""
    formula, quantities = FORMULAE[name]
    arguments = corners(quantities)
    answer = formula(*arguments, **SETTINGS.get(name, {}))
    none = NO_ANSWER.get(name, lambda _: np.zeros(answer.shape, bool))
    np.testing.assert_array_equal(
        np.isnan(answer), none(dict(zip(quantities, arguments, strict=True)))
    )


@pytest.mark.parametrize("name", sorted(FORMULAE))
def test_scalars_give_what_arrays_give(name):
    """Element by element, at the corners and at some points between; a float each."""
    formula, quantities = FORMULAE[name]
    settings = SETTINGS.get(name, {})
    some = corners(quantities)[:, -60:]
    together = formula(*some, **settings)
    for place, arguments in enumerate(some.T.tolist()):
        alone = formula(*arguments, **settings)
        assert type(alone) is float
        assert alone == pytest.approx(together[place], rel=1e-9, abs=1e-9, nan_ok=True)


@pytest.mark.parametrize("name", sorted(FORMULAE))
def test_an_unknown_quantity_gives_no_number(name):
    """NaN in any place gives NaN, save where the docstring says that it may be missing."""
    formula, quantities = FORMULAE[name]
    middle = [sum(bounds(quantity)) / 2 for quantity in quantities]
    for place, quantity in enumerate(quantities):
        if quantity in MAY_BE_MISSING.get(name, ()):
            continue
        arguments = [math.nan if i == place else value for i, value in enumerate(middle)]
        assert math.isnan(formula(*arguments, **SETTINGS.get(name, {}))), quantity


AIR = st.floats(-40.0, 45.0)
WIND = st.floats(0.0, 40.0)
SUN = st.floats(0.0, 1400.0)


@given(SUN, AIR, st.floats(-90.0, 45.0), st.floats(0.5, 200.0), st.floats(0.05, 1.0))
def test_a_steady_panel_round_trips_and_keeps_its_bounds(absorbed, air, sky_c, h, emittance):
    """The root gives its sunshine back, and without sun lies between air and sky."""
    root = steady_temp_c(absorbed, air, sky_c, h, emittance)
    fourth = (root + KELVIN) ** 4 - (sky_c + KELVIN) ** 4
    assert emittance * 5.670374419e-8 * fourth + h * (root - air) == pytest.approx(
        absorbed, abs=1e-4
    )
    shaded = steady_temp_c(0.0, air, sky_c, h, emittance)
    assert min(air, sky_c) - 1e-6 <= shaded <= max(air, sky_c) + 1e-6
    assert root >= shaded - 1e-6


@given(WIND, st.floats(-30.0, 60.0), st.floats(0.0, 90.0))
def test_convection_is_never_negative_and_grows_with_wind_and_difference(wind, excess, tilt):
    """Whatever the panel; wind at least does not lessen it."""
    h = convection.convection_wm2k(wind, excess, tilt)
    assert h > 0.0
    assert convection.convection_wm2k(wind, 1.5 * excess, tilt) >= h - 1e-9
    assert convection.convection_wm2k(wind + 0.5, excess, tilt) > 0.99 * h or wind < 0.5


@given(st.floats(5.0, 80.0), st.floats(0.1, 20.0), st.floats(30.0, 85.0))
def test_cure_round_trips_and_is_quicker_in_warmth(temp, warmer, kj_mol):
    """Rate times minutes is the printed time; a warmer metal needs less of them."""
    minutes = drying.cure_minutes(30.0, temp, 20.0, kj_mol)
    assert drying.cure_rate(temp, 20.0, kj_mol) * minutes == pytest.approx(30.0)
    assert drying.cure_minutes(30.0, temp + warmer, 20.0, kj_mol) < minutes


@given(st.floats(0.0, 45.0), AIR, st.floats(0.0, 100.0), st.floats(0.0, 20.0))
def test_flash_off_keeps_its_bounds(panel, air, rh, wind):
    """Never negative; quicker on a warmer panel; clear never under the printed time."""
    for carrier in ("solvent", "water"):
        rate = drying.flash_rate(carrier, panel, air, rh, wind)
        assert 0.0 <= rate <= drying.flash_rate(carrier, panel + 1.0, air, rh, wind)
        assert drying.flash_minutes(10.0, rate) >= 10.0
        assert drying.flash_minutes(10.0, rate, 2.0) >= 5.0


@given(st.floats(500.0, 2000.0), AIR, st.floats(0.0, 6.0))
def test_what_a_lamp_holds_round_trips_through_the_wind_it_allows(absorbed, air, wind):
    """The wind allowed for what it holds in a wind is that wind."""
    held = lamp.lamp_temp_c(absorbed, air, wind)
    assert held > air
    # below the drift of outdoor air every wind is the same
    expected = max(wind, convection.DRIFT_MS)
    assert lamp.max_wind_ms(absorbed, air, held - 1e-9) == pytest.approx(expected, abs=1e-3)


@given(st.integers(0, 2**32 - 1))
def test_a_panel_in_any_weather_stays_within_what_drives_it(seed):
    """Two days of jumps over the whole range: no drift, no overshoot, a film between its bounds.

    Dry, skin and body lie between the coldest and the hottest of what they met: the air, and the
    temperature at which the panel would send out all the radiation it takes up.
    """
    rng, steps = np.random.default_rng(seed), 192
    weather = panels.forcing(
        steps,
        air=rng.uniform(-40.0, 50.0, steps),
        rh=rng.uniform(1.0, 100.0, steps),
        wind=rng.choice([0.0, 0.3, 2.0, 30.0], steps),
        absorbed=rng.choice([0.0, 200.0, 1100.0], steps),
        cloud=rng.uniform(0.0, 1.0, steps),
        rain=rng.choice([0.0, 0.0, 0.05, 5.0], steps),
    )
    balanced = (weather.gain_wm2 / (panels.EMITTANCE * 5.670374419e-8)) ** 0.25 - KELVIN
    driving = np.concatenate([balanced, weather.air_temp_c])
    dry = trace(weather, replace(panels.ROOF, film=0.0))
    for temps in (dry.panel_temp_c, dry.body_temp_c):
        assert driving.min() - 0.5 <= temps.min()
        assert temps.max() <= driving.max() + 0.5
    wet = trace(weather, panels.ROOF)
    assert np.isfinite(wet.panel_temp_c).all()
    assert wet.film_mm.min() >= 0.0
    assert wet.film_mm.max() <= FILM_MAX_MM

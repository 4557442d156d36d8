"""The lamp: what it holds, how soon, in which wind, and how long its warmth lasts."""

import math

import numpy as np
import pytest

from sprayadvisor.errors import RangeError
from sprayadvisor.science import lamp
from sprayadvisor.science.panel_build import SKIN_HEAT_J_M2K

STEEL = SKIN_HEAT_J_M2K["steel"]
FLUX = lamp.lamp_flux_wm2(1.0, 0.35)  # a small lamp on a generous area


def test_half_the_power_arrives_on_the_lit_area():
    """1 kW on half a square metre gives 1,000 W/m²."""
    assert lamp.lamp_flux_wm2(1.0, 0.5) == 1000.0


def test_wind_cools_what_the_lamp_holds_and_the_greatest_wind_holds_exactly_the_goal():
    """At ``max_wind_ms`` the temperature held is the goal; a little more wind and it is not."""
    held = lamp.lamp_temp_c(FLUX, 8.0, np.array([0.0, 1.0, 2.0, 4.0, 8.0]))
    assert np.all(np.diff(held) < 0)
    limit = lamp.max_wind_ms(FLUX, 8.0, 60.0)
    assert 0.5 < limit < 5.0
    assert lamp.lamp_temp_c(FLUX, 8.0, limit) == pytest.approx(60.0, abs=1e-6)
    assert lamp.lamp_temp_c(FLUX, 8.0, limit + 0.3) < 60.0


def test_a_weak_lamp_holds_in_no_wind_and_warm_air_needs_none():
    """0 where even a calm is too much, infinite where the air is as warm as the goal."""
    assert lamp.max_wind_ms(200.0, 5.0, 60.0) == 0.0
    assert lamp.max_wind_ms(0.0, 30.0, 25.0) == math.inf
    both = lamp.max_wind_ms(np.array([200.0, 0.0]), np.array([5.0, 30.0]), np.array([60.0, 25.0]))
    assert both.tolist() == [0.0, math.inf]


def test_warm_up_agrees_with_a_slow_march_in_seconds():
    """The minutes to the goal are those of the same balance stepped second by second."""
    heat, wind, air = 9000.0, 1.0, 8.0
    loss = lamp.mcadams_wm2k(wind) + lamp.BACK_LOSS_WM2K
    temp, seconds = air, 0
    while temp < 60.0:
        temp += (FLUX - loss * (temp - air) - lamp._radiated(temp, air)) / heat
        seconds += 1
    minutes = lamp.warm_up_min(FLUX, air, wind, air, 60.0, heat)
    assert minutes == pytest.approx(seconds / 60.0, rel=0.005)


@pytest.mark.parametrize("goal_temp_c", [20.0, 60.0, 75.0])
def test_few_slices_are_enough_and_err_on_the_long_side(goal_temp_c, monkeypatch):
    """A hundred times as many give the same minutes, within 2 % even where the lamp only just."""
    most = lamp.lamp_temp_c(FLUX, 8.0, np.linspace(0.0, 5.0, 200))
    goal = np.minimum(goal_temp_c, most - 0.01)
    args = (FLUX, 8.0, np.linspace(0.0, 5.0, 200), 8.0, goal, 9000.0)
    quick = lamp.warm_up_min(*args)
    monkeypatch.setattr(lamp, "_SLICES", 400)
    exact = lamp.warm_up_min(*args)
    assert np.isfinite(exact).all()
    assert (quick >= exact * (1.0 - 1e-9)).all()
    assert (quick <= exact * 1.02).all()


@pytest.mark.parametrize(
    ("from_temp_c", "goal_temp_c", "minutes"), [(60.0, 60.0, 0.0), (70.0, 60.0, 0.0)]
)
def test_a_panel_that_is_warm_enough_needs_no_minutes(from_temp_c, goal_temp_c, minutes):
    """Warm-up from at or above the goal takes no time, and so does cooling from below it."""
    assert lamp.warm_up_min(FLUX, 8.0, 1.0, from_temp_c, goal_temp_c, STEEL) == minutes
    assert lamp.cool_down_min(8.0, 1.0, goal_temp_c, from_temp_c, STEEL) == minutes


def test_what_cannot_be_reached_takes_for_ever():
    """Beyond what the lamp can hold, and below the air, there is no time that suffices."""
    held = lamp.lamp_temp_c(FLUX, 8.0, 2.0)
    assert lamp.warm_up_min(FLUX, 8.0, 2.0, 8.0, held + 0.01, STEEL) == math.inf
    assert lamp.cool_down_min(25.0, 2.0, 60.0, 24.0, STEEL) == math.inf
    assert math.isfinite(lamp.cool_down_min(25.0, 2.0, 60.0, 30.0, STEEL))


def test_cooling_is_quicker_in_wind_and_slower_with_a_soaked_frame():
    """Both directions a painter would expect."""
    bare, soaked = STEEL, lamp.soaked_heat_j_m2k(STEEL, 12.0)
    assert lamp.cool_down_min(10.0, 3.0, 60.0, 30.0, bare) < lamp.cool_down_min(
        10.0, 0.5, 60.0, 30.0, bare
    )
    ratio = lamp.cool_down_min(10.0, 1.0, 60.0, 30.0, soaked) / lamp.cool_down_min(
        10.0, 1.0, 60.0, 30.0, bare
    )
    assert ratio == pytest.approx(soaked / bare)


def test_prewarming_of_bare_skin_is_soon_gone_and_with_the_frame_it_lasts():
    """Of 15 K little is left after 5 min; with the frame soaked for 9 min about half is.

    Common practice, no source for the figures.
    """
    bare = lamp.lift_left_k(15.0, 5.0, 8.0, 1.0, STEEL)
    framed = lamp.lift_left_k(15.0, 5.0, 8.0, 1.0, lamp.soaked_heat_j_m2k(STEEL, 9.0))
    assert bare < 4.0
    assert framed > 7.5
    assert lamp.lift_left_k(15.0, 0.0, 8.0, 1.0, STEEL) == 15.0


def test_the_frame_is_soaked_after_nine_minutes_and_no_further():
    """Heat capacity grows in proportion to the lamp's minutes and then stays."""
    heat = lamp.soaked_heat_j_m2k(STEEL, np.array([0.0, 4.5, 9.0, 60.0]))
    assert heat.tolist() == [3000.0, 6000.0, 9000.0, 9000.0]


@pytest.mark.parametrize(
    ("area", "lit", "count"),
    [(0.1, 0.2, 1), (0.2, 0.2, 1), (0.6, 0.2, 3), (0.61, 0.2, 4), (0, 1, 1)],
)
def test_positions_are_counted_whole(area, lit, count):
    """Rounding errors do not add a position, and there is always one."""
    assert lamp.lamp_positions(area, lit) == count


def test_plastic_has_a_ceiling_and_metal_leaves_it_to_the_sheet():
    """Bumpers end at 60 °C."""
    assert lamp.CEILING_C["plastic"] == 60.0
    assert lamp.CEILING_C["steel"] == lamp.CEILING_C["aluminium"] == math.inf


def test_unknown_in_is_unknown_out():
    """One NaN leaves no number, also where the answer would be 0 or infinite without it."""
    nan = math.nan
    for place in range(3):
        args = [nan if i == place else v for i, v in enumerate([FLUX, 8.0, 60.0])]
        assert math.isnan(lamp.max_wind_ms(*args))
    for place in range(6):
        args = [nan if i == place else v for i, v in enumerate([FLUX, 8.0, 1.0, 8.0, 60.0, STEEL])]
        assert math.isnan(lamp.warm_up_min(*args))
    for place in range(5):
        args = [nan if i == place else v for i, v in enumerate([8.0, 1.0, 60.0, 30.0, STEEL])]
        assert math.isnan(lamp.cool_down_min(*args))
    assert math.isnan(lamp.lift_left_k(15.0, nan, 8.0, 1.0, STEEL))
    assert math.isnan(lamp.lamp_positions(nan, 0.2))


def test_arrays_agree_with_scalars():
    """The same answers element by element."""
    winds = np.array([0.0, 1.0, 3.0])
    array = lamp.warm_up_min(FLUX, 8.0, winds, 8.0, 50.0, STEEL)
    assert array.tolist() == [lamp.warm_up_min(FLUX, 8.0, w, 8.0, 50.0, STEEL) for w in winds]


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: lamp.lamp_flux_wm2(-1.0, 0.3), "lamp_kw is -1 kW"),
        (lambda: lamp.lamp_flux_wm2(1.0, 0.0), "lit_area_m2 is 0 m²"),
        (lambda: lamp.warm_up_min(FLUX, 8.0, 1.0, 8.0, 900.0, STEEL), "goal_temp_c is 900 °C"),
    ],
)
def test_a_scalar_that_cannot_be_true_is_refused(call, sentence):
    """The error names the quantity, its value and what is possible."""
    with pytest.raises(RangeError, match=sentence):
        call()

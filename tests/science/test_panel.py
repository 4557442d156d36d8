"""The steady panel: its root, its directions and what is refused."""

import math
import subprocess
import sys

import numpy as np
import pytest

from sprayadvisor.errors import InputError, RangeError
from sprayadvisor.science import panel
from sprayadvisor.science.panel import steady_temp_c
from sprayadvisor.science.sky import KELVIN, STEFAN_BOLTZMANN_WM2K4


def residual_wm2(temp, absorbed, air, sky, h, emittance, view):
    """Return gain minus loss at a temperature."""
    kelvin4 = [(t + KELVIN) ** 4 for t in (temp, air, sky)]
    longwave = view * kelvin4[2] + (1 - view) * kelvin4[1] - kelvin4[0]
    return absorbed + emittance * STEFAN_BOLTZMANN_WM2K4 * longwave + h * (air - temp)


def test_the_root_balances_over_the_whole_physical_range():
    """From polar night to a lamp in a calm the flux left over is nothing."""
    grid = np.meshgrid(
        [0.0, 50.0, 900.0, 10_000.0],
        [-40.0, 0.0, 20.0, 55.0],
        [-120.0, -20.0, 30.0],
        [0.0, 1.0, 12.0, 200.0],
        [0.01, 0.5, 0.93, 1.0],
        [0.0, 0.4, 1.0],
    )
    root = steady_temp_c(*grid)
    assert np.all(np.isfinite(root))
    assert np.abs(residual_wm2(root, *grid)).max() < 1e-4


def test_at_rest_with_surroundings_at_air_temperature_a_panel_is_at_air_temperature():
    """Without sun and sky there is nothing to tell it from the air."""
    assert steady_temp_c(0.0, 12.0, -30.0, 5.0, 0.9, 0.0) == pytest.approx(12.0, abs=1e-9)


def test_every_input_moves_the_root_the_way_it_should():
    """More sun warms, more wind draws towards the air, more sky cools a shaded panel."""
    assert np.all(np.diff(steady_temp_c(np.linspace(0, 900, 10), 10.0, 0.0, 9.0, 0.9)) > 0)
    assert np.all(np.diff(steady_temp_c(600.0, 10.0, 0.0, np.linspace(2, 60, 10), 0.9)) < 0)
    assert np.all(np.diff(steady_temp_c(0.0, 10.0, -10.0, np.linspace(2, 60, 10), 0.9)) > 0)
    assert np.all(np.diff(steady_temp_c(0.0, 10.0, -10.0, 9.0, 0.9, np.linspace(0, 1, 9))) < 0)
    assert np.all(np.diff(steady_temp_c(0.0, 10.0, -10.0, 9.0, np.linspace(0.1, 1, 9))) < 0)


def test_unknown_in_is_unknown_out_and_neighbours_are_untouched():
    """One NaN, scalar or in an array, leaves no number there and only there."""
    good = [500.0, 20.0, 5.0, 10.0, 0.9, 1.0]
    expected = steady_temp_c(*good)
    for place in range(len(good)):
        args = [math.nan if i == place else v for i, v in enumerate(good)]
        assert math.isnan(steady_temp_c(*args))
        answer = steady_temp_c(*[np.array([a, g]) for a, g in zip(args, good, strict=True)])
        assert math.isnan(answer[0])
        assert answer[1] == pytest.approx(expected)


def test_a_solver_that_does_not_come_to_rest_says_so(monkeypatch):
    """A scalar raises; in an array only the elements concerned become unknown."""
    monkeypatch.setattr(panel, "_NEWTON_STEPS", 2)
    with pytest.raises(InputError, match="No steady panel temperature was found"):
        steady_temp_c(10_000.0, 0.0, 0.0, 1.0, 0.9)
    answer = steady_temp_c(np.array([10_000.0, 0.0]), 0.0, 0.0, 1.0, 0.9)
    assert np.isnan(answer).tolist() == [True, False]


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        ((-1.0, 20.0, 5.0, 10.0, 0.9), "absorbed_wm2 is -1 W/m²"),
        ((0.0, 70.0, 5.0, 10.0, 0.9), "air_temp_c is 70 °C"),
        ((0.0, 20.0, 5.0, 10.0, 0.0), "emittance is 0"),
        ((0.0, 20.0, 5.0, -2.0, 0.9), "convection_wm2k is -2"),
        ((0.0, 20.0, 5.0, 2.0, 0.9, 1.5), "sky_view is 1.5"),
    ],
)
def test_a_scalar_that_cannot_be_true_is_refused(args, sentence):
    """The error names the quantity, its value and what is possible."""
    with pytest.raises(RangeError, match=sentence):
        steady_temp_c(*args)


@pytest.mark.parametrize(("tilt", "view"), [(0.0, 1.0), (90.0, 0.5**1.5), (180.0, 0.0)])
def test_the_view_of_the_open_sky_shrinks_with_tilt(tilt, view):
    """A roof sees all of it, a door a third, a floor nothing."""
    assert panel.sky_view(tilt) == pytest.approx(view, abs=1e-12)


def test_long_wave_is_shared_between_sky_and_surroundings():
    """With no view of the sky only the air's own temperature is met."""
    air, down = np.array([10.0]), np.array([250.0])
    around = STEFAN_BOLTZMANN_WM2K4 * (10.0 + KELVIN) ** 4
    assert panel.longwave_wm2(down, air, 1.0)[0] == pytest.approx(250.0)
    assert panel.longwave_wm2(down, air, 0.0)[0] == pytest.approx(around)
    assert panel.longwave_wm2(down, air, 0.5)[0] == pytest.approx((around + 250.0) / 2)


def test_the_panel_is_there_without_pandas_and_pvlib():
    """Importing climate, panel and lamp loads neither; they are slow and used by few commands."""
    code = (
        "import sys, sprayadvisor.advice.climate, sprayadvisor.science.lamp;"
        "print({'pandas', 'pvlib', 'scipy'} & set(sys.modules))"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "set()"

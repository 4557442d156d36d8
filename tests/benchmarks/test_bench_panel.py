"""How long the panel takes; run with ``pytest tests/benchmarks``. Nothing here asserts a time."""

import tracemalloc

import days
import numpy as np
import pytest

from sprayadvisor.advice.case import Case
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.members import draw
from sprayadvisor.advice.model import Colour, Panel, Part
from sprayadvisor.science import convection, humidity, panel, sky, sun
from sprayadvisor.science.panel_build import Build

pytest.importorskip("pytest_benchmark")

SITES, MEMBERS, STEPS = 100, 32, 672
ROWS = SITES * MEMBERS
ROOF = Build(emittance=0.93, tilt_deg=3.0)


def weather():
    """Return (step, row) invented air, humidity, wind, rain and cloud at a hundred sites."""
    rng = np.random.default_rng(1)
    hours = np.arange(STEPS)[:, np.newaxis] / 4.0
    own = rng.normal(0.0, 1.0, ROWS)
    air = 12.0 + 6.0 * np.sin(2 * np.pi * (hours - 9.0) / 24.0) + own
    return {
        "air": air,
        "rh": np.clip(80.0 - 4.0 * (air - 12.0), 30.0, 99.0),
        "wind": np.abs(1.0 + 0.8 * np.sin(hours / 7.0) + 0.3 * own),
        "rain": np.where(rng.random((STEPS, ROWS)) < 0.02, 0.2, 0.0),
        "cloud": np.clip(0.4 + 0.4 * np.sin(hours / 9.0) + 0.1 * own, 0.0, 1.0),
    }


def shining():
    """Return the sunshine on a hundred roofs, (step, row)."""
    times = np.datetime64("2031-06-01T00:07:30", "s") + np.arange(STEPS) * np.timedelta64(900, "s")
    latitude = np.linspace(50.0, 58.0, SITES)[:, np.newaxis]
    position = sun.sun_position(times, latitude, np.full_like(latitude, -3.0))
    clear = sun.clear_ghi_wm2(position.zenith_deg)
    height = np.maximum(np.cos(np.radians(position.zenith_deg)), 0.05)
    parts = sun.plane_irradiance_wm2(
        3.0, 180.0, position, clear, 0.8 * clear / height, 0.2 * clear, 0.2, times
    )
    return np.repeat((parts.beam + parts.sky_diffuse + parts.ground).T, MEMBERS, axis=1)


def forcing(at, sunshine):
    """Return what the panels meet."""
    share = convection.wind_share(at["wind"])
    down = sky.longwave_down_wm2(at["air"], at["rh"], at["cloud"])
    gain = 0.93 * panel.longwave_wm2(down, at["air"], panel.sky_view(3.0)) + 0.9 * sunshine
    return panel.Forcing(
        gain_wm2=gain,
        air_temp_c=at["air"],
        vapour_hpa=humidity.vapour_pressure_hpa(at["air"], at["rh"]),
        forced_wm2k=share * convection.mcadams_wm2k(at["wind"]),
        calm_share=1.0 - share,
        rain_mm=at["rain"],
    )


def test_bench_panel_loop_of_a_hundred_sites(benchmark):
    """Skin, body and film of 3,200 rows over a week."""
    ready = forcing(weather(), shining())
    traced = benchmark.pedantic(panel.trace, (ready, ROOF), rounds=3)
    assert np.isfinite(traced.panel_temp_c).all()


def test_bench_panel_loop_with_sun_and_sky(benchmark):
    """The same with the sun's path, the sky's radiation and convection."""
    at = weather()

    def whole():
        return panel.trace(forcing(at, shining()), ROOF)

    traced = benchmark.pedantic(whole, rounds=3)
    tracemalloc.start()
    at = weather()
    whole()
    benchmark.extra_info["peak_mb"] = round(tracemalloc.get_traced_memory()[1] / 1e6)
    tracemalloc.stop()
    assert (traced.film_mm > 0).any()


@pytest.mark.parametrize("n_cases", [1, 12])
def test_bench_climate_of_one_job(benchmark, n_cases):
    """A week, 32 members, one panel or twelve cases."""
    members = draw(days.outlook(7), MEMBERS, seed=1, origin=days.EVENING)
    cases = [Case(days.SITE, Panel(part, Colour.BLACK)) for part in list(Part)[:n_cases]]
    met = benchmark.pedantic(climate, (members, cases), rounds=8, warmup_rounds=1)
    assert met["panel_temp_c"].shape == (n_cases * MEMBERS, STEPS)


def test_bench_drawing_members(benchmark):
    """32 members of a week."""
    members = benchmark(draw, days.outlook(7), MEMBERS, seed=1, origin=days.EVENING)
    assert len(members) == MEMBERS

"""How long the panel takes; run with ``pytest tests/benchmarks``. Nothing here asserts a time."""

import tracemalloc
from dataclasses import replace

import days
import numpy as np
import pytest

from sprayadvisor.advice.case import Case
from sprayadvisor.advice.climate import Scene, climate, climates
from sprayadvisor.advice.members import draw
from sprayadvisor.advice.model import Colour, Panel, Part
from sprayadvisor.science import convection, humidity, panel, sky, sun
from sprayadvisor.science.panel_build import Build

pytest.importorskip("pytest_benchmark")

SITES = (25, 50, 100)
MEMBERS, STEPS = 32, 672
PAIRS = 1_000_000
ROOF = Build(emittance=0.93, tilt_deg=3.0)


def weather(sites):
    """Return (step, row) invented air, humidity, wind, rain and cloud at so many sites."""
    rng, rows = np.random.default_rng(1), sites * MEMBERS
    hours = np.arange(STEPS)[:, np.newaxis] / 4.0
    own = rng.normal(0.0, 1.0, rows)
    air = 12.0 + 6.0 * np.sin(2 * np.pi * (hours - 9.0) / 24.0) + own
    return {
        "air": air,
        "rh": np.clip(80.0 - 4.0 * (air - 12.0), 30.0, 99.0),
        "wind": np.abs(1.0 + 0.8 * np.sin(hours / 7.0) + 0.3 * own),
        "rain": np.where(rng.random((STEPS, rows)) < 0.02, 0.2, 0.0),
        "cloud": np.clip(0.4 + 0.4 * np.sin(hours / 9.0) + 0.1 * own, 0.0, 1.0),
    }


def shining(sites):
    """Return the sunshine on so many roofs, (step, row)."""
    times = np.datetime64("2031-06-01T00:07:30", "s") + np.arange(STEPS) * np.timedelta64(900, "s")
    latitude = np.linspace(50.0, 58.0, sites)[:, np.newaxis]
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


@pytest.mark.benchmark(group="panel loop")
@pytest.mark.parametrize("sites", SITES)
def test_bench_panel_loop(benchmark, sites):
    """Skin, body and film over a week; a site is 32 rows."""
    ready = forcing(weather(sites), shining(sites))
    traced = benchmark.pedantic(panel.trace, (ready, ROOF), rounds=5, warmup_rounds=1)
    assert np.isfinite(traced.panel_temp_c).all()


@pytest.mark.benchmark(group="panel loop, with sun and sky")
@pytest.mark.parametrize("sites", SITES)
def test_bench_panel_loop_with_sun_and_sky(benchmark, sites):
    """The same with the sun's path, the sky's radiation and convection; and its memory."""
    at = weather(sites)

    def whole():
        return panel.trace(forcing(at, shining(sites)), ROOF)

    traced = benchmark.pedantic(whole, rounds=5, warmup_rounds=1)
    tracemalloc.start()
    at = weather(sites)  # inputs count
    whole()
    benchmark.extra_info["peak_mb"] = round(tracemalloc.get_traced_memory()[1] / 1e6)
    tracemalloc.stop()
    assert (traced.film_mm > 0).any()


@pytest.mark.benchmark(group="climate of one job")
@pytest.mark.parametrize("n_cases", [1, 6, 12])
def test_bench_climate_of_one_job(benchmark, n_cases):
    """A week, 32 members, one panel up to twelve cases."""
    members = draw(days.outlook(7), MEMBERS, seed=1, origin=days.EVENING)
    cases = [Case(days.SITE, Panel(part, Colour.BLACK)) for part in list(Part)[:n_cases]]
    met = benchmark.pedantic(climate, (members, cases), rounds=20, warmup_rounds=1)
    assert met["panel_temp_c"].shape == (n_cases * MEMBERS, STEPS)


def place(number):
    """Return one roof in invented weather of its own."""
    site = replace(days.SITE, latitude=50.0 + 0.08 * number)
    sky_ = days.outlook(7, air_temp_c=lambda h: 8.0 + 0.05 * number + 5.0 * np.sin((h - 9) / 4))
    members = draw(sky_, MEMBERS, seed=number, origin=days.EVENING)
    return Scene(members, [Case(site, Panel(Part.ROOF, Colour.BLACK))])


@pytest.mark.benchmark(group="climate of many places")
@pytest.mark.parametrize(("places", "together"), [(12, False), (12, True), (50, True), (100, True)])
def test_bench_climate_of_many_places(benchmark, places, together):
    """A week, 32 members, one panel at each place, one by one or in one go; and the memory."""
    scenes = [place(number) for number in range(places)]

    def whole():
        if together:
            return climates(scenes)
        return [climate(scene.members, scene.cases) for scene in scenes]

    met = benchmark.pedantic(whole, rounds=3, warmup_rounds=1)
    assert len(met) == places
    del met
    tracemalloc.start()
    whole()
    benchmark.extra_info["peak_mb"] = round(tracemalloc.get_traced_memory()[1] / 1e6)
    tracemalloc.stop()


def test_bench_drawing_members(benchmark):
    """32 members of a week."""
    members = benchmark(draw, days.outlook(7), MEMBERS, seed=1, origin=days.EVENING)
    assert len(members) == MEMBERS


def bare(air, rh):
    """Return the dew point by the formula as one would type it, °C."""
    ratio = np.log(rh / 100.0) + 17.62 * air / (243.12 + air)
    return 243.12 * ratio / (17.62 - ratio)


@pytest.mark.benchmark(group="dew point")
@pytest.mark.parametrize("formula", [humidity.dew_point_c, bare])
def test_bench_dew_points(benchmark, formula):
    """A million pairs, and the bare formula in the same run."""
    rng = np.random.default_rng(7)
    air, rh = rng.uniform(-20.0, 40.0, PAIRS), rng.uniform(5.0, 100.0, PAIRS)
    dew = benchmark.pedantic(formula, (air, rh), rounds=50, warmup_rounds=5)
    np.testing.assert_allclose(dew, bare(air, rh), atol=1e-12)

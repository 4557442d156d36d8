"""Builders of what a single panel meets, for tests of its temperature and its film."""

import numpy as np

from sprayadvisor.science import convection, humidity, panel, sky
from sprayadvisor.science.panel_build import Build

EMITTANCE = 0.93
ROOF = Build(emittance=EMITTANCE, tilt_deg=0.0)
INSULATED = Build(emittance=EMITTANCE, tilt_deg=0.0, exchange_wm2k=0.0)


def forcing(steps, *, air, rh, wind, absorbed=0.0, cloud=0.0, rain=0.0, tilt=0.0):
    """Return (step, 1) weather at a panel; each quantity a number or a (step,) array."""

    def column(value):
        return np.broadcast_to(np.asarray(value, float), (steps,)).reshape(steps, 1).copy()

    air, rh, wind = column(air), column(rh), column(wind)
    down = sky.longwave_down_wm2(air, rh, column(cloud))
    share = convection.wind_share(wind)
    return panel.Forcing(
        gain_wm2=EMITTANCE * panel.longwave_wm2(down, air, panel.sky_view(tilt)) + column(absorbed),
        air_temp_c=air,
        vapour_hpa=humidity.vapour_pressure_hpa(air, rh),
        forced_wm2k=share * convection.mcadams_wm2k(wind),
        calm_share=1.0 - share,
        rain_mm=column(rain),
    )


def each_step(weather, change):
    """Return the weather with ``change`` applied to every array."""
    names = ("gain_wm2", "air_temp_c", "vapour_hpa", "forced_wm2k", "calm_share", "rain_mm")
    return panel.Forcing(**{name: change(getattr(weather, name)) for name in names})


def variable_weather(steps, seed=3):
    """Return a week of invented weather with cloud edges, calms, damp nights and showers."""
    rng = np.random.default_rng(seed)
    hours = np.arange(steps) / 4.0
    day = np.clip(np.sin(2 * np.pi * (hours - 6.0) / 24.0), 0.0, None)
    broken = np.repeat(rng.uniform(0.1, 1.0, steps // 2 + 1), 2)[:steps]
    slow = np.repeat(rng.uniform(0.0, 1.0, steps // 24 + 1), 24)[:steps]
    air = 11.0 + 6.0 * np.sin(2 * np.pi * (hours - 9.0) / 24.0)
    return {
        "air": air,
        "rh": np.clip(78.0 - 3.0 * (air - 11.0) + 8.0 * slow, 30.0, 99.0),
        "wind": 3.0 * slow * (0.4 + 0.6 * day),
        "absorbed": 750.0 * day * broken,
        "cloud": np.roll(slow, 48),
        "rain": np.where(slow > 0.9, 0.1, 0.0),
    }

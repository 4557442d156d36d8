"""Humidity against the outside world, as rows of the table; the tests say more about each."""

from functools import cache

import numpy as np
import psychrolib
import test_humidity_reference as rows
from outside import POOR, Check, columns, rms, within

from sprayadvisor.science import humidity
from sprayadvisor.units import f_to_c

WMO = "WMO-No. 8 coefficients (Sonntag 1990), by hand"
ASHRAE = "ASHRAE Fundamentals 2017, ch. 1"
LIBRARY = "psychrolib (ASHRAE Fundamentals)"


def _printed(column):
    table = [row for row in rows.DEW_POINTS if row[column] is not None]
    air, rh, *dew = columns([(row[0], row[1], row[column]) for row in table])
    return humidity.dew_point_c(air, rh) - dew[0]


@cache
def _against_library():
    air, rh = (grid.ravel() for grid in np.meshgrid(np.arange(1.0, 51.0), np.arange(5.0, 101.0, 5)))
    psychrolib.SetUnitSystem(psychrolib.SI)
    theirs = np.array(
        [psychrolib.GetTDewPointFromRelHum(t, r / 100) for t, r in zip(air, rh, strict=True)]
    )
    return (humidity.dew_point_c(air, rh) - theirs)[theirs >= 0.01]


def _against_form(b, c, air, rh):
    """Return the difference to the Magnus form with other coefficients."""
    air, rh = np.meshgrid(air, rh)
    ratio = np.log(rh / 100) + b * air / (c + air)
    return humidity.dew_point_c(air, rh) - c * ratio / (b - ratio)


def _against_pvlib():
    from pvlib import atmosphere

    air, rh = np.meshgrid(np.arange(-40.0, 51.0), np.arange(5.0, 101.0))
    return (humidity.dew_point_c(air, rh) - atmosphere.tdew_from_rh(air, rh)) * 1e6


def _saturation(function, table):
    temp, pascals = columns(table)
    return 100.0 * (function(temp) * 100.0 / pascals - 1.0)


def _instrument():
    temp = np.linspace(-20.0, 50.0, 141)
    theirs = 6.116441 * 10 ** (7.591386 * temp / (temp + 240.7263))
    return 100.0 * (humidity.saturation_pressure_hpa(temp) / theirs - 1.0)


def _wet_bulb_against_library():
    psychrolib.SetUnitSystem(psychrolib.SI)
    errors = []
    for air, rh, hpa in np.ndindex(12, 10, 2):
        point = (2.0 + 4.0 * air, 10.0 + 10.0 * rh, (1013.25, 850.0)[hpa])
        theirs = psychrolib.GetTWetBulbFromRelHum(point[0], point[1] / 100, point[2] * 100)
        if theirs > 0.05:
            errors.append(humidity.wet_bulb_c(*point) - theirs)
    return errors


def _weather_bureau():
    dry, wet, dew = (f_to_c(column) for column in columns(rows.WEATHER_BUREAU))
    found = humidity.wet_bulb_c(dry, humidity.rh_from_dew_point_pct(dry, dew))
    return (found - wet) * 1.8


def _three_kelvin():
    air, rh = columns(rows.RH_AT_3_K)
    return humidity.rh_from_dew_point_pct(air, air - 3.0) - rh


def _margin_at_85():
    air, margin = columns(rows.MARGIN_AT_85_PCT)
    return air - humidity.dew_point_c(air, 85.0) - margin


def _surface_span(spread_f):
    """Return the lowest and the highest surface humidity over 50 to 80 °F."""
    steel = f_to_c(np.arange(50.0, 81.0, 5.0))
    air_rh = humidity.rh_from_dew_point_pct(steel, steel - spread_f / 1.8)
    at_surface = humidity.surface_rh_pct(steel, air_rh, steel)
    return np.array([at_surface.min(), at_surface.max()])


def _surface_middles():
    return [_surface_span(row[0]).mean() - np.mean(row[1:]) for row in rows.SURFACE_RH_BY_SPREAD]


def _surface_ends():
    return [_surface_span(row[0]) - np.array(row[1:]) for row in rows.SURFACE_RH_BY_SPREAD]


CHECKS = (
    within(
        "dew point over water, 20 rows from −5 to 50 °C", WMO, 0.0051, "K", lambda: _printed(2), 3
    ),
    within("the same, the 18 rows above freezing", LIBRARY, 0.03, "K", lambda: _printed(3)),
    within(
        "dew point at 1 to 50 °C and 5 to 100 %, where it is 0 °C or more",
        LIBRARY,
        0.05,
        "K",
        _against_library,
        said="below 0 °C the library gives a frost point and is not compared",
    ),
    Check("the same, RMS", LIBRARY, lambda: rms(_against_library()), "K", high=0.02, places=3),
    within(
        "dew point, −20 to 50 °C, as the forecast service derives it",
        "Alduchov & Eskridge 1996",
        0.025,
        "K",
        lambda: _against_form(17.625, 243.04, np.arange(-20.0, 51.0), np.arange(5.0, 101.0)),
        places=3,
    ),
    within(
        "dew point, 5 to 40 °C and 40 % up, by the Tetens form",
        "AZMET, University of Arizona",
        0.06,
        "K",
        lambda: _against_form(17.27, 237.3, np.arange(5.0, 41.0), np.arange(40.0, 101.0)),
    ),
    within(
        "dew point, −40 to 50 °C, same coefficients",
        "pvlib",
        0.001,
        "µK",
        _against_pvlib,
        places=3,
        said="the same formula: a check of typing only",
    ),
    within(
        "saturation pressure over water at 5, 25, 50 °C",
        f"{ASHRAE}, table 3",
        0.4,
        "%",
        lambda: _saturation(humidity.saturation_pressure_hpa, rows.SATURATION_OVER_WATER),
    ),
    within(
        "saturation pressure over ice at −5, −20 °C",
        f"{ASHRAE}, table 3",
        0.4,
        "%",
        lambda: _saturation(humidity.saturation_pressure_ice_hpa, rows.SATURATION_OVER_ICE),
    ),
    within(
        "saturation pressure, −20 to 50 °C",
        "instrument maker's form, as given by metpod.co.uk",
        0.4,
        "%",
        _instrument,
    ),
    within(
        "frost point at −10 °C, 80 % over water",
        "WMO-No. 8 by hand; ice coefficients a value from memory",
        0.0051,
        "K",
        lambda: humidity.frost_point_c(-10.0, 80.0) + 11.39,
        places=3,
    ),
    within(
        "wet bulb at 40 °C, 14 %",
        f"{ASHRAE}, example 1",
        0.3,
        "K",
        lambda: humidity.wet_bulb_c(40.0, 14.0) - 20.0,
        said="humidity is printed to whole percents",
    ),
    within(
        "dew point of that example, printed to whole degrees",
        f"{ASHRAE}, example 1",
        0.5,
        "K",
        lambda: humidity.dew_point_c(40.0, 14.0) - 7.0,
    ),
    within(
        "wet bulb at 2 to 46 °C, 1013 and 850 hPa, where above 0 °C",
        LIBRARY,
        0.06,
        "K",
        _wet_bulb_against_library,
    ),
    within(
        "wet bulb, three rows of whole °F",
        "US Weather Bureau, Ward 1899",
        1.0,
        "°F",
        _weather_bureau,
    ),
    within(
        "humidity at which a panel at air temperature keeps 3 K",
        f"{WMO}; the 3 K rule: FHWA-RD-98-084",
        0.06,
        "%",
        _three_kelvin,
    ),
    within(
        "margin left at 85 %, always less than 3 K",
        f"{WMO}; the 85 % rule: US federal bridge specification",
        0.06,
        "K",
        _margin_at_85,
    ),
    within(
        "surface humidity by spread, six rows, middle of each",
        "NACE 6A192/SSPC-TR 3",
        5.0,
        "%",
        _surface_middles,
        places=1,
        said="its 10 °F row breaks its own series and is left out",
    ),
    within(
        "the same, both ends of each",
        "NACE 6A192/SSPC-TR 3",
        5.0,
        "%",
        _surface_ends,
        places=1,
        said=f"{POOR}the printed table runs low at wide spreads",
    ),
    within(
        "dew point of the standard atmosphere, 23 °C and 50 %",
        "ISO 554 and ISO 3270, by hand",
        0.05,
        "K",
        lambda: humidity.dew_point_c(23.0, 50.0) - 12.0,
    ),
)

"""Sky radiation against measured rows and against the published formulae it was chosen among.

The package has one clear-sky formula, Prata 1996. The others are written out here, held to their
own published values, and serve as an independent measure: published clear-sky formulae differ from
one another by up to 0.06 in emissivity, and from measurements by 13 W/m² at best (RMSE, Li et al.
2017 at seven SURFRAD sites, more than 30,000 points).

Measured rows: NOAA Global Monitoring Laboratory, Surface Radiation Budget network (SURFRAD), whose
data are acknowledged with thanks. The rows are six minutes picked out of six days, all but one in
winter. The bands are root mean squares over hundreds of minutes; each row's own error is written
beside it, and a clear humid summer night is not among them.
"""

from typing import NamedTuple

import numpy as np
import pytest

from sprayadvisor.science import humidity, sky, sun

KELVIN = 273.15


def clark_allen(air_temp_c, rh_pct):
    """Clark & Allen 1978 with the dew point in K, as EnergyPlus has it."""
    return 0.787 + 0.764 * np.log((humidity.dew_point_c(air_temp_c, rh_pct) + KELVIN) / 273.0)


def brunt(air_temp_c, rh_pct):
    """Brunt 1932 as recalibrated by Li et al. 2017."""
    return 0.618 + 0.056 * np.sqrt(humidity.vapour_pressure_hpa(air_temp_c, rh_pct))


def idso(air_temp_c, rh_pct):
    """Idso 1981 as recalibrated by Li et al. 2017."""
    vapour = humidity.vapour_pressure_hpa(air_temp_c, rh_pct)
    return 0.685 + 3.2e-5 * vapour * np.exp(1699.0 / (air_temp_c + KELVIN))


def berdahl_martin(air_temp_c, rh_pct):
    """Berdahl & Martin 1984 as recalibrated by Li et al. 2017."""
    hundredth = humidity.dew_point_c(air_temp_c, rh_pct) / 100.0
    return 0.758 + 0.521 * hundredth + 0.625 * hundredth**2


# Air °C at 60 %, formula, emissivity: EnergyPlus unit test WeatherManager, SkyEmissivityTest.
PUBLISHED_EMISSIVITY = (
    (25.0, clark_allen, 0.832),
    (25.0, brunt, 0.862),
    (25.0, idso, 0.867),
    (25.0, berdahl_martin, 0.862),
    (5.0, clark_allen, 0.781),
    (5.0, brunt, 0.746),
    (5.0, idso, 0.760),
    (5.0, berdahl_martin, 0.747),
)


class Row(NamedTuple):
    """One measured minute; place in degrees and metres, values from memory for the stations."""

    station: str
    time: str
    place: tuple[float, float, float]
    air_temp_c: float
    rh_pct: float
    ghi_wm2: float | None  # None by night
    cloud: float | None  # None: told by the sun
    measured_wm2: float


ALAMOSA = (37.70, -105.92, 2317.0)
PENN_STATE = (40.72, -77.93, 376.0)
TABLE_MOUNTAIN = (40.125, -105.237, 1689.0)
BONDVILLE = (40.05, -88.37, 213.0)

# The remark is the package's error on the row, W/m².
CLEAR_DAY = (
    Row("slv", "2016-01-01T19:00", ALAMOSA, -6.5, 40.2, 579.1, None, 182.8),  # +15.5
    Row("psu", "2017-01-01T17:00", PENN_STATE, 3.5, 54.4, 459.2, None, 228.2),  # +12.5
)
CLEAR_NIGHT = (
    Row("psu", "2017-01-01T23:00", PENN_STATE, 0.6, 72.4, None, 0.0, 230.2),  # +2.0
    Row("slv", "2016-01-01T08:00", ALAMOSA, -17.0, 73.5, None, 0.0, 171.2),  # −3.3
)
OVERCAST = (
    Row("tbl", "2017-01-05T12:00", TABLE_MOUNTAIN, -16.0, 90.8, None, 1.0, 241.2),  # +6.7
    # Called cloudy, not overcast: taken as wholly covered it comes out high.
    Row("bon", "1995-05-10T12:00", BONDVILLE, 14.95, 88.2, None, 1.0, 366.8),  # +23.8
)


def cloud_of(row):
    """Return the row's cloud, from its own sunshine where it has any."""
    if row.cloud is not None:
        return row.cloud
    place = sun.sun_position(np.array([row.time], "datetime64[s]"), *row.place)
    clear = sun.clear_ghi_wm2(float(place.zenith_deg[0]))
    return sky.cloud_fraction_from_sun(row.ghi_wm2, clear)


def errors(rows):
    """Return calculated less measured radiation, W/m²."""
    return np.array(
        [
            sky.longwave_down_wm2(row.air_temp_c, row.rh_pct, cloud_of(row)) - row.measured_wm2
            for row in rows
        ]
    )


def rms(values):
    """Return the root mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


@pytest.mark.parametrize(("air", "formula", "emissivity"), PUBLISHED_EMISSIVITY)
def test_the_yardsticks_themselves(air, formula, emissivity):
    """The formulae written here give their published values within 0.001.

    Source: EnergyPlus unit test WeatherManager, SkyEmissivityTest. Dew point and vapour pressure
    are the package's own, and are held by it too.
    """
    assert formula(air, 60.0) == pytest.approx(emissivity, abs=0.001)


def test_the_worked_example():
    """20 °C, dew point 10 °C, no cloud: 340.6 W/m² by Clark & Allen, within 0.5.

    Source: EnergyPlus engineering reference, climate calculations; temperatures rounded to 293
    and 283 K. It holds the step from radiation to a sky temperature; Prata gives 9 W/m² less
    there, less than the 13 W/m² by which the best formulae miss measurements.
    """
    emissivity = 0.787 + 0.764 * np.log(283.0 / 273.0)
    radiation = emissivity * sky.STEFAN_BOLTZMANN_WM2K4 * 293.0**4
    assert radiation == pytest.approx(340.6, abs=0.5)
    sky_k = sky.sky_temp_c(float(radiation)) + KELVIN
    assert sky_k == pytest.approx(293.0 * emissivity**0.25, abs=1e-6)
    ours = sky.longwave_down_wm2(20.0, humidity.rh_from_dew_point_pct(20.0, 10.0), 0.0)
    assert ours == pytest.approx(radiation, abs=13.2)


@pytest.mark.parametrize("formula", [brunt, idso, berdahl_martin])
def test_clear_sky_among_the_recalibrated_formulae(formula):
    """Prata differs from each by no more than they differ from measurements: 13.2 W/m² RMS.

    Source: Li et al. 2017, RMSE of the recalibrated formulae. Over −10 to 30 °C, 30 to 90 % and
    dew points up to 20 °C Prata is the lower one on average, which is the cautious side for dew.
    In hotter, damper air the formulae part (Idso passes 1), and there is nothing to hold them to.
    """
    air, rh = np.meshgrid(np.linspace(-10.0, 30.0, 41), np.linspace(30.0, 90.0, 13))
    difference = sky.clear_sky_emissivity(air, rh) - formula(air, rh)
    black_wm2 = sky.STEFAN_BOLTZMANN_WM2K4 * (air + KELVIN) ** 4
    covered = humidity.dew_point_c(air, rh) <= 20.0
    assert rms((difference * black_wm2)[covered]) <= 13.2
    assert np.mean(difference[covered]) < 0.0


@pytest.mark.parametrize(("air", "lowest", "highest"), [(25.0, 0.832, 0.867), (5.0, 0.746, 0.781)])
def test_clear_sky_at_the_published_points(air, lowest, highest):
    """At 25 °C Prata lies within the span of the published values, at 5 °C 0.011 below it.

    Source: EnergyPlus unit test WeatherManager, SkyEmissivityTest, humidity 60 %. Allowed is half
    the span, 0.018, which is 6 W/m² there.
    """
    emissivity = sky.clear_sky_emissivity(air, 60.0)
    slack = (highest - lowest) / 2
    assert lowest - slack <= emissivity <= highest + slack


def test_clear_days():
    """Two clear winter minutes by day: 15.5 and 12.5 W/m² too high, RMS 14.1, band 15.

    Source: NOAA GML SURFRAD. The same formula over 703 clear minutes has 14.3, all of it bias:
    dry cold days are its weak side. The original Berdahl & Martin does better on them (3), and
    worse by night (22).
    """
    found = errors(CLEAR_DAY)
    np.testing.assert_allclose(found, [15.5, 12.5], atol=0.5)
    assert rms(found) <= 15.0


def test_clear_nights():
    """Two clear calm winter minutes by night: +2.0 and −3.3 W/m², band 11.

    Source: NOAA GML SURFRAD; over 571 minutes of these nights the formula has 8.1 and 3.6.
    """
    found = errors(CLEAR_NIGHT)
    np.testing.assert_allclose(found, [2.0, -3.3], atol=0.5)
    assert rms(found) <= 11.0


def test_covered_skies():
    """Under stratus +6.7 W/m², on a cloudy morning taken as wholly covered +23.8; band 21.

    Source: NOAA GML SURFRAD. The second row alone is outside the all-sky band, both together
    within it (17.5). Without any cloud the two would be 69 and 49 W/m² too low.
    """
    found = errors(OVERCAST)
    np.testing.assert_allclose(found, [6.7, 23.8], atol=0.5)
    assert rms(found) <= 21.0
    blind = [sky.longwave_down_wm2(r.air_temp_c, r.rh_pct, 0.0) - r.measured_wm2 for r in OVERCAST]
    np.testing.assert_allclose(blind, [-69.0, -49.0], atol=1.0)


def test_overcast_is_nearly_black():
    """Measured overcast skies lay at 0.97 to 1.03 of a black body; ours in 0.95 to 1.03.

    Source: NOAA GML SURFRAD, tenth and ninetieth percentile of 482 minutes.
    """
    air, rh = np.meshgrid(np.linspace(-20.0, 30.0, 26), np.linspace(30.0, 100.0, 8))
    black = sky.STEFAN_BOLTZMANN_WM2K4 * (air + KELVIN) ** 4
    emissivity = sky.longwave_down_wm2(air, rh, 1.0) / black
    assert emissivity.min() >= 0.95
    assert emissivity.max() <= 1.03


@pytest.mark.parametrize(
    ("rows", "low_k", "high_k"), [(CLEAR_DAY, 20.0, 29.0), (CLEAR_NIGHT, 20.0, 25.0)]
)
def test_how_much_colder_the_sky_is_than_the_air(rows, low_k, high_k):
    """The sky was 21 to 29 K colder than the air when clear; calculated within 5 K row by row.

    Source: NOAA GML SURFRAD. By day the calculated sky is 4 to 5 K too warm, see above.
    """
    for row in rows:
        measured = row.air_temp_c - sky.sky_temp_c(row.measured_wm2)
        radiation = sky.longwave_down_wm2(row.air_temp_c, row.rh_pct, cloud_of(row))
        calculated = row.air_temp_c - sky.sky_temp_c(radiation)
        assert low_k <= measured <= high_k
        assert calculated == pytest.approx(measured, abs=5.0)

"""Panel temperature against a standard, measured cars, clear nights and measured sky radiation.

What is known about real cars is coarse: reports of a measurement, thermometer readings from a car
park, one study of dew. The bands below are as wide as those sources are. Where the model lies
outside of what was measured the test says so.
"""

from dataclasses import replace

import numpy as np
import panels
import pytest

from sprayadvisor.advice.model import SOLAR_ABSORPTANCE, Colour
from sprayadvisor.science import convection, humidity, sky
from sprayadvisor.science.panel import longwave_wm2, steady_temp_c, trace
from sprayadvisor.science.wetness import wet_flag

# Absorptance; root °C by coefficient W/m²K (wind 0–2, 2–6, 6–10 m/s): ASTM E1980-11, its balance
# solved independently.
ASTM_ROOTS = (
    (0.95, {5.0: 103.7, 12.0: 82.5, 30.0: 61.1}),  # the standard's black
    (0.20, {5.0: 49.3, 12.0: 44.6, 30.0: 40.8}),  # its white
    (0.42, {5.0: 67.0, 12.0: 56.2, 30.0: 46.8}),  # reflectance .58
    (0.75, {5.0: 90.7, 12.0: 72.9, 30.0: 55.7}),  # reflectance .25
)


@pytest.mark.parametrize(("absorptance", "roots_c"), ASTM_ROOTS)
def test_exact_roots_of_astm_e1980(absorptance, roots_c):
    """1000 W/m², air 310 K, sky 300 K, the standard's own three coefficients; ±0.1 K.

    Source: ASTM E1980-11, its balance solved independently. Its approximate formula is up to 1.2 K
    off these roots and is not tested against.
    """
    for h, root_c in roots_c.items():
        answer = steady_temp_c(1000.0 * absorptance, 36.85, 26.85, h, 0.9)
        assert answer == pytest.approx(root_c, abs=0.1)
        array = steady_temp_c(np.array([1000.0 * absorptance]), 36.85, 26.85, h, 0.9)
        assert array[0] == pytest.approx(answer, abs=1e-9)


def black_less_silver_k(build, wind_ms, silver):
    """Return the difference after an hour in the sun, air 35 °C, 950 W/m², K."""
    black_c, silver_c = (
        trace(
            panels.forcing(4, air=35.0, rh=30.0, wind=wind_ms, absorbed=950.0 * alpha), build
        ).panel_temp_c[-1, 0]
        for alpha in (0.95, silver)
    )
    return black_c - silver_c


@pytest.mark.parametrize("wind_ms", [1.0, 2.0, 3.0, 4.0])
def test_a_silver_roof_is_cooler_than_a_black_one_by_what_was_measured(wind_ms):
    """After an hour in the sun, air 35 °C, 950 W/m²: 15 to 32 K, with and without a body behind.

    Source: Levinson et al. 2011 as reported, 25 K. Their measured *reflectances* are used, black
    .05 and silver .58, so that silver takes up .42.
    """
    for build in (panels.ROOF, panels.INSULATED):
        assert 15.0 <= black_less_silver_k(build, wind_ms, silver=1 - 0.58) <= 32.0


def test_the_colour_class_silver_is_warmer_than_the_measured_silver():
    """Silver here takes up .58: the difference to black is 11 to 20 K, below the band in wind.

    Poor agreement with Levinson et al. 2011, and meant: .58 fits bonnets read in a car park
    better, and one colour class holds every silver there is. What it costs is a silver panel told
    too warm by up to 9 K in full sun.
    """
    assert SOLAR_ABSORPTANCE[Colour.SILVER] == 0.58
    for build, outside in ((panels.ROOF, (2.0, 3.0, 4.0)), (panels.INSULATED, (3.0, 4.0))):
        for wind_ms in (1.0, 2.0, 3.0, 4.0):
            difference = black_less_silver_k(build, wind_ms, silver=0.58)
            assert 11.0 <= difference <= 20.0
            assert (difference < 15.0) == (wind_ms in outside)
        warmer = black_less_silver_k(build, 1.0, 0.42) - black_less_silver_k(build, 1.0, 0.58)
        assert 7.0 <= warmer <= 9.0


def equilibrium(build, **weather):
    """Return panel minus air after a whole night of the same weather, K."""
    return trace(panels.forcing(64, **weather), build).panel_temp_c[-1, 0] - weather["air"]


@pytest.mark.parametrize("air", [0.0, 10.0, 20.0])
@pytest.mark.parametrize("rh", [50.0, 65.0, 80.0])
@pytest.mark.parametrize("wind", [0.5, 1.0, 2.0])
def test_a_clear_night_cools_a_panel_below_the_air(air, rh, wind):
    """With the body behind it and half a metre per second or more: 2 to 9 K below air.

    Sources: metal roofing practice (New Zealand Metal Roofing Manufacturers: up to 5 °C below
    air); SURFRAD long-wave of psu17001 with plate models: 6.7 to 10 K at h 8 to 4 W/m²K.
    """
    assert 2.0 <= -equilibrium(panels.ROOF, air=air, rh=rh, wind=wind) <= 9.0


@pytest.mark.parametrize("air", [0.0, 10.0, 20.0])
@pytest.mark.parametrize("rh", [50.0, 65.0, 80.0])
def test_an_insulated_panel_in_a_calm_cools_most(air, rh):
    """3 to 12 K below air; dew on it holds it back. Sources as above."""
    assert 3.0 <= -equilibrium(panels.INSULATED, air=air, rh=rh, wind=0.0) <= 12.0


@pytest.mark.parametrize("wind", [0.0, 1.0, 3.0])
def test_under_overcast_a_panel_stays_at_air_temperature(wind):
    """Less than 1 K below. Source: SURFRAD tbl17005, windy and cloudy, −0.3 K."""
    assert abs(equilibrium(panels.ROOF, air=10.0, rh=80.0, wind=wind, cloud=1.0)) < 1.0


# Coefficient W/m²K, plate below air K, by an independent balance from SURFRAD's 232 W/m².
PLATE_BELOW_AIR = {2.0: 13.0, 4.0: 10.0, 5.7: 8.3, 8.0: 6.7}


def test_the_measured_sky_of_a_clear_calm_evening_cools_a_plate_as_the_ground_was():
    """Measured 232 W/m² at 0.3 °C: plate at h 2, 4, 5.7, 8 is 13, 10, 8.3, 6.7 K below air.

    Source: SURFRAD psu17001, 1 January 2017, 22:30 to 24 UTC; plate values from its radiation by
    an independent balance, ε 0.9, ±0.5 K. The ground itself was 4.9 K below the air: soil gives
    heat that a panel without a body does not have.
    """
    sky_c = sky.sky_temp_c(232.0)
    for h, below in PLATE_BELOW_AIR.items():
        assert 0.3 - steady_temp_c(0.0, 0.3, sky_c, h, 0.9) == pytest.approx(below, abs=0.5)


def cooled_by_tilt():
    """Return roof, bonnet, door and an upright panel less the air of a clear calm night, K."""
    return [
        equilibrium(
            replace(panels.ROOF, tilt_deg=tilt, film=0.0), air=10.0, rh=70.0, wind=0.3, tilt=tilt
        )
        for tilt in (3.0, 15.0, 80.0, 90.0)
    ]


def test_dew_comes_first_to_the_roof_and_last_to_the_sides():
    """Roof, then bonnet and boot lid, then doors: by how far they cool in a clear calm night.

    Source: "A Study to Explore the Dew Condensation Potential of Cars", Atmosphere 2022, 13, 65.
    """
    cooled = cooled_by_tilt()
    assert np.all(np.diff(cooled) > 0.0)
    assert cooled[0] < 2.5 * cooled[-1]


@pytest.mark.parametrize(("rh", "wet"), [(60.0, 0.0), (80.0, 1.0)])
def test_whether_there_is_dew_by_humidity(rh, wet):
    """At 10 °C, clear, 1 m/s: dew at 80 %, none at 60 %. Source: dew point and plate balance."""
    film = trace(panels.forcing(48, air=10.0, rh=rh, wind=1.0), panels.INSULATED).film_mm
    assert wet_flag(film)[-1, 0] == wet


def dew_of_a_night_mm():
    """Return the film after ten clear damp hours, mm."""
    film = trace(panels.forcing(40, air=10.0, rh=92.0, wind=0.5), panels.ROOF).film_mm
    return film[-1, 0]


def test_dew_of_one_night_is_of_the_measured_size():
    """A clear damp night of ten hours puts 0.05 to 0.2 mm on a roof.

    Source: the Atmosphere 2022 study reports 0.067 mm a day per part of a car that collects; daily
    means over all nights, so that a good dew night must give more and a poor one none. The film is
    capped at 0.2 mm, above which it runs off, so that only the lower bound can fail.
    """
    assert 0.05 <= dew_of_a_night_mm() <= 0.2


def wet_panel_below_air_k():
    """Return a panel kept wet under overcast in wind, less its air of 20 °C and 50 %, K."""
    wet_for_good = panels.forcing(48, air=20.0, rh=50.0, wind=8.0, cloud=1.0, rain=0.2)
    return trace(wet_for_good, panels.INSULATED).panel_temp_c[-1, 0] - 20.0


def test_a_wet_panel_out_of_the_sun_is_at_the_wet_bulb():
    """In wind, under overcast, a wet panel cools to within 0.5 K of the psychrometric wet bulb.

    Source: ASHRAE Fundamentals 2017, chapter 1, equation 33 (``humidity.wet_bulb_c``). It stays a
    little warmer, because surroundings at air temperature radiate to it.
    """
    below, bulb = wet_panel_below_air_k(), humidity.wet_bulb_c(20.0, 50.0) - 20.0
    assert bulb - 0.1 <= below <= bulb + 0.5


COLOURS = {
    # bonnet readings, °C: car park in Jacksonville, 22 November 2019, 14:30, air 24.4 °C, clear
    # (infrared thermometer, informal)
    Colour.WHITE: 33.0,
    Colour.SILVER: 49.0,
    Colour.RED: 52.0,
    Colour.DARK_GREY: 59.0,
    Colour.BLACK: 62.0,
}


def bonnet_c(colour, ghi_wm2, air_c, wind_ms):
    """Return the model's level bonnet in the sun, °C."""
    absorbed = SOLAR_ABSORPTANCE[colour] * ghi_wm2
    weather = panels.forcing(8, air=air_c, rh=45.0, wind=wind_ms, absorbed=absorbed)
    return trace(weather, panels.INSULATED).panel_temp_c[-1, 0]


def test_bonnets_in_a_car_park():
    """Order of the colours, and each within 15 K. Source: as above.

    Agreement is poor: a level bonnet of this model is 5 to 15 K low in little wind, because the
    real one leans to a low sun, and convection there was nearer 3.6 than 5.7 to 9.5 W/m²K.
    """
    for wind_ms in (0.2, 1.0):
        model = [bonnet_c(colour, 469.0, 24.4, wind_ms) for colour in COLOURS]
        assert np.all(np.diff(model) > 0.0)
        assert np.all(np.abs(np.array(model) - list(COLOURS.values())) <= 15.0)


def test_black_is_hotter_than_white_by_what_cameras_saw_and_silver_is_not_near_white():
    """Black − white 14 to 29 K; silver nearer to black than white is.

    Sources: thermal camera on four bonnets (automotivetip.com: 25.6 K between black and white) and
    a television check of 2018 (14.5 K); sun and wind are not reported, so 800 W/m² and 2 m/s.
    """
    black, silver, white = (
        bonnet_c(c, 800.0, 25.0, 2.0) for c in (Colour.BLACK, Colour.SILVER, Colour.WHITE)
    )
    assert 14.0 <= black - white <= 29.0
    assert silver - white > 0.3 * (black - white)


# Absorptance; panel °C by wind m/s: see the test below.
LEVEL_PANELS = (
    (0.25, {1.0: 28.7, 2.0: 26.9, 3.0: 25.8, 5.0: 24.3}),
    (0.42, {1.0: 37.5, 2.0: 34.1, 3.0: 31.7, 5.0: 28.8}),
    (0.70, {1.0: 51.5, 2.0: 45.5, 3.0: 41.4, 5.0: 36.1}),
    (0.95, {1.0: 63.3, 2.0: 55.4, 3.0: 49.8, 5.0: 42.6}),
)


def level_panel_c(absorptance, wind_ms):
    """Return an insulated level panel at 20 °C, 50 % and 800 W/m², °C."""
    sky_c = sky.sky_temp_c(sky.longwave_down_wm2(20.0, 50.0, 0.0))
    h = convection.convection_wm2k(wind_ms, 10.0, 0.0)
    return steady_temp_c(800.0 * absorptance, 20.0, sky_c, h, 0.9)


@pytest.mark.parametrize(("absorptance", "at_wind"), LEVEL_PANELS)
def test_level_panels_in_the_sun_by_colour_and_wind(absorptance, at_wind):
    """Air 20 °C, 50 %, 800 W/m², ε 0.9, McAdams, insulated; ±1.5 K.

    Source: the same balance solved independently with another published clear sky (Berdahl and
    Martin as recalibrated by Li 2017); the tolerance is what the two skies differ by.
    """
    for wind_ms, expected in at_wind.items():
        assert level_panel_c(absorptance, wind_ms) == pytest.approx(expected, abs=1.5)


# Absorptance, sol-air temperature over air K: ASHRAE form, see the test.
SOL_AIR = ((0.9, 44.3), (0.45, 20.5))


def over_air_k(absorptance, sol_air_excess_k):
    """Return a level surface over its air with the coefficient taken apart, K."""
    around = sky.STEFAN_BOLTZMANN_WM2K4 * (20.0 + sky.KELVIN) ** 4
    sky_c = sky.sky_temp_c(float(longwave_wm2(np.array(around - 63.0), np.array(20.0), 1.0)))
    middle_k = 20.0 + sol_air_excess_k / 2 + sky.KELVIN
    radiation = 4 * 0.9 * sky.STEFAN_BOLTZMANN_WM2K4 * middle_k**3
    return steady_temp_c(900.0 * absorptance, 20.0, sky_c, 17.0 - radiation, 0.9) - 20.0


@pytest.mark.parametrize(("absorptance", "sol_air_excess_k"), SOL_AIR, ids=["dark", "light"])
def test_sol_air_temperature_of_a_level_surface(absorptance, sol_air_excess_k):
    """900 W/m², combined coefficient 17 W/m²K, 63 W/m² lost to the sky; within 10 %.

    Source: ASHRAE sol-air form, α/ho 0.0528 and 0.0264 m²K/W (α 0.9 and 0.45), ε ΔR/ho 3.5 K. The
    handbook lumps radiation into ho; here it is taken apart: hr 5.3 of the 17 at ε 0.9.
    """
    excess = over_air_k(absorptance, sol_air_excess_k)
    assert excess == pytest.approx(sol_air_excess_k, rel=0.1)


# Wind m/s; McAdams, MoWiTT wall of Booten 2012, Nusselt–Jürges, W/m²K: EnergyPlus.
CONVECTION_SETS = (
    (1.0, 9.5, 3.0, 9.7),
    (2.0, 13.3, 4.8, 13.7),
    (3.0, 17.1, 6.6, 17.6),
    (5.0, 24.7, 10.1, 25.5),
)


@pytest.mark.parametrize(("wind_ms", "mcadams", "lowest", "highest"), CONVECTION_SETS)
def test_the_central_convection_lies_at_the_high_end_of_the_published_sets(
    wind_ms, mcadams, lowest, highest
):
    """Nusselt–Jürges is 3 % above, the MoWiTT wall (Booten 2012) less than half.

    Source: EnergyPlus Engineering Reference, outside surface heat balance. The sets differ by a
    factor of two to three. Two σ of the members' ln convection (0.3) reach from half to nearly
    twice the central value.
    """
    h = convection.mcadams_wm2k(wind_ms)
    assert h == pytest.approx(mcadams)
    assert lowest <= h <= highest
    assert h * np.exp(-2 * 0.3) < 1.8 * lowest


TIME_CONSTANTS = ((1.0, 210.0), (3.0, 136.0))  # wind m/s, s


def time_constant_s(wind_ms):
    """Return the time in which a skin goes 63 % of the way after a step of sunshine, s."""
    still = replace(panels.INSULATED, film=0.0)
    before = panels.forcing(1, air=15.0, rh=50.0, wind=wind_ms)
    weather = panels.each_step(before, lambda column: np.repeat(column, 200, axis=0))
    weather.gain_wm2[100:] += 50.0
    skin = trace(weather, still, step_s=20.0).panel_temp_c[:, 0]
    share = (skin[100:] - skin[99]) / (skin[-1] - skin[99])
    return np.interp(1 - np.exp(-1), share, (np.arange(100) + 0.5) * 20.0)


@pytest.mark.parametrize(("wind_ms", "tau_s"), TIME_CONSTANTS)
def test_time_constant_of_a_steel_skin(wind_ms, tau_s):
    """0.8 mm of steel, 7850 kg/m³, 480 J/kgK: 210 s at 1 m/s, 136 s at 3 m/s; within 10 %.

    Source: by hand, C / (h + hr). A cloud's edge moves a panel within five minutes, well inside a
    step of fifteen, which is why the exact exponential is used.
    """
    assert time_constant_s(wind_ms) == pytest.approx(tau_s, rel=0.10)

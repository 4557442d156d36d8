"""Panel temperature against the outside world, as rows of the table; the tests say more."""

import numpy as np
import panels
import test_panel_reference as rows
from outside import POOR, Check, within

from sprayadvisor.advice.model import Colour
from sprayadvisor.science import convection, humidity, lamp, sky
from sprayadvisor.science.panel import steady_temp_c, trace
from sprayadvisor.science.panel_build import SKIN_HEAT_J_M2K
from sprayadvisor.science.wetness import wet_flag

ASTM = "ASTM E1980-11, its balance solved independently"
LEVINSON = "Levinson et al. 2011 as reported, 25 K"
ROOFS = "NZ metal roofing practice; SURFRAD psu17001 with plate models"
DEW_ON_CARS = "Atmosphere 2022, 13, 65, dew on cars"
CAR_PARK = "thermometer readings in a car park, 22 November 2019, informal"
CAMERAS = "thermal camera (automotivetip.com); television check of 2018"
PRACTICE = "common practice, no source"


def _astm(absorptances):
    return [
        steady_temp_c(1000.0 * absorptance, 36.85, 26.85, h, 0.9) - root
        for absorptance, roots in rows.ASTM_ROOTS
        if absorptance in absorptances
        for h, root in roots.items()
    ]


def _black_less_silver(silver):
    return [
        rows.black_less_silver_k(build, wind, silver)
        for build in (panels.ROOF, panels.INSULATED)
        for wind in (1.0, 2.0, 3.0, 4.0)
    ]


def _night(build, winds):
    return [
        -rows.equilibrium(build, air=air, rh=rh, wind=wind)
        for air in (0.0, 10.0, 20.0)
        for rh in (50.0, 65.0, 80.0)
        for wind in winds
    ]


def _overcast():
    return [
        rows.equilibrium(panels.ROOF, air=10.0, rh=80.0, wind=wind, cloud=1.0)
        for wind in (0.0, 1.0, 3.0)
    ]


def _plate():
    sky_c = sky.sky_temp_c(232.0)
    return [
        0.3 - steady_temp_c(0.0, 0.3, sky_c, h, 0.9) - below
        for h, below in rows.PLATE_BELOW_AIR.items()
    ]


def _dew_flags():
    """Return the wet flag at 60 and 80 % less what it must be."""
    films = [
        trace(panels.forcing(48, air=10.0, rh=rh, wind=1.0), panels.INSULATED).film_mm
        for rh in (60.0, 80.0)
    ]
    return [wet_flag(film)[-1, 0] - wet for film, wet in zip(films, (0.0, 1.0), strict=True)]


def _bonnets(wind):
    return [rows.bonnet_c(colour, 469.0, 24.4, wind) for colour in rows.COLOURS]


def _bonnet_errors():
    return [np.subtract(_bonnets(wind), list(rows.COLOURS.values())) for wind in (0.2, 1.0)]


def _in_the_sun(colour):
    return rows.bonnet_c(colour, 800.0, 25.0, 2.0)


def _silver_between():
    """Return how far silver lies from white to black."""
    white, silver, black = map(_in_the_sun, (Colour.WHITE, Colour.SILVER, Colour.BLACK))
    return (silver - white) / (black - white)


def _level_panels():
    return [
        rows.level_panel_c(absorptance, wind) - expected
        for absorptance, at_wind in rows.LEVEL_PANELS
        for wind, expected in at_wind.items()
    ]


def _sol_air_pct():
    return [100.0 * (rows.over_air_k(*row) / row[1] - 1.0) for row in rows.SOL_AIR]


def _convection_over(column):
    return [convection.mcadams_wm2k(row[0]) / row[column] for row in rows.CONVECTION_SETS]


def _time_constant_pct():
    return [100.0 * (rows.time_constant_s(wind) / tau - 1.0) for wind, tau in rows.TIME_CONSTANTS]


def _lift_left(lamp_min):
    heat = lamp.soaked_heat_j_m2k(SKIN_HEAT_J_M2K["steel"], lamp_min)
    return lamp.lift_left_k(15.0, 5.0, 8.0, 1.0, heat)


CHECKS = (
    within(
        "steady panel, the standard's black at three winds", ASTM, 0.1, "K", lambda: _astm({0.95})
    ),
    within(
        "steady panel, the standard's white at three winds", ASTM, 0.1, "K", lambda: _astm({0.2})
    ),
    within("reflectances .58 and .25 at three winds", ASTM, 0.1, "K", lambda: _astm({0.42, 0.75})),
    Check(
        "black less silver roof at 1 to 4 m/s, with the measured reflectances .05 and .58",
        LEVINSON,
        lambda: _black_less_silver(1.0 - 0.58),
        "K",
        15.0,
        32.0,
        places=1,
    ),
    Check(
        "black less silver roof at 1 to 4 m/s, with absorptances .95 and .58",
        LEVINSON,
        lambda: _black_less_silver(0.58),
        "K",
        15.0,
        32.0,
        places=1,
        said=f"{POOR}the class silver is held darker than the measured paint, as bonnets were",
    ),
    Check(
        "roof below air, clear night, 0.5 to 2 m/s, body behind",
        ROOFS,
        lambda: _night(panels.ROOF, (0.5, 1.0, 2.0)),
        "K",
        2.0,
        9.0,
        places=1,
    ),
    Check(
        "panel below air, clear calm night, insulated",
        ROOFS,
        lambda: _night(panels.INSULATED, (0.0,)),
        "K",
        3.0,
        12.0,
        places=1,
    ),
    within("roof less air under overcast", "SURFRAD tbl17005, −0.3 K", 1.0, "K", _overcast),
    within(
        "plate below air under the measured sky of a clear calm evening",
        "SURFRAD psu17001, by an independent balance",
        0.5,
        "K",
        _plate,
        said="the ground itself was 4.9 K below air; soil gives heat",
    ),
    Check(
        "clear night, how much less each cools: roof, bonnet, door, upright",
        DEW_ON_CARS,
        lambda: np.diff(rows.cooled_by_tilt()),
        "K",
        low=0.0,
    ),
    within(
        "dew at 80 % and none at 60 %, 10 °C, clear, 1 m/s",
        "dew point and plate balance by hand",
        0.0,
        "",
        _dew_flags,
        0,
    ),
    Check(
        "dew of one clear damp night on a roof",
        f"{DEW_ON_CARS}: 0.067 mm on the mean of all nights",
        rows.dew_of_a_night_mm,
        "mm",
        0.05,
        0.2,
        said="all that a film holds here, so that the upper bound says nothing",
    ),
    Check(
        "wet panel in wind under overcast, less the wet bulb of its air",
        "ASHRAE Fundamentals 2017, ch. 1, eq. 33",
        lambda: rows.wet_panel_below_air_k() - (humidity.wet_bulb_c(20.0, 50.0) - 20.0),
        "K",
        -0.1,
        0.5,
        said="surroundings at air temperature radiate to it",
    ),
    within(
        "bonnets of five colours in the sun, 0.2 and 1 m/s",
        CAR_PARK,
        15.0,
        "K",
        _bonnet_errors,
        1,
        said="rough and always low: a real bonnet leans to a low sun",
    ),
    Check(
        "the same, how much hotter than the next paler: white, silver, red, dark grey, black",
        CAR_PARK,
        lambda: [np.diff(_bonnets(wind)) for wind in (0.2, 1.0)],
        "K",
        low=0.0,
        places=1,
    ),
    Check(
        "black less white bonnet, 800 W/m², 2 m/s",
        CAMERAS,
        lambda: _in_the_sun(Colour.BLACK) - _in_the_sun(Colour.WHITE),
        "K",
        14.0,
        29.0,
        places=1,
        said="their sun and wind are not reported",
    ),
    Check("silver on the way from white to black", CAMERAS, _silver_between, "", low=0.3),
    within(
        "level panels, four absorptances at four winds, 800 W/m²",
        "same balance with the sky of Li et al. 2017",
        1.5,
        "K",
        _level_panels,
    ),
    within(
        "sol-air temperature over air, dark and light, 900 W/m²",
        "ASHRAE sol-air form, as retold",
        10.0,
        "%",
        _sol_air_pct,
        1,
    ),
    Check(
        "central convection over the highest published set (Nusselt–Jürges), 1 to 5 m/s",
        "EnergyPlus engineering reference",
        lambda: _convection_over(3),
        "",
        high=1.0,
    ),
    Check(
        "the same over the lowest (wall of MoWiTT, Booten 2012)",
        "EnergyPlus engineering reference",
        lambda: _convection_over(2),
        "",
        low=1.0,
        places=1,
        said=(
            "the published sets differ by a factor of two to three, and two σ of the members' "
            "convection do not reach the lowest"
        ),
    ),
    within(
        "time constant of 0.8 mm of steel at 1 and 3 m/s",
        "by hand, handbook values from memory",
        10.0,
        "%",
        _time_constant_pct,
        1,
    ),
    Check(
        "left of a lift of 15 K after 5 min, bare skin",
        PRACTICE,
        lambda: _lift_left(0.0),
        "K",
        0.0,
        4.0,
        places=1,
    ),
    Check(
        "the same with the frame soaked for 9 min",
        PRACTICE,
        lambda: _lift_left(9.0),
        "K",
        7.5,
        15.0,
        places=1,
    ),
)

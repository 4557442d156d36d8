"""The sun's place, its rising and setting, and tilted planes against published examples."""

from datetime import date, datetime, timedelta, timezone
from math import cos, radians

import numpy as np
import pytest

from sprayadvisor.science import sun

GOLDEN = (39.743, -105.178)  # Golden, Colorado
MOUNTAIN_STANDARD = timezone(timedelta(hours=-7))

# Day, sunrise, transit, sunset in mountain standard time: NREL's solar position calculator, as
# held in pvlib's tests.
GOLDEN_DAYS = (
    (date(2015, 1, 2), "07:21:55", "12:04:45", "16:47:43"),
    (date(2015, 8, 2), "05:00:27", "12:06:58", "19:13:58"),
)

# Tilt, bearing, isotropic and Hay–Davies sum W/m²: computed with pvlib 0.16.1 for zenith 40°,
# sun in the south, direct 850, diffuse 110, global 761.1 W/m², albedo 0.2, 1316.8 outside the air.
PLANES = (
    (0.0, 180.0, 761.1, 761.1),
    (30.0, 180.0, 949.9, 974.9),
    (90.0, 180.0, 677.5, 701.6),
    (90.0, 90.0, 131.1, 95.6),
    (90.0, 0.0, 131.1, 95.6),
)
HIGH_SUN = sun.SunPosition(np.array([40.0]), np.array([50.0]), np.array([180.0]))
GLOBAL, DIRECT, DIFFUSE = np.array([761.1]), np.array([850.0]), np.array([110.0])
EARLY_JULY = np.array(["2026-07-04T12:00"], "datetime64[s]")  # the sun is farthest: 1320.5 W/m²

# When, elevation of the sun over London: computed with pvlib 0.16.1.
LONDON_NOONS = (("2024-06-21T12:00", 61.94), ("2024-12-21T12:00", 15.12))


def test_the_example_of_the_solar_position_algorithm():
    """2003-10-17 12:30:30 UTC−7 near Golden: zenith 50.11162°, azimuth 194.34024°, within 0.01°.

    Source: NREL/TP-560-34302, appendix. The example's pressure (820 hPa) and 11 °C differ a
    little from the standard air taken here, by 0.0002°.
    """
    when = np.array(["2003-10-17T19:30:30"], "datetime64[s]")
    place = sun.sun_position(when, 39.742476, -105.1786, 1830.14)
    assert place.zenith_deg[0] == pytest.approx(50.11162, abs=0.01)
    assert place.elevation_deg[0] == pytest.approx(90.0 - 50.11162, abs=0.01)
    assert place.azimuth_deg[0] == pytest.approx(194.34024, abs=0.01)


def test_the_examples_sloping_surface():
    """A slope of 30° facing 170° meets the sun at 25.187°: 1000 W/m² leave 1000 cos 25.187°.

    Source: NREL/TP-560-34302, value from memory.
    """
    when = np.array(["2003-10-17T19:30:30"], "datetime64[s]")
    place = sun.sun_position(when, 39.742476, -105.1786, 1830.14)
    zero = np.zeros(1)
    plane = sun.plane_irradiance_wm2(30.0, 170.0, place, zero, zero + 1000.0, zero, 0.2, when)
    assert plane.beam[0] == pytest.approx(1000.0 * cos(radians(25.187)), abs=0.2)


@pytest.mark.parametrize(("when", "elevation"), LONDON_NOONS)
def test_london_noons(when, elevation):
    """At midsummer and midwinter, within 0.02°. Source: computed with pvlib 0.16.1."""
    place = sun.sun_position(np.array([when], "datetime64[s]"), 51.5074, -0.1278, 11.0)
    assert place.elevation_deg[0] == pytest.approx(elevation, abs=0.02)


@pytest.mark.parametrize(("day", "rise", "transit", "fall"), GOLDEN_DAYS)
def test_sunrise_and_sunset_of_golden(day, rise, transit, fall):
    """Within 60 s, in the local zone with its summer time. Source: NREL's solar position site."""
    found = sun.sunrise_sunset(day, *GOLDEN, "America/Denver")
    assert found is not None
    for moment, clock in zip(found, (rise, fall), strict=True):
        expected = datetime.fromisoformat(f"{day}T{clock}").replace(tzinfo=MOUNTAIN_STANDARD)
        assert abs((moment - expected).total_seconds()) <= 60
    noon = datetime.fromisoformat(f"{day}T{transit}").replace(tzinfo=MOUNTAIN_STANDARD)
    middle = found[0] + (found[1] - found[0]) / 2
    assert abs((middle - noon).total_seconds()) <= 60


@pytest.mark.parametrize(("tilt", "bearing", "isotropic", "hay_davies"), PLANES)
def test_planes_in_full_sun(tilt, bearing, isotropic, hay_davies):
    """Within 0.5 W/m² of the table. Source: pvlib 0.16.1, Hay & Davies 1980.

    The sun's distance is that of early July, which is 0.3 % off the table's.
    """
    plane = sun.plane_irradiance_wm2(
        tilt, bearing, HIGH_SUN, GLOBAL, DIRECT, DIFFUSE, 0.2, EARLY_JULY
    )
    assert float(sum(plane)[0]) == pytest.approx(hay_davies, abs=0.5)
    assert abs(float(sum(plane)[0]) - isotropic) <= 36.0  # models differ by 20 to 35 W/m² here


def by_hand(tilt, bearing):
    """Return beam, sky and ground share of a plane in the high sun by hand, W/m²."""
    beta, zenith, turn = radians(tilt), radians(40.0), radians(bearing - 180.0)
    facing = max(cos(beta) * cos(zenith) + np.sin(beta) * np.sin(zenith) * cos(turn), 0.0)
    anisotropy = 850.0 / float(sun.extraterrestrial_wm2(EARLY_JULY)[0])
    view = (1 + cos(beta)) / 2
    return (
        850.0 * facing,
        110.0 * (anisotropy * facing / cos(zenith) + (1 - anisotropy) * view),
        761.1 * 0.2 * (1 - cos(beta)) / 2,
    )


@pytest.mark.parametrize(("tilt", "bearing", "isotropic", "hay_davies"), PLANES)
def test_planes_by_hand(tilt, bearing, isotropic, hay_davies):
    """Beam, isotropic and circumsolar share and ground, written out. Source: Hay & Davies 1980.

    With A = direct/outside: diffuse · (A · cos θ/cos Z + (1 − A) · (1 + cos β)/2).
    """
    expected = by_hand(tilt, bearing)
    plane = sun.plane_irradiance_wm2(
        tilt, bearing, HIGH_SUN, GLOBAL, DIRECT, DIFFUSE, 0.2, EARLY_JULY
    )
    np.testing.assert_allclose([part[0] for part in plane], expected, atol=1e-6)
    view = (1 + cos(radians(tilt))) / 2
    flat_sky = expected[0] + 110.0 * view + expected[2]
    assert flat_sky == pytest.approx(isotropic, abs=0.1)


def test_several_planes_at_once():
    """The table as one array call gives the same. Source: pvlib 0.16.1, Hay & Davies 1980."""
    tilt, bearing, _, expected = (np.array(column) for column in zip(*PLANES, strict=True))
    plane = sun.plane_irradiance_wm2(
        tilt[:, None], bearing[:, None], HIGH_SUN, GLOBAL, DIRECT, DIFFUSE, 0.2, EARLY_JULY
    )
    np.testing.assert_allclose(sum(plane)[:, 0], expected, atol=0.5)


def test_clear_sky_against_measured_clear_minutes():
    """Haurwitz 1945 lies 18 % under a measured clear winter noon at 2,317 m, and 7 % at 376 m.

    Source: NOAA GML SURFRAD, Alamosa 2016-01-01 19:00 and Penn State 2017-01-01 17:00 UTC, whose
    data are acknowledged with thanks. Poor agreement, in thin clean air and over snow above all;
    the cloud told by the sun is then 0, which is right. Haze errs the other way, towards cloud.
    """
    for when, place, measured, low in (
        ("2016-01-01T19:00", (37.70, -105.92, 2317.0), 579.1, 0.18),
        ("2017-01-01T17:00", (40.72, -77.93, 376.0), 459.2, 0.07),
    ):
        zenith = sun.sun_position(np.array([when], "datetime64[s]"), *place).zenith_deg
        clear = sun.clear_ghi_wm2(zenith)[0]
        assert 1 - clear / measured == pytest.approx(low, abs=0.01)


@pytest.mark.parametrize(("ground", "surface"), [("paved", "urban"), ("grass", "grass")])
def test_albedo_of_the_ground(ground, surface):
    """As in pvlib's table of surface albedos; gravel is a value from memory."""
    from pvlib import albedo

    assert sun.GROUND_ALBEDO[ground] == albedo.SURFACE_ALBEDOS[surface]

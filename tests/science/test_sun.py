"""The sun: broadcasting, gaps, the horizon, days without sunrise, and what it costs."""

import math
import warnings
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.advice.model import Ground
from sprayadvisor.errors import RangeError
from sprayadvisor.science import sun

WEEK = np.datetime64("2026-06-01T00:07:30", "s") + np.arange(672) * np.timedelta64(900, "s")


def test_many_sites_on_one_grid_equal_each_site_alone():
    """(site, 1) places give (site, step), the same as pvlib's public function site by site."""
    import pandas as pd
    from pvlib import atmosphere, solarposition

    places = ((53.3, -6.3, 20.0), (-36.8, 174.8, 0.0), (69.6, 18.9, 1200.0))
    lat, lon, height = (np.array(column)[:, None] for column in zip(*places, strict=True))
    together = sun.sun_position(WEEK, lat, lon, height)
    assert together.zenith_deg.shape == (3, 672)
    for row, (latitude, longitude, elevation) in enumerate(places):
        alone = solarposition.spa_python(
            pd.DatetimeIndex(WEEK, tz="UTC"),
            latitude,
            longitude,
            elevation,
            atmosphere.alt2pres(elevation),
        )
        np.testing.assert_allclose(together.zenith_deg[row], alone["apparent_zenith"], atol=1e-9)
        np.testing.assert_allclose(
            together.elevation_deg[row], alone["apparent_elevation"], atol=1e-9
        )
        np.testing.assert_allclose(together.azimuth_deg[row], alone["azimuth"], atol=1e-9)


def test_a_hundred_sites_are_placed_in_one_call():
    """Places beside each other broadcast against the times."""
    lat, lon = np.linspace(40.0, 60.0, 100)[:, None], np.linspace(-8.0, 8.0, 100)[:, None]
    assert sun.sun_position(WEEK, lat, lon).elevation_deg.shape == (100, 672)


def test_stamps_of_any_unit_mean_the_same():
    """Minutes, seconds and nanoseconds of one time give one sun."""
    seconds = np.array(["2026-06-01T12:00"], "datetime64[s]")
    expected = sun.sun_position(seconds, 53.3, -6.3).azimuth_deg
    for unit in ("m", "ms", "us", "ns"):
        place = sun.sun_position(seconds.astype(f"datetime64[{unit}]"), 53.3, -6.3)
        np.testing.assert_array_equal(place.azimuth_deg, expected)


@given(st.floats(0.0, 89.0))
def test_clear_sky_falls_towards_the_horizon(zenith):
    """Brighter higher up, never beyond what arrives outside the air."""
    clear = sun.clear_ghi_wm2(zenith)
    assert clear > sun.clear_ghi_wm2(zenith + 1.0)
    assert clear < 1361.0 * math.cos(math.radians(zenith)) + 1.0


def test_clear_sky_by_night_and_unknown():
    """Zero with the sun down, NaN for NaN, any shape, a float for a scalar."""
    assert sun.clear_ghi_wm2(120.0) == 0.0
    assert type(sun.clear_ghi_wm2(30)) is float
    clear = sun.clear_ghi_wm2(np.array([[30.0, np.nan], [90.0, 100.0]]))
    assert clear.shape == (2, 2)
    assert math.isnan(clear[0, 1])
    assert clear[1, 1] == 0.0
    with pytest.raises(RangeError, match="zenith_deg is 200"):
        sun.clear_ghi_wm2(200.0)


def test_the_sun_is_nearer_in_january():
    """Radiation outside the air: 1,414 W/m² in early January, 1,321 in early July.

    Source: Spencer 1971 with a solar constant of 1366.1 W/m².
    """
    outside = sun.extraterrestrial_wm2(np.array(["2026-01-03", "2026-07-04"], "datetime64[s]"))
    np.testing.assert_allclose(outside, [1414.0, 1320.5], atol=0.5)


def test_members_and_panels_broadcast():
    """(member, step) radiation on (panel, 1, 1) planes gives (panel, member, step)."""
    place = sun.sun_position(WEEK, 53.3, -6.3)
    members = np.array([[0.6], [1.0]])
    ghi = members * sun.clear_ghi_wm2(place.zenith_deg)
    tilt, bearing = np.array([3.0, 80.0])[:, None, None], np.array([0.0, 270.0])[:, None, None]
    plane = sun.plane_irradiance_wm2(tilt, bearing, place, ghi, 0.5 * ghi, 0.4 * ghi, 0.2, WEEK)
    for part in plane:
        assert np.broadcast_shapes(part.shape, (2, 2, 672)) == (2, 2, 672)
        assert np.all(part >= 0.0)
    one = sun.plane_irradiance_wm2(
        80.0, 270.0, place, ghi[1], 0.5 * ghi[1], 0.4 * ghi[1], 0.2, WEEK
    )
    np.testing.assert_allclose(plane.beam[1, 1], one.beam)
    np.testing.assert_allclose(plane.sky_diffuse[1, 1], one.sky_diffuse)


def test_a_level_plane_gets_the_global_radiation():
    """Beam by the sun's height and all of the diffuse, none from the ground."""
    place = sun.sun_position(WEEK, 53.3, -6.3)
    high = place.elevation_deg > 6.0
    dni, dhi = np.full(672, 500.0), np.full(672, 120.0)
    ghi = dni * np.cos(np.radians(place.zenith_deg)) + dhi
    plane = sun.plane_irradiance_wm2(0.0, 123.0, place, ghi, dni, dhi, 0.2, WEEK)
    np.testing.assert_allclose(sum(plane)[high], ghi[high], rtol=1e-9)
    np.testing.assert_array_equal(plane.ground, np.zeros(672))


@given(st.floats(-90.0, 90.0), st.floats(0.0, 90.0), st.floats(0.0, 360.0))
def test_a_plane_never_gets_more_than_there_is(elevation, tilt, bearing):
    """Not more than the beam outside the air plus twice the diffuse, also at the horizon."""
    place = sun.SunPosition(np.array([90.0 - elevation]), np.array([elevation]), np.array([180.0]))
    when, dhi = WEEK[:1], np.array([80.0])
    plane = sun.plane_irradiance_wm2(
        tilt, bearing, place, np.array([120.0]), np.array([300.0]), dhi, 0.25, when
    )
    assert 0.0 <= plane.beam[0] <= 300.0 + 1e-9
    assert 0.0 <= plane.sky_diffuse[0] <= 80.0 * 300.0 / 1320.0 * 11.5 + 80.0
    assert 0.0 <= plane.ground[0] <= 0.25 * 120.0 / 2 + 1e-9


def test_the_glow_around_a_grazing_sun_is_bounded():
    """Half a degree up, an upright panel gets the glow as with the sun at 5°, not 100 times it."""
    place = sun.SunPosition(np.array([89.5]), np.array([0.5]), np.array([180.0]))
    some = np.array([60.0])
    plane = sun.plane_irradiance_wm2(90.0, 180.0, place, some, some, some, 0.2, WEEK[:1])
    share = 60.0 / sun.extraterrestrial_wm2(WEEK[:1])[0]
    glow = 60.0 * share * math.cos(math.radians(0.5)) / math.sin(math.radians(5.0))
    assert plane.sky_diffuse[0] == pytest.approx(glow + 60.0 * (1.0 - share) / 2)


def test_a_beam_from_below_the_horizon_counts_nothing():
    """An hour's mean spread over its steps may leave a beam after sunset: no panel gets it."""
    place = sun.SunPosition(np.array([91.0]), np.array([-1.0]), np.array([300.0]))
    some = np.array([50.0])
    plane = sun.plane_irradiance_wm2(90.0, 300.0, place, some, some, some, 0.2, WEEK[:1])
    assert plane.beam[0] == 0.0
    assert plane.sky_diffuse[0] <= 25.0


def test_unknown_radiation_stays_unknown_by_day_and_night():
    """NaN in beam, diffuse or global turns up in the part that needs it, also after dark."""
    place = sun.SunPosition(np.array([40.0, 120.0]), np.array([50.0, -30.0]), np.full(2, 180.0))
    gap, fine = np.full(2, np.nan), np.full(2, 10.0)
    when = WEEK[:2]
    no_beam = sun.plane_irradiance_wm2(30.0, 180.0, place, fine, gap, fine, 0.2, when)
    assert np.isnan(no_beam.beam).all()
    assert np.isnan(no_beam.sky_diffuse).all()
    no_sky = sun.plane_irradiance_wm2(30.0, 180.0, place, fine, fine, gap, 0.2, when)
    assert np.isnan(no_sky.sky_diffuse).all()
    no_global = sun.plane_irradiance_wm2(30.0, 180.0, place, gap, fine, fine, 0.2, when)
    assert np.isnan(no_global.ground).all()


def test_every_ground_of_a_site_has_an_albedo():
    """A site's word is always known."""
    assert all(0.0 < sun.GROUND_ALBEDO[each] < 0.5 for each in Ground)


@pytest.mark.parametrize(
    ("zone", "latitude", "longitude"),
    [
        ("Europe/Dublin", 53.3, -6.3),
        ("Pacific/Kiritimati", 1.9, -157.4),
        ("Pacific/Tongatapu", -21.1, -175.2),
        ("Pacific/Auckland", -36.8, 174.8),
        ("Pacific/Pago_Pago", -14.3, -170.7),
        ("America/Santiago", -33.4, -70.6),  # the clock jumps at midnight on this day
        ("Asia/Kolkata", 28.6, 77.2),
    ],
)
def test_sunrise_falls_on_the_day_that_was_asked_for(zone, latitude, longitude):
    """Also beyond the date line and where midnight does not exist; the zone is the site's own.

    The sun's middle should then be 0.83° down. Where the UTC day turns between sunrise and sunset
    pvlib takes the sun's height from the day beside, and is out by up to 0.3°, a good minute.
    """
    day = date(2026, 9, 6)
    found = sun.sunrise_sunset(day, latitude, longitude, zone)
    assert found is not None
    rise, fall = found
    assert type(rise) is datetime
    assert rise.tzinfo == ZoneInfo(zone)
    assert rise.date() == fall.date() == day
    times = np.array([each.timestamp() for each in found]).astype("datetime64[s]")
    elevation = sun.sun_position(times, latitude, longitude).elevation_deg
    assert np.all((elevation > -1.2) & (elevation < -0.1))  # with the bending of light or without


@pytest.mark.parametrize("day", [date(2026, 6, 21), date(2026, 12, 21)])
def test_polar_day_and_night_have_no_sunrise(day):
    """Neither is an error, and neither is a time."""
    assert sun.sunrise_sunset(day, 69.6, 18.9, "Europe/Oslo") is None


def test_nothing_here_warns():
    """No deprecation of pandas or pvlib is left for the reader of a log."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        place = sun.sun_position(WEEK, 53.3, -6.3)
        sun.clear_ghi_wm2(place.zenith_deg)
        sun.plane_irradiance_wm2(
            80.0, 90.0, place, np.ones(672), np.ones(672), np.ones(672), 0.2, WEEK
        )
        sun.sunrise_sunset(date(2026, 3, 29), 53.3, -6.3, "Europe/Dublin")


@pytest.mark.parametrize(
    ("day", "latitude", "longitude", "zone"),
    [("2026-04-17", 53.1, -8.9, "Europe/Dublin"), ("2026-12-21", 53.1, -8.9, "Europe/Dublin"),
     ("2026-07-15", -33.9, 18.4, "Africa/Johannesburg")],
)  # fmt: skip
def test_nearest_sunset_is_the_one_of_the_almanac(day, latitude, longitude, zone):
    """Within five minutes of sunrise_sunset, a time not found from the same crossing.

    Source: NREL solar position algorithm as pvlib computes its sunsets.
    """
    begin = np.datetime64(day, "s") - np.timedelta64(1, "D")
    steps = begin + np.arange(3 * 96) * np.timedelta64(900, "s")
    middles = steps + np.timedelta64(450, "s")
    elevation = sun.sun_position(middles, latitude, longitude).elevation_deg
    away = sun.hours_to_sunset(elevation)
    _, sunset = sun.sunrise_sunset(date.fromisoformat(day), latitude, longitude, zone)
    at = np.datetime64(sunset.astimezone(UTC).replace(tzinfo=None), "s")
    exact = (at - middles) / np.timedelta64(3600, "s")
    near = np.abs(exact) < 10.0
    assert near.sum() == 80
    np.testing.assert_allclose(away[near], exact[near], atol=0.08)


def test_where_the_sun_never_sets_no_sunset_is_near():
    """Neither in polar day nor in polar night."""
    assert np.isinf(sun.hours_to_sunset(np.full(96, 5.0))).all()
    assert np.isinf(sun.hours_to_sunset(np.full(96, -5.0))).all()

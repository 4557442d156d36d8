"""The climate: what panels meet by case and member, under covers, in gaps and after a drive."""

from dataclasses import replace
from datetime import UTC, datetime, time

import days
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.advice import cover as covers
from sprayadvisor.advice.case import Case, cases_of
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.members import Members, draw, single
from sprayadvisor.advice.model import (
    Colour,
    Cover,
    Material,
    Panel,
    Part,
    Surface,
    Surroundings,
)
from sprayadvisor.science import humidity
from sprayadvisor.science.quantities import QUANTITIES
from sprayadvisor.science.wetness import FILM_MAX_MM

ROOF = Panel(Part.ROOF, Colour.BLACK)
DOOR = Panel(Part.LEFT_DOOR, Colour.BLACK)
NOON = 2 * 96 + 52  # 13:00 UTC on the third day
NIGHT = 2 * 96 + 16
FAIR = {
    "cloud_fraction": 0.05,
    "ghi_wm2": lambda h: 700.0 * np.clip(np.sin(np.pi * (h - 6.0) / 14.0), 0.0, None),
    "dni_wm2": lambda h: np.where((h > 6.0) & (h < 20.0), 700.0, 0.0),
    "dhi_wm2": lambda h: 120.0 * np.clip(np.sin(np.pi * (h - 6.0) / 14.0), 0.0, None),
    "rh_pct": 60.0,
}
QUANTITIES_OUT = {
    "panel_temp_c",
    "film_mm",
    "panel_wet",
    "panel_white",
    "air_temp_c",
    "rh_pct",
    "dew_point_c",
    "dew_margin_k",
    "surface_rh_pct",
    "wind_ms",
    "gust_ms",
    "gust_sustained_ms",
    "wet_hour_mm",
    "wind_from_deg",
    "light_lx",
    "diffuse_lx",
    "low_sun",
    "sun_elevation_deg",
    "insect_level",
    "insect_lamp_level",
    "dust_level",
    "drip_level",
    "pollen_level",
    "pm10_level",
    "downwind",
}


def at(panel=ROOF, cover=None, site=days.SITE, **changed):
    """Return one case on the usual site."""
    return Case(site, panel, cover=cover, **changed)


def of(*cases, n_days=4, **weather):
    """Return the climate of cases in a single member of fair weather."""
    return climate(single(days.outlook(n_days, **(FAIR | weather))), cases)


def test_every_quantity_has_a_row_for_every_member_of_every_case():
    """Row = case × n_members + member, and a case's rows do not hang on the other cases."""
    weather = days.outlook(3, **FAIR)
    members = draw(weather, 4, seed=1, origin=days.EVENING)
    both = climate(members, [at(ROOF), at(DOOR)])
    assert (both.n_cases, both.n_members) == (2, 4)
    assert set(both.values) == QUANTITIES_OUT
    alone = climate(members, [at(DOOR)])
    for name, array in both.values.items():
        assert array.shape == (8, len(weather))
        np.testing.assert_array_equal(both.case(name, 1), alone[name])
    np.testing.assert_array_equal(both.starts_utc, weather.starts_utc)


def test_margins_follow_from_panel_and_air():
    """Dew point from temperature and humidity, whatever the forecast's own; margin over water."""
    met = of(at(), dew_point_c=-20.0, air_temp_c=-3.0, rh_pct=95.0)
    np.testing.assert_allclose(met["dew_point_c"], humidity.dew_point_c(-3.0, 95.0))
    np.testing.assert_allclose(met["dew_margin_k"], met["panel_temp_c"] - met["dew_point_c"])
    below = met["dew_margin_k"] < 0.0
    assert below.any()
    np.testing.assert_array_equal(below, met["surface_rh_pct"] > 100.0)


def test_a_black_roof_is_hot_by_day_and_below_the_air_by_night():
    """Sun and sky both reach it."""
    met = of(at())
    excess = met["panel_temp_c"] - met["air_temp_c"]
    assert excess[0, NOON] > 20.0
    assert -9.0 < excess[0, NIGHT] < -2.0


def test_colours_and_materials_differ():
    """Black is hotter than silver than white; plastic answers more slowly than aluminium."""
    colours = of(*(at(Panel(Part.ROOF, c)) for c in (Colour.BLACK, Colour.SILVER, Colour.WHITE)))
    assert np.all(np.diff(colours["panel_temp_c"][:, NOON]) < -5.0)
    heats = of(
        *(at(Panel(Part.ROOF, Colour.BLACK, m)) for m in (Material.PLASTIC, Material.ALUMINIUM))
    )
    morning = slice(2 * 96 + 30, 2 * 96 + 44)
    assert np.all(heats["panel_temp_c"][0, morning] < heats["panel_temp_c"][1, morning])


def test_what_is_not_painted_takes_sun_and_sky_its_own_way():
    """Primer on a white roof is hotter than it by day; bare metal hardly cools by night."""
    met = of(*(at(Panel(Part.ROOF, Colour.WHITE, surface=surface)) for surface in Surface))
    excess = met["panel_temp_c"] - met["air_temp_c"]
    paint, primer, filler, bare = excess[:, NOON]
    assert paint + 5.0 < filler < primer
    assert bare > filler  # it takes up less sun than filler, and throws hardly any heat back
    paint, primer, filler, bare = excess[:, NIGHT]
    assert primer == pytest.approx(paint, abs=0.2)
    assert filler == pytest.approx(paint, abs=0.2)
    assert paint + 2.0 < bare < 0.0


@pytest.mark.parametrize("surface", list(Surface))
@pytest.mark.parametrize("material", list(Material))
def test_every_surface_of_every_material_is_known(surface, material):
    """Shares between 0 and 1; paint goes by its colour, bare metal by its metal."""
    panel = Panel(Part.ROOF, Colour.RED, material, surface)
    assert 0.1 <= panel.emittance <= 0.95
    assert 0.2 <= panel.absorptance <= 0.95


def test_the_side_towards_the_sun_is_warmer():
    """With the nose north the left door faces west: cool in the morning, warm in the evening."""
    met = of(at(DOOR), Case(days.SITE, DOOR, heading_deg=180.0))
    morning, evening = 2 * 96 + 36, 2 * 96 + 72
    assert met["panel_temp_c"][1, morning] > met["panel_temp_c"][0, morning] + 5.0
    assert met["panel_temp_c"][0, evening] > met["panel_temp_c"][1, evening] + 5.0


def test_wind_is_taken_to_gun_height_by_surroundings():
    """Mean and gust shrink by their own factors; the sustained gust never exceeds the gust."""
    gusty = lambda h: np.where(h < 1.0, 12.0, 4.0)  # noqa: E731 - one puff an hour long
    for place, (mean, gust) in {
        Surroundings.OPEN: (0.77, 0.9),
        Surroundings.SUBURB: (0.47, 0.6),
        Surroundings.DENSE: (0.35, 0.5),
    }.items():
        met = of(at(site=replace(days.SITE, surroundings=place)), gust_10m_ms=gusty)
        np.testing.assert_allclose(met["wind_ms"], 2.0 * mean)
        assert met["gust_ms"].max() == pytest.approx(12.0 * gust)
        assert met["gust_sustained_ms"].max() == pytest.approx(4.0 * gust)


def test_covers_keep_off_what_they_keep_off():
    """Hottest in the open, then trees, shade, canopy, indoors; coldest nights likewise."""
    order = [Cover.OPEN_SKY, Cover.TREES, Cover.SHADE, Cover.CANOPY, Cover.INDOORS]
    met = of(*(at(cover=c) for c in order))
    assert np.all(np.diff(met["panel_temp_c"][:, NOON]) < 0.0)
    night = dict(
        zip(order, met["panel_temp_c"][:, NIGHT] - met["air_temp_c"][:, NIGHT], strict=True)
    )
    assert night[Cover.SHADE] == pytest.approx(night[Cover.OPEN_SKY], abs=0.5)
    assert night[Cover.OPEN_SKY] < night[Cover.TREES] < night[Cover.CANOPY] < 0.3
    assert abs(night[Cover.INDOORS]) < 0.7
    wind = met["wind_ms"][:, NOON]
    assert np.all(wind[:4] == wind[0])
    assert wind[4] < 0.2 * wind[0]
    assert np.all(np.diff(met["light_lx"][:, NOON][[0, 2, 3, 4]]) < 0.0)
    assert met["light_lx"][4, NOON] == 0.0


def test_rain_wets_the_open_drips_from_trees_and_stays_off_under_a_roof():
    """One wet hour: the film, the flag and the wet hour by cover."""
    weather = showery(0.125, wind_10m_ms=2.0)
    cases = [at(cover=c) for c in (Cover.OPEN_SKY, Cover.TREES, Cover.CANOPY, Cover.INDOORS)]
    met = climate(single(weather), cases)
    during, after = NOON + 2, NOON + 7
    assert met["panel_wet"][:, during].tolist() == [1, 1, 0, 0]
    assert met["wet_hour_mm"][:, during].tolist() == [0.5, 0.5, 0.0, 0.0]
    assert met["wet_hour_mm"][:, after].tolist() == [0.0, 0.5, 0.0, 0.0]
    assert met["film_mm"][1, after] == FILM_MAX_MM


def showery(quarter_mm, **weather):
    """Return fair weather with one wet hour from noon on."""
    rain = np.zeros(4 * 96)
    rain[NOON : NOON + 4] = quarter_mm
    dry = days.outlook(4, **(FAIR | weather))
    return replace(dry, values=dry.values | {"rain_mm": rain}, wet_hour_mm=4.0 * rain)


@pytest.mark.parametrize(
    ("quarter_mm", "wind", "comes_in"),
    [(0.125, 8.0, False), (0.125, 9.0, True), (0.126, 2.0, True), (np.nan, 2.0, True)],
    ids=["fine and light", "windy", "more than fine", "not known"],
)
def test_rain_blows_in_under_a_canopy(quarter_mm, wind, comes_in):
    """Beyond 0.5 mm/h or from 4 m/s at the gun on, 8.5 of the forecast's in a suburb."""
    canopy = at(cover=Cover.CANOPY)
    met = climate(single(showery(quarter_mm, wind_10m_ms=wind)), [canopy])
    came = met["wet_hour_mm"][0, NOON]
    np.testing.assert_array_equal(came, 4.0 * quarter_mm if comes_in else 0.0)
    assert met["wet_hour_mm"][0, NOON - 1] == 0.0


@given(st.floats(0.0, 20.0), st.floats(0.0, 20.0), st.floats(0.0, 15.0), st.floats(0.0, 15.0))
def test_a_canopy_only_takes_rain_away_and_less_of_it_the_worse_the_weather(
    rain, more_rain, wind, more_wind
):
    """Never more than in the open; more rain or more wind never means less of it."""

    def under(rain_mm, wind_ms):
        share = covers.blows_in(np.array([rain_mm]), np.array([wind_ms]))
        return float(share[0] * rain_mm)

    assert under(rain, wind) <= rain
    assert under(rain, wind) <= under(rain + more_rain, wind)
    assert under(rain, wind) <= under(rain, wind + more_wind)


def test_house_shade_by_the_clock_takes_the_beam_and_the_low_sun():
    """Local clock times: shaded before nine and from fifteen; diffuse light stays."""
    shaded = replace(days.SITE, shade_before=time(9, 0), shade_after=time(15, 0))
    met = of(at(site=shaded), at())
    zone_shift = 4  # Dublin is an hour ahead of UTC in April
    for local_quarter, in_shade in [(35, True), (36, False), (59, False), (60, True)]:
        step = 2 * 96 + local_quarter - zone_shift
        darker = met["light_lx"][0, step] < met["light_lx"][1, step]
        assert darker == in_shade
    late = 2 * 96 + 60
    assert met["panel_temp_c"][0, late + 4] < met["panel_temp_c"][1, late + 4] - 5.0
    low = met["low_sun"][1] == 1.0
    assert low.any()
    assert not np.any(met["low_sun"][0] == 1.0)


@pytest.mark.parametrize(
    ("before", "after", "shaded"),
    [
        (None, None, 0),
        (time(9, 0), None, 36),
        (None, time(15, 0), 36),
        (time(9, 0), time(15, 0), 72),
    ],
)
def test_either_clock_time_may_be_missing(before, after, shaded):
    """Quarter hours of one local day in the shade, also on the day the clocks go forward."""
    site = replace(days.SITE, shade_before=before, shade_after=after)
    starts = np.datetime64("2026-04-16T23:00", "s") + np.arange(96) * np.timedelta64(900, "s")
    assert covers.in_house_shade(site, starts).sum() == shaded
    spring = np.datetime64("2026-03-29T00:00", "s") + np.arange(92) * np.timedelta64(900, "s")
    lost = 4 if before else 0  # 01:00 to 02:00 does not exist that day
    assert covers.in_house_shade(site, spring).sum() == shaded - lost


def test_wiped_washed_and_driven_change_one_case_only():
    """What the painter states overrides the model from that minute on."""
    damp = {"rh_pct": 97.0, "cloud_fraction": 1.0, "ghi_wm2": 50.0, "dni_wm2": 0.0, "dhi_wm2": 50.0}
    bonnet = Panel(Part.BONNET, Colour.WHITE)
    minute = NOON * 15 + 7
    met = of(
        at(bonnet),
        at(bonnet, wiped_at_min=minute),
        at(bonnet, washed_at_min=minute),
        at(bonnet, driven_at_min=minute),
        at(Panel(Part.LEFT_WING, Colour.WHITE), driven_at_min=minute),
        air_temp_c=10.0,
        **damp,
    )
    temp, film = met["panel_temp_c"], met["film_mm"]
    np.testing.assert_array_equal(temp[:, NOON - 1][:4], temp[0, NOON - 1])
    assert film[2, NOON] == FILM_MAX_MM
    assert film[1, NOON] == 0.0
    assert temp[3, NOON] > temp[0, NOON] + 8.0
    assert temp[3, NOON + 3] > temp[0, NOON + 3] + 3.0
    assert temp[0, NOON] + 5.0 < temp[4, NOON] < temp[3, NOON] - 2.0  # a wing, further from it
    assert temp[3, NOON] == pytest.approx(29.0, abs=0.8)  # pinned: a mean from 60 °C on in 10 °C


def test_a_drive_takes_dew_and_cold_off_a_roof_or_wets_it_from_the_road():
    """No engine under the roof: it comes at air temperature, dry if the road is."""
    damp = {"rh_pct": 96.0, "air_temp_c": 8.0}
    step = 2 * 96 + 20  # 05:00, before the sun
    stood, came = of(at(), at(driven_at_min=step * 15), **damp).values["panel_temp_c"]
    assert stood[step] < 5.5
    assert came[step] > stood[step] + 0.4
    film = of(at(), at(driven_at_min=step * 15), **damp)["film_mm"]
    assert film[0, step] > 0.05 > film[1, step]
    wet = np.zeros(4 * 96)
    wet[step - 4 : step] = 0.5
    road = days.outlook(4, **(FAIR | damp))
    road = replace(road, wet_hour_mm=wet)
    assert climate(single(road), [at(driven_at_min=step * 15)])["film_mm"][0, step] == FILM_MAX_MM


def test_a_drive_through_a_gap_of_the_forecast_changes_nothing_there():
    """Where the air is not known, nobody knows how warm the car came; the others go on."""
    air = np.full((4 * 96), 12.0)
    air[NOON] = np.nan
    met = of(at(), at(driven_at_min=NOON * 15), air_temp_c=air)
    np.testing.assert_array_equal(met["panel_temp_c"][0], met["panel_temp_c"][1])
    assert np.isfinite(met["panel_temp_c"][1, -1])


def test_cases_of_a_job_know_what_was_done_to_the_car():
    """Clock times of its own day, one case for each panel; nothing said, nothing done."""
    starts = days.outlook().starts_utc
    panels = (ROOF, DOOR)
    job = days.job(panels=panels, driven_until=time(8, 40), washed_until=time(8, 10))
    cases = cases_of(job, starts)
    at_min = 2 * 1440 + 8 * 60 - 60  # Dublin is an hour ahead of UTC in April
    assert [case.panel for case in cases] == list(panels)
    assert {(c.washed_at_min, c.driven_at_min) for c in cases} == {(at_min + 10, at_min + 40)}
    plain = cases_of(days.job(), starts)[0]
    assert (plain.washed_at_min, plain.driven_at_min) == (None, None)


def test_members_differ_by_sky_and_convection():
    """A more transparent sky cools, stronger convection draws towards the air."""
    base = single(days.outlook(3, **FAIR))

    def member(offset, ln_convection):
        return Members(
            base.starts_utc,
            base.values,
            base.wet_hour_mm,
            np.array([offset]),
            np.array([ln_convection]),
        )

    plain, clear, calm = (
        climate(member(*errors), [at()])["panel_temp_c"][0]
        for errors in ((0.0, 0.0), (-0.05, 0.0), (0.0, -0.5))
    )
    assert clear[NIGHT] < plain[NIGHT] - 0.3
    assert calm[NIGHT] < plain[NIGHT] - 0.5
    assert calm[NOON] > plain[NOON] + 3.0


def test_optional_quantities_fall_back():
    """No direction: no lee. No pressure: that of the site's height, or of the sea."""
    door = Panel(Part.LEFT_DOOR, Colour.BLACK)
    lee, windward, unknown = (
        of(at(door), wind_from_deg=d)["panel_temp_c"][0, NOON + 12] for d in (90.0, 270.0, np.nan)
    )
    assert lee > windward + 1.0
    assert unknown == pytest.approx(windward, abs=0.5)
    wet = {"rh_pct": 99.0, "pressure_hpa": np.nan}
    hill, sea, nowhere = (
        of(at(site=replace(days.SITE, elevation_m=e)), **wet)["film_mm"]
        for e in (1500.0, 0.0, None)
    )
    np.testing.assert_array_equal(sea, nowhere)
    assert not np.array_equal(hill, sea)


DEPENDS = {
    "air_temp_c": QUANTITIES_OUT
    - {
        "rh_pct",
        "wind_ms",
        "gust_ms",
        "gust_sustained_ms",
        "wet_hour_mm",
        "wind_from_deg",
        "light_lx",
        "diffuse_lx",
        "low_sun",
        "sun_elevation_deg",
        "dust_level",
        "drip_level",
        "pollen_level",
        "pm10_level",
        "downwind",
    },
    "rh_pct": {"rh_pct", "dew_point_c", "dew_margin_k", "surface_rh_pct"},
    "wind_10m_ms": {
        "wind_ms",
        "insect_level",
        "insect_lamp_level",
        "panel_temp_c",
        "film_mm",
        "panel_wet",
        "panel_white",
    },
    "gust_10m_ms": {"gust_ms", "gust_sustained_ms", "dust_level"},
    "rain_mm": {"panel_temp_c", "film_mm", "panel_wet", "dew_margin_k"},
    "ghi_wm2": {"light_lx", "diffuse_lx", "panel_temp_c", "film_mm"},
    "dni_wm2": {"low_sun", "panel_temp_c"},
    "dhi_wm2": {"diffuse_lx", "panel_temp_c"},
    "cloud_fraction": {"panel_temp_c"},
}


@pytest.mark.parametrize("name", sorted(n for n, (_, required) in QUANTITIES.items() if required))
def test_a_required_quantity_that_is_all_missing_leaves_all_that_hangs_on_it_unknown(name):
    """Nothing that depends on it is a number in any step; nothing else is touched."""
    met = of(at(), **{name: np.nan})
    for quantity in DEPENDS[name]:
        assert np.isnan(met[quantity]).all(), quantity
    for quantity in ("sun_elevation_deg", "wet_hour_mm"):
        assert np.isfinite(met[quantity]).all()
    if name == "gust_10m_ms":
        assert np.isfinite(met["panel_temp_c"]).all()


def test_indoors_a_panel_needs_neither_sun_nor_rain_to_be_known():
    """What does not reach it may be missing."""
    missing = dict.fromkeys(("rain_mm", "ghi_wm2", "dni_wm2", "dhi_wm2", "cloud_fraction"), np.nan)
    met = of(at(cover=Cover.INDOORS), **missing)
    assert np.isfinite(met["panel_temp_c"]).all()
    assert np.all(met["wet_hour_mm"] == 0.0)


def test_an_hour_without_weather_is_unknown_and_two_hours_after_it():
    """The gap shows in the panel for as long as the held body may be wrong."""
    weather = days.outlook(4, **FAIR)
    holed = weather["air_temp_c"].copy()
    holed[NOON : NOON + 4] = np.nan
    weather = replace(weather, values=weather.values | {"air_temp_c": holed})
    met = climate(single(weather), [at()])
    unknown = np.flatnonzero(np.isnan(met["panel_temp_c"][0]))
    assert unknown.tolist() == list(range(NOON, NOON + 12))
    assert np.isnan(met["panel_wet"][0, NOON : NOON + 12]).all()


def test_one_reading_is_a_climate_too():
    """One member and one step: the panel begins at the air's temperature and moves from there."""
    weather = days.outlook(1)
    one = replace(
        weather,
        starts_utc=weather.starts_utc[:1],
        values={name: array[:1] for name, array in weather.values.items()},
        wet_hour_mm=weather.wet_hour_mm[:1],
    )
    met = climate(single(one), [at()])
    assert met["panel_temp_c"].shape == (1, 1)
    assert abs(met["panel_temp_c"][0, 0] - met["air_temp_c"][0, 0]) < 5.0


def test_sites_in_one_climate_each_have_their_own_sun_and_wind():
    """Two places share the members and nothing else."""
    north = replace(days.SITE, latitude=58.0, surroundings=Surroundings.OPEN)
    met = of(at(), at(site=north))
    assert met["sun_elevation_deg"][1, NOON] < met["sun_elevation_deg"][0, NOON] - 4.0
    assert met["wind_ms"][1, NOON] > met["wind_ms"][0, NOON]
    when = met.starts_utc[NOON].astype("datetime64[s]").astype(datetime).replace(tzinfo=UTC)
    assert when.hour == 13

"""A reading draws the weather to come towards it, in the right direction and no further."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from days import MORNING, SITE, job, outlook
from hypothesis import given, settings
from hypothesis import strategies as st

from sprayadvisor.advice.case import cases_of
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.members import draw, single
from sprayadvisor.advice.model import Colour, Cover, Material, Panel, Part
from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.pull import (
    FADING_H,
    INSTRUMENT_SIGMA,
    PANEL_WRONG_K,
    drawn_to,
    instrument_errors,
    step_of,
    with_panel,
)
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.wind import gun_height_factor

AT = MORNING + timedelta(hours=5, minutes=37)
WEATHER = outlook(days=3)
MEMBERS = draw(WEATHER, 32, seed=4, origin=MORNING)
STEP = minute_of(WEATHER.starts_utc, AT) // 15
HOUR = 4  # steps


def reading(**values):
    """Return a reading taken in the forenoon."""
    return Reading(AT, **values)


def met(members, booking=None):
    """Return the climate at the panels of a job."""
    return climate(members, cases_of(booking or job(), members.starts_utc))


CLIMATE = met(MEMBERS)
ALONE = met(single(WEATHER))


def dew(members):
    """Return the dew points."""
    return dew_point_c(members["air_temp_c"], members["rh_pct"])


def test_the_reading_takes_the_place_of_the_spread():
    """At its hour the middle is what was read, and the spread is the instrument's."""
    drawn = drawn_to(MEMBERS, reading(air_temp_c=12.0, rh_pct=71.0), SITE)
    air, rh = drawn["air_temp_c"][:, STEP], drawn["rh_pct"][:, STEP]
    assert np.median(air) == pytest.approx(12.0)
    assert np.median(rh) == pytest.approx(71.0, abs=0.2)
    assert np.std(air) == pytest.approx(INSTRUMENT_SIGMA["air_temp_c"])
    assert np.std(rh) == pytest.approx(INSTRUMENT_SIGMA["rh_pct"], rel=0.05)
    panel = with_panel(CLIMATE, reading(panel_temp_c=14.5), CLIMATE, AT).case("panel_temp_c", 0)
    assert np.median(panel[:, STEP]) == pytest.approx(14.5)
    assert np.std(panel[:, STEP]) == pytest.approx(INSTRUMENT_SIGMA["panel_temp_c"])


def test_a_reading_as_forecast_changes_nothing():
    """Of a single member: the climate is the plain one, in every quantity and step."""
    here = {name: float(ALONE[name][0, STEP]) for name in ("panel_temp_c", "air_temp_c", "rh_pct")}
    read = reading(**here, wind_ms=float(ALONE["wind_ms"][0, STEP]))
    drawn = drawn_to(single(WEATHER), read, SITE)
    same = with_panel(met(drawn), read, met(drawn), AT)
    for name, values in ALONE.values.items():
        np.testing.assert_allclose(same[name], values, atol=1e-6, err_msg=name)


def test_nothing_measured_changes_nothing():
    """Nor does a reading outside the time the forecast covers."""
    for read in (reading(), Reading(AT - timedelta(days=9), 14.0, 12.0, 71.0, 2.0)):
        drawn = drawn_to(MEMBERS, read, SITE)
        for name, values in drawn.values.items():
            np.testing.assert_array_equal(values, MEMBERS[name], err_msg=name)
    gone = Reading(AT - timedelta(days=9), 14.0)
    assert with_panel(CLIMATE, gone, CLIMATE, AT) is CLIMATE
    assert step_of(WEATHER.starts_utc, gone) is None
    same = with_panel(CLIMATE, reading(), CLIMATE, AT)
    np.testing.assert_array_equal(same["panel_temp_c"], CLIMATE["panel_temp_c"])


def test_the_past_stays_and_the_offset_fades():
    """Nothing before the reading moves; after its time scale 1/e of the difference is left."""
    drawn = drawn_to(single(WEATHER), reading(air_temp_c=10.0), SITE)
    apart = (drawn["air_temp_c"] - single(WEATHER)["air_temp_c"])[0]
    assert not apart[:STEP].any()
    later = STEP + round(FADING_H["weather"] * HOUR)
    assert apart[later] / apart[STEP] == pytest.approx(np.exp(-1.0))
    assert np.all(np.diff(np.abs(apart[STEP:])) <= 1e-12)
    panel = with_panel(ALONE, reading(panel_temp_c=ALONE["panel_temp_c"][0, STEP] - 3), ALONE, AT)
    apart = (panel["panel_temp_c"] - ALONE["panel_temp_c"])[0]
    later = STEP + round(FADING_H["panel"] * HOUR)
    assert apart[STEP] == pytest.approx(-3.0)
    assert apart[later] == pytest.approx(-3.0 * np.exp(-1.0))


def test_warmth_that_no_model_explains_is_gone_in_an_hour():
    """A lamp's lift leaves, the model's own error stays; common practice, no source."""
    hot = float(ALONE["panel_temp_c"][0, STEP]) + 25.0
    apart = (with_panel(ALONE, reading(panel_temp_c=hot), ALONE, AT)["panel_temp_c"])[0]
    apart = apart - ALONE["panel_temp_c"][0]
    assert apart[STEP] == pytest.approx(25.0)
    assert apart[STEP + 1] < 10.0
    assert apart[STEP + HOUR] < PANEL_WRONG_K


def test_conditioning_keeps_the_errors_that_a_reading_leaves_open():
    """Hours later the spread is that of an AR(1) error given its value now (Matheron's rule)."""
    many = draw(WEATHER, 2000, seed=1, origin=AT - timedelta(hours=1))
    drawn = drawn_to(many, reading(air_temp_c=14.0), SITE)
    for hours in (1, 3, 6):
        step = STEP + hours * HOUR
        before = np.std(many["air_temp_c"][:, step])
        kept = np.exp(-hours / FADING_H["weather"])
        open_ = before * np.sqrt(1 - kept**2)
        expected = np.hypot(open_, kept * INSTRUMENT_SIGMA["air_temp_c"])
        assert np.std(drawn["air_temp_c"][:, step]) == pytest.approx(expected, rel=0.08)


def test_the_dew_point_moves_with_the_air():
    """With humidity it is what both give; without it by the correlation of the errors."""
    both = drawn_to(single(WEATHER), reading(air_temp_c=12.0, rh_pct=71.0), SITE)
    assert dew(both)[0, STEP] == pytest.approx(dew_point_c(12.0, 71.0))
    air = single(WEATHER)["air_temp_c"][0, STEP]
    colder = drawn_to(single(WEATHER), reading(air_temp_c=air - 2.0), SITE)
    assert dew(colder)[0, STEP] - dew(single(WEATHER))[0, STEP] == pytest.approx(
        -2 * 0.6 * 0.8 / 0.7
    )
    damp = drawn_to(single(WEATHER), reading(rh_pct=100.0), SITE)
    np.testing.assert_array_equal(damp["air_temp_c"], single(WEATHER)["air_temp_c"])
    assert damp["rh_pct"][0, STEP] == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("read", "factor"),
    [(4.0, None), (0.0, 0.5), (40.0, None)],
)
def test_wind_and_gusts_move_by_one_factor(read, factor):
    """A lull of half a minute never halves the wind again."""
    alone = single(WEATHER)
    drawn = drawn_to(alone, reading(wind_ms=read), SITE)
    then = gun_height_factor("suburb")[0] * alone["wind_10m_ms"][0, STEP]
    expected = read / then if factor is None else factor
    for name in ("wind_10m_ms", "gust_10m_ms"):
        assert drawn[name][0, STEP] / alone[name][0, STEP] == pytest.approx(expected)


def test_the_wind_is_read_where_the_car_stands():
    """Under a roof a given wind at the gun means more of it outside."""
    indoors = replace(SITE, cover=Cover.INDOORS)
    open_, inside = (
        drawn_to(MEMBERS, reading(wind_ms=1.0), site)["wind_10m_ms"][:, STEP]
        for site in (SITE, indoors)
    )
    assert np.all(inside >= open_)


def test_what_the_forecast_does_not_know_is_known_where_it_was_read_only():
    """A gap stays a gap after it; it never becomes a number."""
    holes = outlook(days=3)
    holes.values["air_temp_c"][STEP : STEP + 3] = np.nan
    drawn = drawn_to(single(holes), reading(air_temp_c=12.0, rh_pct=71.0), SITE)
    assert drawn["air_temp_c"][0, STEP] == 12.0
    assert np.isnan(drawn["air_temp_c"][0, STEP + 1 : STEP + 3]).all()
    later = STEP + 3
    assert drawn["air_temp_c"][0, later] == holes["air_temp_c"][later]
    unknown = met(single(holes))
    panel = with_panel(unknown, reading(panel_temp_c=14.0), unknown, AT)["panel_temp_c"][0]
    assert panel[STEP] == 14.0
    assert np.isnan(panel[STEP + 1])
    winds = outlook(days=3, wind_10m_ms=np.nan)
    assert np.isnan(drawn_to(single(winds), reading(wind_ms=2.0), SITE)["wind_10m_ms"]).all()


def test_the_other_panels_move_by_as_much():
    """What a forecast got wrong at one it got wrong beside it; what a lamp did there is its own."""
    steel = Panel(Part.BONNET, Colour.BLACK, Material.STEEL)
    plain = met(single(WEATHER), job(panels=(*job().panels, steel)))
    was = plain["panel_temp_c"][:, STEP]
    for off_k, beside_k in (
        (-3.0, -3.0),
        (2.0, 2.0),
        (16.0, PANEL_WRONG_K),
        (-9.0, -PANEL_WRONG_K),
    ):
        moved = with_panel(plain, Reading(AT, was[1] + off_k, panel=1), plain, AT)
        assert moved["panel_temp_c"][:, STEP] - was == pytest.approx([beside_k, off_k])


def test_a_panel_is_read_whichever_way_the_car_may_stand():
    """What was read holds for every way; the other panels move each from its own."""
    steel = Panel(Part.LEFT_DOOR, Colour.BLACK, Material.STEEL)
    booking = job(panels=(*job().panels, steel), heading_deg=None)
    sunny = single(outlook(days=3, dni_wm2=90.0, cloud_fraction=0.6))
    plain = met(sunny, booking)
    assert plain.n_cases == 8
    was = plain["panel_temp_c"][:, STEP]
    read_c = float(was[1::2].mean())
    moved = with_panel(plain, Reading(AT, read_c, panel=1), plain, AT, 2)["panel_temp_c"][:, STEP]
    assert moved[1::2] == pytest.approx(read_c)
    apart = read_c - was[1::2]
    assert np.ptp(apart) > 1.0
    expected = was[::2] + np.clip(apart, -PANEL_WRONG_K, PANEL_WRONG_K)
    assert moved[::2] == pytest.approx(expected)


@pytest.mark.parametrize(("forecast", "read"), [(240.0, 200.0), (350.0, 30.0), (20.0, 300.0)])
def test_the_wind_turns_to_where_it_was_felt_and_back_the_short_way(forecast, read):
    """Through north where that is nearer; after its time scale 1/e of the turn is left."""
    weather = outlook(days=3, wind_from_deg=forecast)
    turned = drawn_to(single(weather), reading(wind_from_deg=read), SITE)["wind_from_deg"][0]
    assert turned[STEP] == pytest.approx(read)
    assert turned[STEP - 1] == pytest.approx(forecast)
    apart = (read - forecast + 180.0) % 360.0 - 180.0
    later = STEP + round(FADING_H["weather"] * HOUR)
    expected = (forecast + apart * np.exp(-1.0)) % 360.0
    assert turned[later] == pytest.approx(expected)
    many = drawn_to(MEMBERS, reading(wind_from_deg=read), SITE)["wind_from_deg"][:, STEP]
    off = (many - read + 180.0) % 360.0 - 180.0
    assert np.std(off) == pytest.approx(INSTRUMENT_SIGMA["wind_from_deg"], rel=0.05)


def test_a_wind_felt_where_the_forecast_gives_none_is_known_then():
    """For as long as a reading counts, and not known again afterwards."""
    none = outlook(days=3, wind_from_deg=np.nan)
    turned = drawn_to(single(none), reading(wind_from_deg=90.0), SITE)["wind_from_deg"][0]
    assert (turned[STEP], turned[STEP + 5 * HOUR]) == (90.0, 90.0)
    assert np.isnan(turned[STEP - 1])
    assert np.isnan(turned[STEP + 7 * HOUR])


def test_a_panel_put_under_a_roof_begins_as_cold_as_it_was():
    """Without a reading the new shelter warms it no sooner than it can."""
    under = replace(SITE, cover=Cover.CANOPY)
    sheltered = met(single(WEATHER), job(site=under))
    begun = with_panel(sheltered, reading(), ALONE, AT)["panel_temp_c"][0]
    assert begun[STEP] == pytest.approx(ALONE["panel_temp_c"][0, STEP])
    assert abs(begun[STEP + 12 * HOUR] - sheltered["panel_temp_c"][0, STEP + 12 * HOUR]) < 0.05


def test_instrument_errors_cancel_in_pairs():
    """Their size is the table's, and no two quantities share them."""
    for n in (2, 31, 32):
        errors = instrument_errors("panel_temp_c", n)
        assert errors.shape == (n,)
        assert errors.sum() == pytest.approx(0.0, abs=1e-9)
    assert instrument_errors("air_temp_c", 1).tolist() == [0.0]
    one, other = instrument_errors("rh_pct", 32), instrument_errors("air_temp_c", 32)
    assert abs(np.corrcoef(one, other)[0, 1]) < 0.5


FACTS = st.floats(-10, 35)


@settings(max_examples=40)
@given(FACTS, st.floats(0, 20))
def test_a_colder_panel_never_helps_against_dew(panel_temp_c, colder_by):
    """In every member and at every time from then on; nor does it raise the panel anywhere."""
    warm, cold = (
        with_panel(CLIMATE, reading(panel_temp_c=value), CLIMATE, AT)
        for value in (panel_temp_c, panel_temp_c - colder_by)
    )
    for quantity in ("panel_temp_c", "dew_margin_k"):
        assert np.all(cold[quantity] <= warm[quantity] + 1e-9)
    assert np.all(cold["surface_rh_pct"] >= warm["surface_rh_pct"] - 1e-9)


@settings(max_examples=40)
@given(st.floats(1, 100), st.floats(0, 30), st.floats(-5, 35))
def test_damper_air_never_lowers_the_dew_point(rh_pct, damper_by, air_temp_c):
    """And neither it nor anything else leaves what is possible."""
    dry, damp = (
        drawn_to(MEMBERS, reading(air_temp_c=air_temp_c, rh_pct=min(value, 100.0)), SITE)
        for value in (rh_pct, rh_pct + damper_by)
    )
    assert np.all(dew(damp) >= dew(dry) - 1e-6)
    for drawn in (dry, damp):
        assert np.all(drawn["rh_pct"] <= 100.0)
        assert np.all(dew(drawn) <= drawn["air_temp_c"] + 1e-6)


@settings(max_examples=40)
@given(FACTS)
def test_the_panel_stays_between_reading_and_model(panel_temp_c):
    """Of a single member, at every step after the reading."""
    moved = with_panel(ALONE, reading(panel_temp_c=panel_temp_c), ALONE, AT)["panel_temp_c"][0]
    model = ALONE["panel_temp_c"][0]
    apart = panel_temp_c - model[STEP]
    shift = moved[STEP:] - model[STEP:]
    assert np.all(np.sign(apart) * shift >= -1e-9)
    assert np.all(np.abs(shift) <= abs(apart) + 1e-9)

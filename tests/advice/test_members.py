"""Members: the forecast alone, and drawn weathers with the spread the table promises."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from sprayadvisor.advice import members as drawn
from sprayadvisor.advice.outlook import Outlook, Provenance
from sprayadvisor.errors import InputError
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.quantities import QUANTITIES

ORIGIN = datetime(2031, 5, 1, tzinfo=UTC)
STEPS = 4 * 24 * 4
MANY = 2000
# Invented steady weather: dry enough that the dew point never meets the air.
STEADY = {
    "air_temp_c": 15.0,
    "rh_pct": 45.0,
    "wind_10m_ms": 4.0,
    "gust_10m_ms": 7.0,
    "rain_mm": 0.0,
    "ghi_wm2": 300.0,
    "dni_wm2": 250.0,
    "dhi_wm2": 150.0,
    "cloud_fraction": 0.5,
    "rain_probability_pct": 30.0,
    "wind_from_deg": 240.0,
}


def outlook(steps=STEPS, wet_hour_mm=0.0, **changed):
    """Return invented weather; numbers hold over all steps, arrays are taken as they are."""
    values = {name: np.full(steps, np.nan) for name in QUANTITIES}
    for name, value in (STEADY | changed).items():
        values[name] = np.broadcast_to(np.asarray(value, float), (steps,)).copy()
    values["dew_point_c"] = dew_point_c(values["air_temp_c"], values["rh_pct"])
    starts = np.datetime64("2031-05-01T00:00:00", "s") + np.arange(steps) * np.timedelta64(900, "s")
    wet = np.broadcast_to(np.asarray(wet_hour_mm, float), (steps,)).copy()
    return Outlook(starts, values, wet, Provenance("invented", ORIGIN))


@pytest.fixture(scope="module")
def many():
    """Return 2,000 members around the steady weather."""
    return drawn.draw(outlook(), MANY, seed=1, origin=ORIGIN)


def test_a_single_member_is_the_forecast_itself():
    """One row, no error of its own."""
    weather = outlook()
    alone = drawn.single(weather)
    assert len(alone) == 1
    for name, array in weather.values.items():
        np.testing.assert_array_equal(alone[name][0], array)
    assert alone.ln_convection.tolist() == [0.0]
    assert alone.sky_emissivity_offset.tolist() == [0.0]


@pytest.mark.parametrize("lead_h", [0.125, 24.125, 72.125])
def test_the_spread_grows_with_lead_as_the_table_says(many, lead_h):
    """The σ of 2,000 members lies within 6 % of the table at 0, 24 and 72 h."""
    step = int(lead_h * 4)
    errors = {
        "air_temp_c": many["air_temp_c"] - 15.0,
        "dew_point_c": many["dew_point_c"],
        "ln_wind": np.log(many["wind_10m_ms"] / 4.0),
    }
    if lead_h < 72:  # at 72 h the clip at clear and overcast takes a tenth of it away
        errors["cloud_fraction"] = many["cloud_fraction"]
    for name, error in errors.items():
        table = np.interp(lead_h, drawn.LEAD_H, drawn.SIGMA_BY_LEAD[name])
        assert error[:, step].std() == pytest.approx(table, rel=0.06), name
    assert many.sky_emissivity_offset.std() == pytest.approx(0.02, rel=0.06)
    assert many.ln_convection.std() == pytest.approx(0.3, rel=0.06)


def test_beyond_the_table_and_before_the_origin_its_ends_hold():
    """Lead is never negative, and four days are as uncertain as three."""
    late = drawn.draw(outlook(), MANY, seed=2, origin=ORIGIN + timedelta(days=1))
    early = drawn.draw(outlook(), MANY, seed=2, origin=ORIGIN - timedelta(days=9))
    assert late["air_temp_c"][:, 0].std() == pytest.approx(0.7, rel=0.06)
    assert early["air_temp_c"][:, 0].std() == pytest.approx(2.0, rel=0.06)


def test_errors_hang_together_in_time_and_between_temperature_and_dew_point(many):
    """Six hours later e⁻¹ of an error is left; temperature and dew point correlate by 0.6."""
    air = many["air_temp_c"] - 15.0
    dew = many["dew_point_c"] - many["dew_point_c"].mean(axis=0)
    lagged = np.corrcoef(air[:, 100], air[:, 124])[0, 1]
    assert lagged == pytest.approx(np.exp(-1), abs=0.05)
    assert np.corrcoef(air[:, 100], dew[:, 100])[0, 1] == pytest.approx(0.6, abs=0.05)


def test_members_come_in_pairs_around_the_forecast(many):
    """The second half mirrors the first, so that the mean is the forecast's own."""
    np.testing.assert_allclose(many["air_temp_c"].mean(axis=0), 15.0, atol=1e-9)
    np.testing.assert_allclose(many.ln_convection[: MANY // 2], -many.ln_convection[MANY // 2 :])


def test_the_dew_point_never_passes_the_air_and_humidity_fits_both():
    """In damp air the dew point stops at the air's temperature, at 100 %."""
    damp = drawn.draw(outlook(rh_pct=97.0), 200, seed=3, origin=ORIGIN)
    assert np.all(damp["dew_point_c"] <= damp["air_temp_c"])
    assert damp["rh_pct"].max() == 100.0
    np.testing.assert_allclose(
        dew_point_c(damp["air_temp_c"], damp["rh_pct"]), damp["dew_point_c"], atol=1e-9
    )


def test_gusts_go_with_the_wind_and_what_has_no_error_is_kept(many):
    """A windier member is gustier by the same factor; the direction is the forecast's."""
    np.testing.assert_allclose(many["gust_10m_ms"] / many["wind_10m_ms"], 7.0 / 4.0)
    assert np.all(many["wind_from_deg"] == 240.0)
    assert np.all(np.isnan(many["pressure_hpa"]))


@pytest.mark.parametrize("chance_pct", [0.0, 5.0, 30.0, 80.0, 100.0])
def test_rain_comes_with_the_forecasts_own_probability(chance_pct):
    """The share of members that are wet in an hour is the probability; the others have none."""
    weather = outlook(rain_probability_pct=chance_pct)
    rainy = drawn.draw(weather, MANY, seed=4, origin=ORIGIN)
    wet = rainy.wet_hour_mm[:, 40] > 0.1
    assert wet.mean() == pytest.approx(chance_pct / 100, abs=0.02)
    dry = rainy.wet_hour_mm == 0.0
    assert np.all(rainy["rain_mm"][dry] == 0.0)
    assert np.all(rainy.wet_hour_mm[~dry] > 0.1)
    assert dry.any() or chance_pct == 100.0


def test_an_hour_is_wet_or_dry_as_a_whole_and_its_steps_add_up(many):
    """The four quarter hours of an hour share one outcome and its amount."""
    hours = many.wet_hour_mm.reshape(MANY, -1, 4)
    assert np.all(np.ptp(hours, axis=-1) == 0.0)
    np.testing.assert_allclose(many["rain_mm"].reshape(MANY, -1, 4).sum(axis=-1), hours[..., 0])


def test_dry_spells_are_longer_than_if_hours_were_drawn_apart(many):
    """Six dry hours in a row are far likelier than 0.7⁶."""
    dry = many.wet_hour_mm.reshape(MANY, -1, 4)[:, 30:36, 0] == 0.0
    assert dry.all(axis=1).mean() > 1.5 * 0.7**6


def test_the_amount_is_scaled_so_that_its_mean_is_kept():
    """With 1 mm at 50 % a wet member gets 2 mm; scaling stops at three times."""
    half = drawn.draw(
        outlook(rain_mm=0.25, wet_hour_mm=1.0, rain_probability_pct=50.0),
        200,
        seed=5,
        origin=ORIGIN,
    )
    assert set(np.unique(half.wet_hour_mm)) == {0.0, 2.0}
    rare = drawn.draw(
        outlook(rain_mm=0.05, wet_hour_mm=0.2, rain_probability_pct=5.0), 200, seed=5, origin=ORIGIN
    )
    assert rare.wet_hour_mm.max() == pytest.approx(0.6)


@pytest.mark.parametrize(("amount_mm", "share"), [(0.0, 0.05), (0.1, 0.4), (5.0, 0.9)])
def test_without_a_probability_the_amount_decides(amount_mm, share):
    """More rain in the forecast, more wet members; a dry forecast is not quite sure."""
    weather = outlook(rain_probability_pct=np.nan, rain_mm=amount_mm / 4, wet_hour_mm=amount_mm)
    rainy = drawn.draw(weather, MANY, seed=6, origin=ORIGIN)
    assert (rainy.wet_hour_mm[:, 40] > 0.1).mean() == pytest.approx(share, abs=0.02)


@pytest.mark.parametrize(
    ("amount_mm", "chance_pct", "share"),
    [(1.4, 0.0, 0.41), (0.3, 0.0, 0.275), (0.1, 0.0, 0.0), (1.4, 80.0, 0.80), (0.0, 20.0, 0.2)],
)
def test_an_amount_of_rain_is_not_argued_away(amount_mm, chance_pct, share):
    """The probability comes from another run; with it at nil half of what the amount says is left.

    Engineering estimate; an hour counts as wet from 0.1 mm on, as in the forecast's probability.
    """
    weather = outlook(rain_probability_pct=chance_pct, rain_mm=amount_mm / 4, wet_hour_mm=amount_mm)
    rainy = drawn.draw(weather, MANY, seed=6, origin=ORIGIN)
    assert (rainy.wet_hour_mm[:, 40] > 0.1).mean() == pytest.approx(share, abs=0.02)


def test_rain_and_cloud_come_together(many):
    """Wet members are cloudier than dry ones."""
    wet = many.wet_hour_mm[:, 200] > 0.0
    cloud = many["cloud_fraction"][:, 200]
    assert cloud[wet].mean() > cloud[~wet].mean() + 0.05


def test_radiation_goes_with_cloud():
    """More cloud means less sun and no beam at all when overcast; the parts stay in balance."""
    day = np.where(np.arange(STEPS) // 96 == 2, 1.0, 0.5)  # one day twice as bright
    weather = outlook(ghi_wm2=600 * day, dni_wm2=700 * day, dhi_wm2=150 * day)
    sunny = drawn.draw(weather, 400, seed=7, origin=ORIGIN)
    step = 96 + 48
    order = np.argsort(sunny["cloud_fraction"][:, step])
    ghi = sunny["ghi_wm2"][order, step]
    assert np.all(np.diff(ghi) <= 1e-9)
    assert ghi[0] <= 600.0  # never above the clearest day at that quarter hour
    assert ghi[0] > 300.0 > ghi[-1]
    overcast = sunny["cloud_fraction"] == 1.0
    assert overcast.any()
    assert np.all(sunny["dni_wm2"][overcast] == 0.0)
    for name in ("ghi_wm2", "dni_wm2", "dhi_wm2"):
        assert np.all(sunny[name] >= 0.0)
    assert np.all(sunny["dhi_wm2"] <= sunny["ghi_wm2"] + 1e-9)


def test_the_same_seed_gives_the_same_members_and_another_seed_others():
    """Nothing but seed, forecast and origin decides."""
    one, again = (drawn.draw(outlook(), seed=8, origin=ORIGIN) for _ in range(2))
    other = drawn.draw(outlook(), seed=9, origin=ORIGIN)
    assert len(one) == 32
    for name in QUANTITIES:
        np.testing.assert_array_equal(one[name], again[name])
    np.testing.assert_array_equal(one.wet_hour_mm, again.wet_hour_mm)
    assert not np.array_equal(one["air_temp_c"], other["air_temp_c"])


@pytest.mark.parametrize("name", sorted(set(STEADY) - {"rain_probability_pct"}))
def test_a_missing_value_stays_missing_in_every_member(name):
    """An hour that the forecast does not give is not invented."""
    gap = np.full(STEPS, STEADY[name])
    gap[40:44] = np.nan
    wet = np.where(np.isnan(gap), np.nan, 0.0) if name == "rain_mm" else 0.0
    holed = drawn.draw(outlook(wet_hour_mm=wet, **{name: gap}), 8, seed=1, origin=ORIGIN)
    assert np.all(np.isnan(holed[name][:, 40:44]))
    assert np.all(np.isfinite(holed[name][:, 60:]))
    if name == "rain_mm":
        assert np.all(np.isnan(holed.wet_hour_mm[:, 40:44]))


@pytest.mark.parametrize("n", [0, 1, 7])
def test_members_come_in_pairs_or_not_at_all(n):
    """An odd number has no mirror image."""
    with pytest.raises(InputError, match=f"number of members is {n}; it must be even"):
        drawn.draw(outlook(8), n, seed=1, origin=ORIGIN)

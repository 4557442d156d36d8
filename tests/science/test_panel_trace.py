"""The moving panel: skin, body and film through time, and what each part of the model does."""

from dataclasses import replace

import numpy as np
import panels
import pytest
from scipy.linalg import expm

from sprayadvisor.science import convection, sky
from sprayadvisor.science.panel import STEPS_AFTER_GAP, Event, steady_temp_c, trace
from sprayadvisor.science.panel_balance import Stepper
from sprayadvisor.science.panel_build import Build, State, Weather
from sprayadvisor.science.wetness import FILM_MAX_MM, LATENT_J_KG, wet_flag

TWELVE_H = 48
WEEK = 7 * 96
ONE = slice(0, 1)


def random_rows(rows=400, seed=11):
    """Return random panels in random weather: build, state, weather."""
    rng = np.random.default_rng(seed)
    uniform = rng.uniform
    build = Build(
        emittance=uniform(0.2, 0.95, rows),
        tilt_deg=uniform(0, 90, rows),
        skin_j_m2k=uniform(2000, 6000, rows),
        exchange_wm2k=uniform(0.5, 8, rows),
    )
    state = State(uniform(255, 330, rows), uniform(260, 320, rows), uniform(0, 0.2, rows))
    state.film_mm[::2] = 0.0
    air_k = uniform(258, 305, rows)
    weather = Weather(
        gain_wm2=uniform(180, 1300, rows),
        air_k=air_k,
        vapour_hpa=6.1 * np.exp(0.07 * (air_k - 273)) * uniform(0.3, 1.0, rows),
        forced_wm2k=uniform(2.0, 30.0, rows),
        calm_share=uniform(0.0, 0.6, rows),
    )
    return build, state, weather


def test_a_step_is_the_matrix_exponential_of_its_linear_balance():
    """End and mean of every step agree with scipy's ``expm`` of the same 2 × 2 system."""
    build, state, weather = random_rows(60)
    skin, body = state.skin_k.copy(), state.body_k.copy()
    stepper = Stepper(build, 60, 900.0)
    mean = stepper.step(state, weather).copy()
    for row in range(60):
        k, hb = build.exchange_wm2k[row], build.body_air_wm2k
        cs, cb = build.skin_j_m2k[row], build.body_j_m2k
        a = np.zeros((3, 3))  # the third line carries the constant
        a[0] = -stepper.linear.loss[row] / cs, k / cs, stepper.linear.pull[row] / cs
        a[1] = k / cb, -(k + hb) / cb, hb * weather.air_k[row] / cb
        start = np.array([skin[row], body[row], 1.0])
        # The exponential of [[A, 1], [0, 0]] carries the integral of exp(A t) in its corner.
        whole = expm(np.block([[a, np.eye(3)], [np.zeros((3, 6))]]) * 900.0)
        end, integral = whole[:3, :3] @ start, whole[:3, 3:] @ start
        assert state.skin_k[row] == pytest.approx(end[0], abs=1e-7)
        assert state.body_k[row] == pytest.approx(end[1], abs=1e-7)
        assert mean[row] == pytest.approx(integral[0] / 900.0, abs=1e-7)


def test_the_heat_of_the_linear_fluxes_is_kept_in_every_step():
    """Skin and body each gain exactly what flows in at the mean temperatures, to 1e-6."""
    build, state, weather = random_rows()
    stepper = Stepper(build, 400, 900.0)
    for _ in range(5):
        skin, body = state.skin_k.copy(), state.body_k.copy()
        mean = stepper.step(state, weather).copy()
        it = stepper.linear
        into_skin = build.skin_j_m2k * (state.skin_k - skin) / 900.0
        body_mean = (into_skin - it.pull + it.loss * mean) / build.exchange_wm2k
        into_body = build.body_j_m2k * (state.body_k - body) / 900.0
        through = build.exchange_wm2k * (mean - body_mean)
        lost = build.body_air_wm2k * (weather.air_k - body_mean)
        np.testing.assert_allclose(into_body, through + lost, rtol=1e-6, atol=1e-6)


def test_the_film_takes_the_very_water_whose_heat_the_skin_was_given():
    """Heat with and without the film differ by the latent heat of what came or went."""
    build, state, weather = random_rows()
    before = state.film_mm.copy()
    stepper = Stepper(build, 400, 900.0)
    mean = stepper.step(state, weather).copy()
    it = stepper.linear
    # everything but the film, about the temperature it was made linear about
    about = stepper._work[7]
    dry_pull = weather.gain_wm2 + 0.75 * it.radiation * about + it.convection * weather.air_k
    dry_loss = it.convection + it.radiation + build.exchange_wm2k
    latent_wm2 = (it.pull - it.loss * mean) - (dry_pull - dry_loss * mean)
    gained_wm2 = (state.film_mm - before) * LATENT_J_KG / 900.0
    # Rows that fill up drip; rows that a first estimate wrongly left wet or dry end at zero.
    free = (state.film_mm > 0) & (state.film_mm < FILM_MAX_MM)
    assert free.sum() > 50
    np.testing.assert_allclose(gained_wm2[free], latent_wm2[free], atol=1e-6)
    gone = ~it.wet
    assert (gone & (before > 0)).sum() > 10
    np.testing.assert_allclose(gained_wm2[gone], latent_wm2[gone], atol=1e-6)


@pytest.mark.parametrize("wind", [0.0, 0.3, 1.0, 4.0])
@pytest.mark.parametrize("absorbed", [0.0, 300.0, 800.0])
def test_after_twelve_hours_of_steady_weather_it_is_at_the_steady_root(wind, absorbed):
    """An insulated dry panel ends within 0.05 K of ``steady_temp_c``."""
    weather = panels.forcing(TWELVE_H, air=12.0, rh=40.0, wind=wind, absorbed=absorbed)
    moved = trace(weather, replace(panels.INSULATED, film=0.0)).panel_temp_c[-1, 0]
    sky_c = sky.sky_temp_c(sky.longwave_down_wm2(12.0, 40.0, 0.0))
    root = moved
    for _ in range(60):  # natural convection hangs on the answer itself
        h = convection.convection_wm2k(wind, root - 12.0, 0.0)
        root = 0.5 * root + 0.5 * steady_temp_c(absorbed, 12.0, sky_c, h, panels.EMITTANCE)
    assert moved == pytest.approx(root, abs=0.05)


def test_with_the_body_it_ends_where_skin_and_body_both_are_at_rest():
    """The heat the skin gives the body is the heat the body gives the air."""
    weather = panels.forcing(4 * TWELVE_H, air=12.0, rh=40.0, wind=2.0, absorbed=600.0)
    ended = trace(weather, panels.ROOF)
    skin, body = ended.panel_temp_c[-1, 0], ended.body_temp_c[-1, 0]
    through = panels.ROOF.exchange_wm2k * (skin - body)
    assert through == pytest.approx(panels.ROOF.body_air_wm2k * (body - 12.0), abs=0.05)
    sky_c = sky.sky_temp_c(sky.longwave_down_wm2(12.0, 40.0, 0.0))
    h = convection.convection_wm2k(2.0, 0.0, 0.0)
    root = steady_temp_c(600.0 - through, 12.0, sky_c, h, panels.EMITTANCE)
    assert skin == pytest.approx(root, abs=0.05)


def halved(weather):
    """Return the same weather in steps of half the length."""
    half = panels.each_step(weather, lambda column: np.repeat(column, 2, axis=0))
    return replace(half, rain_mm=half.rain_mm / 2)


def test_halving_the_step_hardly_changes_a_dry_panel():
    """At most 0.3 K anywhere in a week with cloud edges, and 0.15 K in 99 of 100 steps."""
    weather = panels.forcing(WEEK, **panels.variable_weather(WEEK))
    dry = replace(panels.ROOF, film=0.0)
    whole = trace(weather, dry).panel_temp_c[:, 0]
    half = trace(halved(weather), dry, step_s=450.0).panel_temp_c.reshape(WEEK, 2).mean(axis=1)
    change = np.abs(whole - half)
    assert change.max() <= 0.3
    assert np.quantile(change, 0.99) <= 0.15


def test_halving_the_step_hardly_changes_when_a_panel_is_wet():
    """The wet flag differs in at most 2 % of a week with dew and showers."""
    weather = panels.forcing(WEEK, **panels.variable_weather(WEEK))
    whole = wet_flag(trace(weather, panels.ROOF).film_mm[:, 0])
    half = wet_flag(trace(halved(weather), panels.ROOF, step_s=450.0).film_mm)
    share_wet = whole.mean()
    assert 0.1 < share_wet < 0.9
    assert np.mean(whole != half.reshape(WEEK, 2).max(axis=1)) <= 0.02


def test_the_start_is_the_first_air_temperature_and_is_soon_forgotten():
    """Skin and body 20 K off at the beginning are within 0.1 K of the truth after 12 h."""
    weather = panels.forcing(2 * TWELVE_H, **panels.variable_weather(2 * TWELVE_H))
    dry = replace(panels.ROOF, film=0.0)
    usual = trace(weather, dry)
    hot = trace(weather, dry, [Event(0, ONE, skin_c=31.0, body_c=31.0)])
    assert abs(hot.panel_temp_c[0] - usual.panel_temp_c[0])[0] > 3.0
    assert np.abs(hot.panel_temp_c - usual.panel_temp_c)[TWELVE_H:].max() < 0.1
    still = panels.forcing(1, air=7.0, rh=50.0, wind=2.0, cloud=1.0)
    assert trace(still, panels.ROOF).body_temp_c[0, 0] == pytest.approx(7.0, abs=0.01)


# A clear calm night into a sunny morning: hour of the night, skin °C, body °C, film mm. Values of
# this model, pinned so that no part of it changes unseen.
STORY = (
    (1.0, 6.33, 9.86, 0.0124),  # cooling, the first dew
    (5.0, 4.54, 7.08, 0.0767),
    (9.75, 2.83, 5.23, 0.1716),  # the coldest, all but dripping
    (10.75, 9.22, 6.49, 0.1814),  # the sun is on it, the body behind still cold
    (12.0, 15.57, 10.67, 0.0872),  # drying holds it near its wet bulb
    (13.75, 34.01, 21.09, 0.0),  # dry and hot
)
STORY_TOLERANCE = {"panel_temp_c": 0.1, "body_temp_c": 0.1, "film_mm": 0.003}


def night_into_morning():
    """Return 14 h from 20:00: clear and calm, damp; the sun is on the roof from 06:00."""
    hours = np.arange(56) / 4.0
    return panels.forcing(
        56,
        air=np.where(hours < 10.0, 12.0 - 0.4 * hours, 8.0 + 2.5 * (hours - 10.0)),
        rh=np.where(hours < 10.0, 80.0 + 1.4 * hours, 94.0 - 10.0 * (hours - 10.0)),
        wind=np.where(hours < 10.0, 0.1, 0.1 + 0.6 * (hours - 10.0)),
        absorbed=np.where(hours < 10.0, 0.0, 130.0 * (hours - 10.0)),
        cloud=0.05,
    )


def test_a_clear_calm_night_into_a_sunny_morning():
    """Skin, body and film at six times: cooling, dew, the cold body behind, drying, heat."""
    played = trace(night_into_morning(), panels.ROOF)
    for hour, skin, body, film in STORY:
        step = int(hour * 4)
        for (name, tolerance), value in zip(
            STORY_TOLERANCE.items(), (skin, body, film), strict=True
        ):
            pinned = pytest.approx(value, abs=tolerance)
            assert getattr(played, name)[step, 0] == pinned, (hour, name)


@pytest.mark.parametrize(
    "missing",
    [{"exchange_wm2k": 0.0}, {"film": 0.0}, {"natural": 0.0}],
    ids=lambda m: next(iter(m)),
)
def test_each_part_of_the_model_shows_in_that_story(missing):
    """Without the body, the film or natural convection the pinned values would not hold."""
    without = trace(night_into_morning(), replace(panels.ROOF, **missing))
    steps = [int(row[0] * 4) for row in STORY]
    for place, (name, tolerance) in enumerate(STORY_TOLERANCE.items(), start=1):
        pinned = np.array([row[place] for row in STORY])
        off = np.abs(getattr(without, name)[steps, 0] - pinned)
        assert off.max() > 2 * tolerance, name


def test_a_cold_body_keeps_a_panel_wet_longer():
    """On a damp warming morning without sun the body behind holds the skin below the dew point."""
    hours = np.arange(64) / 4.0
    weather = panels.forcing(
        64,
        air=np.where(hours < 10.0, 2.0, 2.0 + 4.0 * np.minimum(hours - 10.0, 3.0)),
        rh=np.where(hours < 10.0, 70.0, 95.0),
        wind=1.0,
        cloud=1.0,
    )
    backed = wet_flag(trace(weather, panels.ROOF).film_mm).sum()
    alone = wet_flag(trace(weather, panels.INSULATED).film_mm).sum()
    assert backed > alone


def test_rain_fills_the_film_and_sun_and_wind_dry_it():
    """More than the film holds runs off; on a sunny breezy day it is gone within two hours."""
    rain = np.zeros(32)
    rain[4] = 5.0
    weather = panels.forcing(32, air=16.0, rh=60.0, wind=2.0, absorbed=400.0, rain=rain)
    film = trace(weather, panels.ROOF).film_mm[:, 0]
    assert film[3] == 0.0
    assert film[4] == FILM_MAX_MM
    assert np.all(np.diff(film[4:]) <= 0.0)
    assert film[12] == 0.0


def test_a_panel_wiped_dry_is_dry_and_dews_again_if_it_is_below_the_dew_point():
    """Wiping takes the water, not the cold."""
    weather = panels.forcing(48, air=8.0, rh=92.0, wind=0.5)
    wiped = trace(weather, panels.ROOF, [Event(40, ONE, film_mm=0.0)]).film_mm[:, 0]
    assert wiped[39] > 0.05
    assert wiped[40] < 0.02
    assert wiped[47] > wiped[40]
    breeze = panels.forcing(48, air=8.0, rh=60.0, wind=3.0, cloud=1.0)
    washed = [Event(38, ONE, film_mm=FILM_MAX_MM), Event(40, ONE, film_mm=0.0)]
    dry = trace(breeze, panels.ROOF, washed).film_mm[:, 0]
    assert dry[38] == FILM_MAX_MM
    assert np.all(dry[40:] == 0.0)


def test_engine_heat_in_skin_and_body_fades_over_the_hour():
    """Well above the rest at first, and still felt after 45 min."""
    weather = panels.forcing(60, air=10.0, rh=60.0, wind=1.0, cloud=1.0)
    driven = trace(weather, panels.ROOF, [Event(40, ONE, skin_c=60.0, body_c=60.0)])
    excess = driven.panel_temp_c[40:, 0] - 10.0
    assert excess[0] > 15.0
    assert excess[3] > 5.0
    assert np.all(np.diff(excess) < 0.0)


def test_frost_settles_from_air_that_is_damp_over_ice():
    """At −6 °C and 97 % over water the air is beyond saturation over ice: rime, no dew."""
    weather = panels.forcing(40, air=-6.0, rh=97.0, wind=2.0, cloud=1.0)
    film = trace(weather, panels.ROOF).film_mm[-1, 0]
    assert film > 0.005


def gapped(weather, steps):
    """Return the weather with one quantity missing in some steps."""
    gain = weather.gain_wm2.copy()
    gain[steps] = np.nan
    return replace(weather, gain_wm2=gain)


def test_through_a_gap_the_state_is_held_and_the_answer_is_unknown():
    """NaN in the gap and for two hours after; then wet until it has surely dried."""
    weather = panels.forcing(120, air=15.0, rh=50.0, wind=1.0, absorbed=200.0)
    whole = trace(weather, panels.ROOF)
    holed = trace(gapped(weather, slice(40, 44)), panels.ROOF)
    unknown = slice(40, 44 + STEPS_AFTER_GAP)
    for name in ("panel_temp_c", "body_temp_c", "film_mm"):
        array = getattr(holed, name)[:, 0]
        assert np.all(np.isnan(array[unknown]))
        assert np.all(np.isfinite(np.delete(array, np.r_[unknown])))
        np.testing.assert_array_equal(array[:40], getattr(whole, name)[:40, 0])
    assert holed.panel_temp_c[-1, 0] == pytest.approx(whole.panel_temp_c[-1, 0], abs=0.01)


def test_after_a_gap_the_film_is_there_until_surely_dry():
    """In still damp air a gap leaves the panel wet for hours, and not for ever."""
    weather = panels.forcing(160, air=10.0, rh=80.0, wind=1.0, cloud=1.0)
    film = trace(gapped(weather, slice(20, 21)), panels.ROOF).film_mm[:, 0]
    assert film[19] == 0.0
    assert film[21 + STEPS_AFTER_GAP] > 0.005
    assert film[-1] == 0.0


def test_a_gap_in_one_row_leaves_the_others_alone():
    """Rows are panels of their own."""
    one = panels.forcing(40, air=10.0, rh=70.0, wind=1.0, absorbed=100.0)
    two = panels.each_step(one, lambda column: np.repeat(column, 2, axis=1))
    two.air_temp_c[10, 0] = np.nan
    two.rain_mm[12, 0] = np.nan
    both = trace(two, panels.ROOF)
    np.testing.assert_array_equal(both.film_mm[:, 1], trace(one, panels.ROOF).film_mm[:, 0])
    assert np.isnan(both.panel_temp_c[10:21, 0]).all()
    assert np.isfinite(both.panel_temp_c[:, 1]).all()


def test_weather_that_begins_with_a_gap_starts_at_its_first_complete_step():
    """The start state is the air of that step, and the two hours after stay unknown."""
    weather = panels.forcing(40, air=np.linspace(30.0, 10.0, 40), rh=50.0, wind=1.0)
    late = trace(gapped(weather, slice(0, 12)), panels.ROOF)
    assert np.isnan(late.panel_temp_c[: 12 + STEPS_AFTER_GAP]).all()
    assert np.isfinite(late.panel_temp_c[12 + STEPS_AFTER_GAP :]).all()


def test_weather_that_is_never_complete_gives_no_answer():
    """All unknown, without a warning."""
    weather = panels.forcing(10, air=10.0, rh=50.0, wind=1.0)
    nothing = trace(gapped(weather, slice(0, 10)), panels.ROOF)
    assert np.isnan(nothing.panel_temp_c).all()
    assert np.isnan(nothing.film_mm).all()

"""Work with the lamp: how long it lasts, and how the play takes it."""

from __future__ import annotations

import numpy as np
import pytest
from play_parts import CALM, HERE, hand, plan_of, sky

from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.plan import Deadline, Pace, PlanStage, Span
from sprayadvisor.advice.play import FAIL, FIT, FORECAST, HEATING, UNKNOWN
from sprayadvisor.advice.rates import COOL_WITHIN_K, pace_minutes
from sprayadvisor.advice.tables import Tables
from sprayadvisor.science import lamp

NAN, NEVER = float("nan"), float("inf")
FLUX, HEAT = 1500.0, 9000.0
WARM = Pace("warm", 28.0, HEAT, FLUX, hold_min=8.0, below_c=15.0)
BAKE = Pace("bake", 60.0, HEAT, FLUX, hold_min=9.0)
COOL = Pace("cool", 40.0, HEAT, from_temp_c=60.0)


def met(panel: float = 8.0, air: float = 8.0, wind: float = 1.0) -> dict[str, np.ndarray]:
    """Return one quarter hour of weather at a panel."""
    values = {"panel_temp_c": panel, "air_temp_c": air, "wind_ms": wind}
    return {name: np.array([[value]]) for name, value in values.items()}


def minutes(pace: Pace, **weather: float) -> float:
    """Return how long work with the lamp takes in one quarter hour."""
    return float(pace_minutes(pace, met(**weather))[0, 0])


def test_a_cold_panel_is_warmed_and_soaked_and_a_mild_one_is_left():
    """Heating and soak, rounded up together, once a place; from the bound on nothing at all."""
    heating = lamp.warm_up_min(FLUX, 8.0, 1.0, 8.0, 28.0, HEAT)
    assert 1.0 < heating < 4.0
    assert minutes(WARM) == np.ceil(heating + 8.0)
    twice = Pace("warm", 28.0, HEAT, FLUX, hold_min=8.0, below_c=15.0, places=2)
    assert minutes(twice) == 2 * np.ceil(heating + 8.0)
    assert minutes(WARM, panel=14.9) > 8.0
    assert minutes(WARM, panel=15.0) == 0.0


def test_a_bake_is_heated_at_half_power_first_and_every_place_anew():
    """Four minutes at half power cost two; the printed minutes follow at the metal's temperature.

    By a slow march in seconds, half power first: the same within a minute.
    """
    temp, seconds = 12.0, 0
    loss = lamp.mcadams_wm2k(1.0) + lamp.BACK_LOSS_WM2K
    while temp < 60.0:
        flux = FLUX * (0.5 if seconds < 240 else 1.0)
        temp += (flux - loss * (temp - 8.0) - lamp._radiated(temp, 8.0)) / HEAT
        seconds += 1
    found = minutes(BAKE, panel=12.0)
    assert found - 9.0 == pytest.approx(seconds / 60.0, abs=1.0)
    assert minutes(Pace("bake", 60.0, HEAT, FLUX, 9.0, places=3), panel=12.0) == 3 * found
    assert minutes(BAKE, panel=60.0) == 11.0


def test_wind_slows_the_lamp_until_it_holds_no_more():
    """Longer in more wind, and never beyond what it holds."""
    by_wind = [minutes(BAKE, wind=wind) for wind in (0.0, 1.0, 2.0, 3.0)]
    assert by_wind == sorted(by_wind)
    assert by_wind[0] < by_wind[-1] < NEVER
    limit = lamp.max_wind_ms(FLUX, 8.0, 60.0)
    assert minutes(BAKE, wind=limit - 0.01) < NEVER
    assert minutes(BAKE, wind=limit + 0.01) == NEVER


def test_cooling_ends_at_its_goal_or_where_the_lamp_no_longer_counts():
    """In the sun a panel is no cooler than it would be anyway; a wet cloth is quicker."""
    cool = minutes(COOL)
    assert cool == np.ceil(lamp.cool_down_min(8.0, 1.0, 60.0, 40.0, HEAT))
    assert minutes(COOL, wind=4.0) < cool < minutes(COOL, air=25.0)
    sunny = minutes(COOL, panel=45.0)
    assert sunny == np.ceil(lamp.cool_down_min(45.0, 1.0, 60.0, 45.0 + COOL_WITHIN_K, HEAT))
    assert minutes(COOL, panel=70.0) == 0.0
    quench = Pace("cool", 40.0, HEAT, from_temp_c=60.0, share=0.5)
    exact = lamp.cool_down_min(8.0, 1.0, 60.0, 40.0, HEAT)
    assert minutes(quench) == np.ceil(0.5 * exact)


@pytest.mark.parametrize("missing", ["panel", "air", "wind"])
@pytest.mark.parametrize("pace", [WARM, BAKE, COOL], ids=lambda pace: pace.kind)
def test_what_is_not_known_of_the_weather_is_not_known_of_the_lamp(pace, missing):
    """NaN in, NaN out."""
    assert np.isnan(minutes(pace, **{missing: NAN}))


# -- in the play ---------------------------------------------------------------------------------


def lamped(least: int | None = None, beside: int = 0) -> PlanStage:
    """Return work with the lamp at a pace."""
    return PlanStage("", "", "lamp", None, minutes=least, least_min=beside, pace=BAKE)


def played(plan, table, steps=12, level=Level.STOP, **changes):
    """Return status and walk of the first start, with the lamp's minutes by quarter hour."""
    weather = sky(steps, **changes)
    lasts = np.array([[*table, *[table[-1]] * (steps - len(table))]], dtype=float)
    tables = Tables.of(plan, weather, lambda *_: weather["rate"], lambda *_: lasts)
    chain = Chain(tables)
    return int(chain.status([0])[level, 0, 0]), chain.walk(0, level)


@pytest.mark.parametrize(
    ("first", "least", "beside", "ends"),
    [(5, None, 0, 27), (5, 30, 0, 35), (5, None, 26, 31), (16, None, 0, 40)],
)
def test_a_pace_counts_in_the_quarter_hour_it_begins_in(first, least, beside, ends):
    """What it says then, and no less than its own minutes and the hands beside it."""
    plan = plan_of([hand(first), lamped(least, beside), hand(4)])
    status, walk = played(plan, [22, 24, 50])
    assert status == FIT
    assert walk.ends[:, 0].tolist() == [first, ends, ends + 4]


@pytest.mark.parametrize(
    ("says", "status", "check"), [(NEVER, FAIL, HEATING), (NAN, UNKNOWN, FORECAST)]
)
def test_a_pace_without_end_fails_and_one_not_known_is_unknown(says, status, check):
    """Its stage lasts its own minutes and nothing follows it."""
    found, walk = played(plan_of([hand(5), lamped(9), hand(4)]), [says])
    assert found == status
    assert (walk.stage[0], walk.check[0]) == (1, check)
    assert walk.ends[:, 0].tolist() == [5, 14, -1]


def test_a_pace_beyond_the_grid_is_unknown():
    """Also one that would begin where the grid ends."""
    assert played(plan_of([hand(5), lamped()]), [176])[0] == UNKNOWN
    assert played(plan_of([hand(5), lamped()]), [175])[0] == FIT
    status, walk = played(plan_of([hand(180), lamped()]), [1])
    assert (status, walk.check[0]) == (UNKNOWN, FORECAST)


def test_warming_that_is_not_needed_touches_nothing():
    """A gust in the quarter hour of an empty stage does not count, and does where it lasts."""
    plan = plan_of([hand(15), lamped(), hand(5)], spans=[Span(CALM, 1, 1)])
    assert played(plan, [0], gust_ms={1: 9.0})[0] == FIT
    assert played(plan, [1], gust_ms={1: 9.0})[0] == FAIL


def test_what_the_lamp_spoils_by_lasting_is_found():
    """A deadline behind it is missed in wind and kept in a calm."""
    late = Deadline(2, 0, 20.0, HERE)
    plan = plan_of([hand(5), lamped(), hand(5)], deadlines=[late])
    assert [played(plan, [lasts])[0] for lasts in (20, 21)] == [FIT, FAIL]

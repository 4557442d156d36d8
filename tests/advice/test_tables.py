"""Look-up tables: what comes next, and when a clock is done."""

from __future__ import annotations

import numpy as np
import pytest
from play_parts import CALM, DRY, HERE, NAN, flash, hand, plain_rate, plan_of, sky

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.plan import Span
from sprayadvisor.advice.tables import NONE_AHEAD, ClockTable, NextStep, Places, Tables

ROWS = np.array([0, 0, 0, 1, 1])
STEPS = np.array([0, 2, 3, 0, 3])


def test_next_step_looks_ahead_from_every_step() -> None:
    """The first marked step from each on, NONE_AHEAD where none is left or the grid has ended."""
    table = NextStep.of(np.array([[False, True, False], [True, False, True]]))
    assert table(Places.of(ROWS, STEPS, 3)).tolist() == [1, NONE_AHEAD, NONE_AHEAD, 0, NONE_AHEAD]


def test_a_quantity_of_one_row_holds_for_all() -> None:
    """One row of marks answers for every row."""
    table = NextStep.of(np.array([[False, True, False]]))
    assert table(Places.of(ROWS, STEPS, 3)).tolist() == [1, NONE_AHEAD, NONE_AHEAD, 1, NONE_AHEAD]


def constant(rate: float, rows: int = 1, steps: int = 8) -> ClockTable:
    """Return the table of a clock that runs at one rate."""
    return ClockTable.of(np.full((rows, steps), rate), 60.0)


@pytest.mark.parametrize("rate", [0.05, 0.37, 0.5, 0.9, 1.0, 2.0])
@pytest.mark.parametrize("need_min", [0.5, 4.0, 7.4, 11.1])
@pytest.mark.parametrize("since", [0, 7, 15, 44])
@pytest.mark.parametrize("row", [0, 40])
def test_at_a_constant_rate_a_clock_takes_its_need_over_the_rate(
    rate: float, need_min: float, since: int, row: int
) -> None:
    """The minutes are need over rate, rounded up, wherever it begins and in whichever row."""
    steps = 40
    ends = constant(rate, 41, steps).ends(np.array([row]), np.array([since]), need_min)
    minutes = int(np.ceil(need_min / rate - 1e-9))
    assert ends[0] == since + minutes


@pytest.mark.parametrize("rate", np.arange(5, 100, 6) / 100)
@pytest.mark.parametrize("since", [0, 7])
def test_a_clock_ends_before_it_stalls_if_it_is_done_by_then(rate: float, since: int) -> None:
    """Drying done to within rounding when a stall begins does not wait for the stall to end."""
    rows = np.arange(40)
    table = ClockTable.of(np.tile([rate] * 3 + [0.0, 0.0, 1.0, 1.0], (rows.size, 1)), 60.0)
    ends = table.ends(rows, np.full(rows.size, since), (45 - since) * rate)
    assert set(ends.tolist()) == {45}


def test_a_clock_that_cannot_end_never_does() -> None:
    """NONE_AHEAD where the grid ends first, also for a count that begins at the grid's end."""
    table = constant(0.5, rows=2)
    rows, since = np.array([0, 1, 1]), np.array([60, 61, 120])
    assert table.ends(rows, since, 30.0).tolist() == [120, NONE_AHEAD, NONE_AHEAD]


def test_a_need_of_nothing_is_done_at_once() -> None:
    """A need within the tolerance ends where it begins, in the first row too."""
    rows, since = np.array([0, 1]), np.array([0, 30])
    assert constant(1.0, rows=2).ends(rows, since, 1e-9).tolist() == [0, 30]


def test_not_known_is_no_progress() -> None:
    """NaN counts as standing still, and where it lies is kept; without NaN nothing is kept."""
    table = ClockTable.of(np.array([[1.0, NAN, 1.0, 1.0]]), 60.0)
    zero = np.zeros(1, dtype=np.int64)
    assert table.ends(zero, zero, 20.0).tolist() == [35]
    assert table.unknown is not None
    assert table.unknown(Places.of(zero, zero, 4)).tolist() == [1]
    assert constant(1.0).unknown is None


def test_checks_are_looked_up_together() -> None:
    """Several checks of one part give one table; where nothing is marked there is none."""
    weather = sky(gust_ms={3: 9.0}, rh_pct={5: NAN})
    tables = Tables.of(plan_of([hand(5)], spans=[Span(CALM, 0, 0)]), weather, plain_rate)
    zero = np.zeros(1, dtype=np.int64)
    both = tables.checks((CALM, DRY), Level.STOP)
    assert both is tables.checks((CALM, DRY), Level.STOP)
    assert both.bad is not None
    assert both.unknown is not None
    assert both.bad(tables.places(zero, zero)).tolist() == [3]
    assert both.unknown(tables.places(zero, zero)).tolist() == [5]
    assert tables.checks((CALM,), Level.STOP).unknown is None
    assert tables.checks((DRY,), Level.STOP).bad is None
    assert tables.checks((), Level.STOP).bad is None


def test_shared_and_own_rows_go_together() -> None:
    """A check that is the same for all rows joins one that is not."""
    weather = {"gust_ms": np.full((2, 4), 5.0), "low_sun": np.zeros((1, 4))}
    weather["gust_ms"][1, 2] = 9.0
    weather["low_sun"][0, 1] = 1.0
    glare = Check("low_sun", HERE, stop_max=0.5)
    plan = plan_of([hand(5)], spans=[Span(CALM, 0, 0), Span(glare, 0, 0)])
    tables = Tables.of(plan, weather, plain_rate)
    both = tables.checks((CALM, glare), Level.STOP)
    assert both.bad is not None
    places = tables.places(np.array([0, 1, 1]), np.array([2, 0, 2]))
    assert both.bad(places).tolist() == [NONE_AHEAD, 1, 2]


@pytest.mark.parametrize(
    ("check", "bad", "unknown"),
    [
        (Check("gust_ms", HERE, stop_min=4.0), [1], [3]),
        (Check("gust_ms", HERE, stop_max=6.0), [2], [3]),
        (Check("gust_ms", HERE, stop_min=4.0, stop_max=6.0), [1, 2], [3]),
        (Check("gust_ms", HERE, inside_max=6.0), [], []),
    ],
)
def test_a_bound_itself_is_allowed_and_nan_is_never_bad(
    check: Check, bad: list[int], unknown: list[int]
) -> None:
    """Below the lowest or above the highest is broken; NaN is unknown where there is a bound."""
    weather = sky(steps=6, gust_ms={0: 4.0, 1: 3.9, 2: 6.1, 3: NAN, 4: 6.0})
    tables = Tables.of(plan_of([hand(5)], spans=[Span(check, 0, 0)]), weather, plain_rate)
    found = tables.checks((check,), Level.STOP)
    everywhere = tables.places(np.zeros(6, dtype=np.int64), np.arange(6))
    for table, expected in ((found.bad, bad), (found.unknown, unknown)):
        ahead = [] if table is None else table(everywhere).tolist()
        assert [step for step, first in enumerate(ahead) if first == step] == expected


def test_clocks_of_one_rate_share_a_table() -> None:
    """Two clocks that run alike are worked out once, whatever they need."""
    asked = []

    def rate(clock: object, quantities: dict) -> np.ndarray:
        asked.append(clock)
        return quantities["rate"]

    plan = plan_of([flash(5), flash(9), flash(5, cap=2.0)])
    tables = Tables.of(plan, sky(), rate)
    assert len(asked) == 2
    clocks = [stage.clock for stage in plan.stages]
    assert tables.clock(clocks[0]) is tables.clock(clocks[1])
    assert tables.clock(clocks[0]) is not tables.clock(clocks[2])
    assert (tables.n_rows, tables.n_steps, tables.horizon_min) == (1, 12, 180)

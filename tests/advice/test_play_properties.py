"""What must hold for every play, whatever the plan and the weather."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from play_strategies import (
    HELD,
    HELD_VALUES,
    PACE_VALUES,
    PACES,
    RATE_VALUES,
    Case,
    drawn_cases,
    examples,
)

from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.plan import Plan, Span
from sprayadvisor.advice.play import FAIL, FIT, Status
from sprayadvisor.advice.tables import Tables

every = settings(max_examples=examples(40), suppress_health_check=list(HealthCheck))
BOUNDS = ("inside_min", "inside_max", "stop_min", "stop_max")


def status_of(case: Case, plan: Plan | None = None, weather: dict | None = None) -> Status:
    """Return the status of every start the grid has."""
    tables = Tables.of(plan or case.plan, weather or case.weather, case.rate, case.pace)
    return Chain(tables).status(range(tables.n_steps))


def assert_none_opens(before: Status, after: Status) -> None:
    """Nothing fits afterwards that did not fit before."""
    assert not ((after == FIT) & (before != FIT)).any()


def with_span(plan: Plan, number: int, span: Span) -> Plan:
    """Return the plan with one span changed."""
    spans = [*plan.spans[:number], span, *plan.spans[number + 1 :]]
    return replace(plan, spans=tuple(spans))


@st.composite
def _a_span(draw: st.DrawFn) -> tuple[Case, int]:
    case = draw(drawn_cases().filter(lambda drawn: drawn.plan.spans))
    return case, draw(st.integers(0, len(case.plan.spans) - 1))


@every
@given(_a_span(), st.sampled_from(BOUNDS), st.sampled_from([0.5, 2.0, 4.5]))
def test_a_stricter_limit_never_opens_a_window(
    drawn: tuple[Case, int], bound: str, by: float
) -> None:
    """Tightening a bound, or setting one where there was none, opens nothing."""
    case, number = drawn
    span = case.plan.spans[number]
    now = getattr(span.check, bound)
    low = bound.endswith("min")
    tighter = (3.0 if low else 7.0) if now is None else now + by * (1 if low else -1)
    changed = replace(span, check=replace(span.check, **{bound: tighter}))
    assert_none_opens(status_of(case), status_of(case, with_span(case.plan, number, changed)))


@every
@given(_a_span(), st.integers(0, 3), st.integers(0, 3))
def test_a_longer_span_never_helps(drawn: tuple[Case, int], earlier: int, later: int) -> None:
    """A span that begins earlier or ends later opens nothing."""
    case, number = drawn
    span = case.plan.spans[number]
    first = max(0, span.first - earlier)
    last = min(len(case.plan.stages) - 1, span.last + later)
    # Hand work alongside is begun before what stands in front of it has ended.
    assume(all(case.plan.stages[j].alongside is None for j in range(first, span.first + 1)))
    changed = with_span(case.plan, number, replace(span, first=first, last=last))
    assert_none_opens(status_of(case), status_of(case, changed))


@every
@given(_a_span(), st.booleans(), st.data())
def test_worse_weather_for_one_check_never_helps(
    drawn: tuple[Case, int], falls: bool, data: st.DataObject
) -> None:
    """Moving one quantity away from a check that has a bound on one side only opens nothing."""
    case, number = drawn
    span = case.plan.spans[number]
    if falls:
        one_sided = replace(span.check, inside_max=None, stop_max=None)
    else:
        one_sided = replace(span.check, inside_min=None, stop_min=None)
    quantity = one_sided.quantity
    plan = replace(
        case.plan,
        spans=tuple(
            replace(s, check=one_sided) if s.check.quantity == quantity else s
            for s in case.plan.spans
        ),
    )
    steps = case.weather[quantity].shape[1]
    first = data.draw(st.integers(0, steps - 1))
    by = data.draw(st.floats(0.1, 5.0)) * (-1 if falls else 1)
    worse = case.weather[quantity].copy()
    worse[:, first : first + data.draw(st.integers(1, 30))] += by
    before = status_of(case, plan)
    after = status_of(case, plan, case.weather | {quantity: worse})
    assert (after <= before).all()


@every
@given(drawn_cases())
def test_what_fits_inside_the_sheets_fits_short_of_their_stops(case: Case) -> None:
    """The inside level asks for all that the stops ask for, and more."""
    inside, stop = status_of(case)
    assert (stop[inside == FIT] == FIT).all()


@every
@given(drawn_cases(), st.sampled_from([1, 14, 15, 40]))
def test_a_longer_wait_never_closes_a_window(case: Case, more: int) -> None:
    """Raising may_wait_min of every block makes no start worse."""
    blocks = tuple(replace(b, may_wait_min=b.may_wait_min + more) for b in case.plan.blocks)
    assert (status_of(case, replace(case.plan, blocks=blocks)) >= status_of(case)).all()


@every
@given(drawn_cases(), st.data())
def test_what_is_not_known_never_decides(case: Case, data: st.DataObject) -> None:
    """What fits with a value missing fits whatever the value is, and what fails fails."""
    name = data.draw(st.sampled_from(sorted(case.weather)))
    rows, steps = case.weather[name].shape
    row, step = data.draw(st.integers(0, rows - 1)), data.draw(st.integers(0, steps - 1))
    values = HELD_VALUES if name in HELD else PACE_VALUES if name in PACES else RATE_VALUES
    length = data.draw(st.sampled_from([1, 3, 10]))
    missing, given_ = case.weather[name].copy(), case.weather[name].copy()
    missing[row, step : step + length] = np.nan
    given_[row, step : step + length] = data.draw(values)
    without = status_of(case, weather=case.weather | {name: missing})
    known = status_of(case, weather=case.weather | {name: given_})
    assert (known[without == FIT] == FIT).all()
    assert (known[without == FAIL] == FAIL).all()


@every
@given(drawn_cases())
def test_rows_and_starts_are_judged_each_for_themselves(case: Case) -> None:
    """One row alone, and one start alone, come out as they do among others."""
    together = status_of(case)
    for row in range(case.rows):
        alone = {
            name: values[row : row + 1] if values.shape[0] > 1 else values
            for name, values in case.weather.items()
        }
        np.testing.assert_array_equal(status_of(case, weather=alone)[:, 0], together[:, row])
    chain = Chain(Tables.of(case.plan, case.weather, case.rate, case.pace))
    _assert_starts(chain, case.starts, together)


def _assert_starts(chain: Chain, starts: Sequence[int], together: Status) -> None:
    for start in starts:
        np.testing.assert_array_equal(chain.status([start])[..., 0], together[..., start])


@every
@given(drawn_cases(), st.integers(1, 20))
def test_time_itself_does_not_matter(case: Case, later: int) -> None:
    """The same weather some quarter hours later gives the same starts that much later."""
    shifted = {
        name: np.concatenate([np.repeat(values[:, :1], later, axis=1), values], axis=1)
        for name, values in case.weather.items()
    }
    np.testing.assert_array_equal(status_of(case, weather=shifted)[..., later:], status_of(case))

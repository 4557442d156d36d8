"""The play against a slow reference, on drawn plans and drawn weather."""

from __future__ import annotations

from collections import Counter

import pytest
from compiled_cases import compiled_cases
from hypothesis import HealthCheck, given, settings
from hypothesis.strategies import SearchStrategy
from play_strategies import (
    Case,
    drawn_cases,
    examples,
    slow_drawn_pace,
    slow_drawn_rate,
    slow_physical_pace,
    slow_physical_rate,
)
from slow_play import FAIL, FIT, UNKNOWN, SlowPace, SlowPlay, SlowPlayer, SlowRate

from sprayadvisor.advice.chain import Chain, Walk
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.play import NO_STAGE
from sprayadvisor.advice.tables import Tables

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


def assert_same(case: Case, slow_rate: SlowRate, slow_pace: SlowPace, walks: int) -> Counter[int]:
    """Hold every start, row and level of a case against the reference; count the outcomes."""
    chain = Chain(Tables.of(case.plan, case.weather, case.rate, case.pace))
    status = chain.status(case.starts)
    assert status.shape == (len(Level), case.rows, len(case.starts))
    seen: Counter[int] = Counter()
    for level in Level:
        fast = {start: chain.walk(start, level) for start in case.starts[:walks]}
        for row in range(case.rows):
            slow = SlowPlayer(case.plan, case.row(row), slow_rate, slow_pace, level)
            for number, start in enumerate(case.starts):
                expected = slow.play(start * 15)
                seen[expected.outcome] += 1
                assert status[level, row, number] == expected.outcome
                if start in fast:
                    assert_same_walk(case, fast[start], row, expected)
    return seen


def assert_same_walk(case: Case, walk: Walk, row: int, expected: SlowPlay) -> None:
    """Hold one row of a walk against the reference, to the minute."""
    everywhere = range(len(case.plan.stages))
    assert walk.status[row] == expected.outcome
    assert walk.begins[:, row].tolist() == [expected.begins.get(i, -1) for i in everywhere]
    assert walk.ends[:, row].tolist() == [expected.ends.get(i, -1) for i in everywhere]
    if expected.outcome == FIT:
        assert walk.stage[row] == NO_STAGE
        assert walk.check[row] is None
        return
    named = walk.check[row]
    assert isinstance(named, Check)
    assert walk.stage[row] == expected.stage
    assert {named, named.quantity} & expected.checks


@settings(max_examples=examples(250), suppress_health_check=SLOW)
@given(drawn_cases())
def test_drawn_plans_play_as_the_slow_reference_does(case: Case) -> None:
    """Status, minutes, stage and check agree for plans drawn as such."""
    assert_same(case, slow_drawn_rate, slow_drawn_pace, walks=2)


@settings(max_examples=examples(100), suppress_health_check=SLOW)
@given(compiled_cases())
def test_compiled_plans_play_as_the_slow_reference_does(case: Case) -> None:
    """Status, minutes, stage and check agree for processes compiled with drawn sheets."""
    assert_same(case, slow_physical_rate, slow_physical_pace, walks=2)


@pytest.mark.parametrize(
    ("cases", "rate", "pace"),
    [
        (drawn_cases(), slow_drawn_rate, slow_drawn_pace),
        (compiled_cases(), slow_physical_rate, slow_physical_pace),
    ],
    ids=["drawn", "compiled"],
)
def test_drawn_cases_fit_fail_and_are_unknown_often_enough(
    cases: SearchStrategy[Case], rate: SlowRate, pace: SlowPace
) -> None:
    """Each outcome makes up a tenth or more of a settled sample, so that all are really tested."""
    seen: Counter[int] = Counter()

    @settings(max_examples=200, suppress_health_check=SLOW, derandomize=True)
    @given(cases)
    def count(case: Case) -> None:
        seen.update(assert_same(case, rate, pace, walks=0))

    count()
    shares = {outcome: seen[outcome] / seen.total() for outcome in (FAIL, UNKNOWN, FIT)}
    assert min(shares.values()) >= 0.1, shares

"""Waiting between blocks, and walking one start, on the smallest plans that show it."""

from __future__ import annotations

import pytest
from play_parts import CALM, DRY, NAN, chain_of, flash, hand, outcome, plan_of, sky

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.plan import Span
from sprayadvisor.advice.play import ELAPSED, FAIL, FIT, NO_STAGE, UNKNOWN

BAD = 9.0


@pytest.mark.parametrize(
    ("wait", "gusts", "expected", "begin"),
    [
        (0, {}, FIT, 20),
        (60, {}, FIT, 20),
        (0, {1: BAD}, FAIL, 20),
        (9, {1: BAD}, FAIL, 20),
        (10, {1: BAD}, FIT, 30),
        (60, {1: BAD, 2: BAD, 3: BAD}, FIT, 60),
        (60, {1: BAD, 2: NAN, 3: BAD, 4: BAD, 5: BAD}, UNKNOWN, 30),
        (60, {1: BAD, 2: NAN}, FIT, 45),
        (60, {1: NAN, 2: NAN, 3: NAN, 4: NAN, 5: NAN}, UNKNOWN, 20),
        (25, {1: BAD, 2: BAD}, FIT, 45),
        (24, {1: BAD, 2: BAD}, FAIL, 20),
    ],
)
def test_work_waits_only_where_that_is_better(
    wait: int, gusts: dict[int, float], expected: int, begin: int
) -> None:
    """The second block begins at once, or on the first quarter hour from which it goes better."""
    plan = plan_of([hand(20)], [hand(10)], spans=[Span(CALM, 1, 1)], wait=wait)
    status, walk = outcome(plan, sky(gust_ms=gusts))
    assert (status, int(walk.status[0]), int(walk.begins[1, 0])) == (expected, expected, begin)
    assert (walk.stage[0], walk.check[0]) == ((NO_STAGE, None) if status == FIT else (1, CALM))


@pytest.mark.parametrize(
    ("humid", "expected", "begin", "check"),
    [
        ({}, FIT, 45, None),
        ({2: BAD}, FAIL, 20, CALM),
        ({2: NAN}, UNKNOWN, 45, DRY),
        ({3: BAD}, FAIL, 20, CALM),
    ],
)
def test_what_holds_across_a_wait_is_held_while_waiting(
    humid: dict[int, float], expected: int, begin: int, check: object
) -> None:
    """A span that reaches across ends the wait where it breaks, and leaves it at best unknown."""
    spans = [Span(DRY, 0, 1), Span(CALM, 1, 1)]
    plan = plan_of([hand(20)], [hand(10)], spans=spans, wait=60)
    status, walk = outcome(plan, sky(gust_ms={1: BAD, 2: BAD}, rh_pct=humid))
    assert (status, int(walk.status[0]), int(walk.begins[1, 0])) == (expected, expected, begin)
    assert walk.check[0] == check
    assert walk.stage[0] == (NO_STAGE if status == FIT else 1)


def test_a_wait_over_the_unknown_ends_the_walk_there() -> None:
    """After a wait that is not known to hold, the stage it leads to is played and no more."""
    spans = [Span(DRY, 0, 1), Span(CALM, 1, 1)]
    plan = plan_of([hand(20)], [hand(10)], [hand(5)], spans=spans, wait=60)
    weather = sky(gust_ms={1: BAD, 2: BAD}, rh_pct={2: NAN})
    status, walk = outcome(plan, weather)
    assert (status, int(walk.stage[0]), walk.check[0]) == (UNKNOWN, 1, DRY)
    assert walk.begins[:, 0].tolist() == [0, 45, -1]


def test_no_wait_from_the_middle_of_a_quarter_hour_that_breaks() -> None:
    """A quarter hour broken from the moment the wait begins allows no wait at all."""
    plan = plan_of([hand(20)], [hand(10)], spans=[Span(DRY, 1, 1), Span(CALM, 0, 1)], wait=60)
    status, walk = outcome(plan, sky(gust_ms={1: BAD}))
    assert (status, int(walk.stage[0])) == (FAIL, 0)


@pytest.mark.parametrize(
    ("within", "expected"),
    [(25, FIT), (24, FAIL)],
)
def test_going_on_at_once_may_already_be_too_late(within: int, expected: int) -> None:
    """A block bound to a stage before the flash is too late if the flash alone takes longer."""
    plan = plan_of([hand(5), flash(25)], [hand(5)], wait=10, within=within, since=0)
    status, walk = outcome(plan, sky())
    assert (status, int(walk.status[0])) == (expected, expected)
    named = (NO_STAGE, None) if expected == FIT else (2, ELAPSED)
    assert (walk.stage[0], walk.check[0]) == named
    assert walk.begins[2, 0] == 30, "the time is told even where it is too late"


def test_a_wait_ends_with_the_bound_on_starting_soon() -> None:
    """The shorter of may_wait_min and within_min ends the wait."""
    chains = [
        chain_of(
            plan_of(
                [hand(5), hand(10)],
                [hand(5)],
                spans=[Span(CALM, 2, 2)],
                wait=60,
                within=within,
                since=0,
            ),
            sky(gust_ms={1: BAD}),
        )
        for within in (24, 25)
    ]
    assert [int(chain.status([0])[Level.STOP, 0, 0]) for chain in chains] == [FAIL, FIT]


def test_waiting_early_can_save_what_comes_later() -> None:
    """A block waits before good weather so that the next one, which may not, meets good weather."""
    later = [Span(CALM, 2, 2)]
    plan = plan_of([hand(15)], [hand(15)], [hand(15)], spans=later, wait=15)
    status, walk = outcome(plan, sky(gust_ms={2: BAD, 3: BAD}))
    assert status == FIT
    assert walk.begins[:, 0].tolist() == [0, 30, 60]


def test_levels_wait_each_for_themselves() -> None:
    """Inside the sheet a start may have to wait that at the stop bound need not."""
    strict = type(CALM)("gust_ms", CALM.origin, inside_max=6.0, stop_max=8.0)
    plan = plan_of([hand(20)], [hand(10)], spans=[Span(strict, 1, 1)], wait=60)
    chain = chain_of(plan, sky(gust_ms={1: 7.0}))
    assert chain.status([0])[:, 0, 0].tolist() == [FIT, FIT]
    assert [int(chain.walk(0, level).begins[1, 0]) for level in Level] == [30, 20]


def test_a_failed_first_block_plays_nothing_further() -> None:
    """Where no row gets through the first block, later stages are not reached."""
    plan = plan_of([hand(20)], [hand(10)], spans=[Span(CALM, 0, 0)], wait=60)
    status, walk = outcome(plan, sky(gust_ms={0: BAD}))
    assert status == FAIL
    assert walk.begins[1, 0] == walk.ends[1, 0] == -1


def test_a_chain_answers_any_starts_again_and_again() -> None:
    """Starts may come in any order and more than once; the same chain answers alike."""
    plan = plan_of([hand(20)], [hand(10)], spans=[Span(CALM, 1, 1)], wait=30)
    chain = chain_of(plan, sky(gust_ms={4: BAD, 5: BAD, 6: BAD}))
    status = chain.status(list(range(12)))[Level.STOP, 0]
    again = chain.status([7, 3, 3, 0])[Level.STOP, 0]
    assert again.tolist() == [status[7], status[3], status[3], status[0]]
    assert status[3] == FAIL
    assert status[0] == FIT

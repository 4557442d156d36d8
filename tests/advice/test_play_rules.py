"""The rules of playing one block, each on the smallest plan that shows it."""

from __future__ import annotations

import numpy as np
import pytest
from play_parts import CALM, HERE, NAN, chain_of, flash, hand, outcome, plan_of, sky

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.plan import Deadline, Plan, Span
from sprayadvisor.advice.play import DRYING, ELAPSED, FAIL, FIT, FORECAST, NO_STAGE, UNKNOWN


def event(plan: Plan, weather: dict, start: int = 0) -> tuple[int, int, Check | None]:
    """Return status, stage and check; status and walk must agree."""
    status, walk = outcome(plan, weather, start)
    assert walk.status[0] == status
    return status, int(walk.stage[0]), walk.check[0]


def test_stages_follow_each_other_and_fit_names_no_event() -> None:
    """A stage begins when the one before it ends; what fits has no stage and no check."""
    plan = plan_of([hand(5), hand(10), flash(7.5)])
    status, walk = outcome(plan, sky())
    assert (status, int(walk.stage[0]), walk.check[0]) == (FIT, NO_STAGE, None)
    assert walk.begins[:, 0].tolist() == [0, 5, 15]
    assert walk.ends[:, 0].tolist() == [5, 15, 23]


@pytest.mark.parametrize(
    ("step", "expected"),
    [(0, FIT), (1, FAIL), (2, FAIL), (3, FIT)],
    ids=["before", "first touched", "last touched", "after"],
)
def test_a_touched_quarter_hour_counts_whole(step: int, expected: int) -> None:
    """A span over minutes 15 to 31 touches the second and third quarter hour and no other."""
    plan = plan_of([hand(15), hand(16)], spans=[Span(CALM, 1, 1)])
    status, stage, check = event(plan, sky(gust_ms={step: 9.0}))
    assert status == expected
    assert (stage, check) == ((1, CALM) if expected == FAIL else (NO_STAGE, None))


def test_a_span_lasts_until_the_flash_that_hand_work_runs_alongside() -> None:
    """A span over a flash and the hand work beside it holds to the end of the flash."""
    plan = plan_of([flash(30), hand(5, alongside=0)], spans=[Span(CALM, 0, 1)])
    assert event(plan, sky(gust_ms={1: 9.0})) == (FAIL, 0, CALM)


@pytest.mark.parametrize("blocks", [1, 2])
def test_hand_work_may_stand_behind_what_follows_its_flash(blocks: int) -> None:
    """Air-drying in two stages with hand work beside the first: spans hold to the second's end."""
    stages = [flash(10), flash(40), hand(5, alongside=0), hand(5)]
    cut = [stages] if blocks == 1 else [stages[:3], stages[3:]]
    for span, named in ((Span(CALM, 0, 2), 1), (Span(CALM, 1, 3), 1), (Span(CALM, 2, 3), 2)):
        status, stage, check = event(plan_of(*cut, spans=[span]), sky(gust_ms={2: 9.0}))
        assert (status, stage, check) == (FAIL, named, CALM)
    early = plan_of(*cut, spans=[Span(CALM, 1, 2)])
    assert event(early, sky(gust_ms={0: 9.0})) == (FAIL, 1, CALM), "touched from minute 10 on"


def test_a_span_leaves_out_hand_work_that_was_over_before_it() -> None:
    """Hand work beside a flash before the span is no part of it, though it stands behind."""
    plan = plan_of([flash(15), flash(15), hand(5, alongside=0)], spans=[Span(CALM, 1, 2)])
    assert event(plan, sky(gust_ms={0: 9.0}))[0] == FIT


def test_a_span_that_goes_on_holds_to_the_end_of_its_block() -> None:
    """Where a block ends with hand work beside a flash, a span across holds to its end."""
    plan = plan_of([flash(30), hand(5, alongside=0)], [hand(5)], spans=[Span(CALM, 0, 2)])
    assert event(plan, sky(gust_ms={1: 9.0})) == (FAIL, 0, CALM)


def test_a_span_of_hand_work_alone_ends_with_it() -> None:
    """A span over nothing but the hand work beside a flash leaves the rest of the flash alone."""
    plan = plan_of([flash(30), hand(5, alongside=0), hand(5)], spans=[Span(CALM, 1, 1)])
    assert event(plan, sky(gust_ms={1: 9.0}))[0] == FIT
    assert event(plan, sky(gust_ms={0: 9.0})) == (FAIL, 1, CALM)


@pytest.mark.parametrize("value", [9.0, NAN])
@pytest.mark.parametrize("blocks", [1, 2])
def test_a_span_begun_beside_a_flash_holds_while_the_flash_runs_on(
    value: float, blocks: int
) -> None:
    """Film hung in mid-flash is named with the work that hung it, to the end of the flash."""
    stages = [flash(30), hand(5, alongside=0), hand(5)]
    plan = plan_of(*([stages] if blocks == 1 else [stages[:2], stages[2:]]))
    plan = plan_of(*[plan.stages[b.first : b.stop] for b in plan.blocks], spans=[Span(CALM, 1, 2)])
    expected = FAIL if value == 9.0 else UNKNOWN
    assert event(plan, sky(gust_ms={1: value})) == (expected, 1, CALM)


def test_hand_work_alongside_makes_its_flash_last() -> None:
    """A flash lasts at least as long as the work beside it, one after the other."""
    beside = [hand(12, alongside=0), hand(8, alongside=0, after=1)]
    plan = plan_of([flash(10, least_min=20), *beside, hand(5)])
    _, walk = outcome(plan, sky())
    assert walk.begins[:, 0].tolist() == [0, 0, 12, 20]
    assert walk.ends[:, 0].tolist() == [20, 12, 20, 25]


def test_a_clock_may_count_from_an_earlier_end() -> None:
    """Air-drying counts from the last coat; hand work in between does not stop it."""
    plan = plan_of([hand(2), hand(6), flash(10, since=0)])
    _, walk = outcome(plan, sky())
    assert walk.ends[:, 0].tolist() == [2, 8, 12]


def test_a_clock_that_is_done_before_its_stage_takes_no_time() -> None:
    """A stage whose clock is already done ends as it begins, and no check can break in it."""
    plan = plan_of([hand(2), hand(18), flash(10, since=0)], spans=[Span(CALM, 2, 2)])
    assert event(plan, sky(gust_ms={1: 9.0})) == (FIT, NO_STAGE, None)
    _, walk = outcome(plan, sky())
    assert walk.begins[2, 0] == walk.ends[2, 0] == 20


@pytest.mark.parametrize(
    ("rates", "expected"),
    [
        (dict.fromkeys(range(12), 0.0), (FAIL, 1, DRYING)),
        (dict.fromkeys(range(12), NAN), (UNKNOWN, 1, FORECAST)),
        ({0: 0.0, 1: NAN}, (UNKNOWN, 1, FORECAST)),
        (dict.fromkeys(range(8), 0.0) | {8: NAN}, (FAIL, 1, DRYING)),
        ({2: NAN}, (FIT, NO_STAGE, None)),
    ],
    ids=[
        "stands still",
        "not known",
        "not known while drying",
        "not known once given up",
        "not known afterwards",
    ],
)
def test_a_clock_given_up_fails_and_one_not_known_is_unknown(
    rates: dict[int, float], expected: tuple
) -> None:
    """Stalled until given up breaks its stage; a rate not known while it counts is unknown."""
    plan = plan_of([hand(5), flash(20, given_up_min=110), hand(5)])
    assert event(plan, sky(rate=rates)) == expected
    _, walk = outcome(plan, sky(rate=rates))
    assert (walk.begins[2, 0] == -1) == (expected[0] != FIT), "nothing further is played"


def test_a_clock_cut_off_by_the_end_of_the_forecast_is_unknown() -> None:
    """It may be done a minute later: nobody knows. What breaks while it still runs counts."""
    plan = plan_of([flash(20), hand(5)], spans=[Span(CALM, 0, 0)])
    stalled = dict.fromkeys(range(12), 0.0)
    assert event(plan, sky(rate=stalled)) == (UNKNOWN, 0, FORECAST)
    assert event(plan, sky(), start=11) == (UNKNOWN, 0, FORECAST)
    assert event(plan, sky(rate=stalled, gust_ms={11: 9.0})) == (FAIL, 0, CALM)
    _, walk = outcome(plan, sky(rate=stalled))
    assert (walk.ends[0, 0], walk.begins[1, 0]) == (180, -1)


@pytest.mark.parametrize(("given_up_min", "expected"), [(20, FIT), (19, FAIL)])
def test_a_clock_may_end_as_it_is_given_up(given_up_min: int, expected: int) -> None:
    """Done at that very minute is done."""
    assert outcome(plan_of([flash(20, given_up_min=given_up_min)]), sky())[0] == expected


def test_what_comes_long_after_a_clock_not_known_does_not_decide() -> None:
    """Weather that is bad days later breaks nothing that may long have dried by then."""
    plan = plan_of([flash(20)], spans=[Span(CALM, 0, 0)])
    rates = dict.fromkeys(range(1, 12), NAN)
    assert event(plan, sky(rate=rates, gust_ms={5: 9.0})) == (UNKNOWN, 0, FORECAST)
    assert event(plan, sky(rate=rates, gust_ms={1: 9.0})) == (FAIL, 0, CALM)


def test_a_late_clock_not_known_before_its_stage_may_be_done_already() -> None:
    """If the rate was not known before the stage began, the stage touches nothing for certain."""
    plan = plan_of([hand(2), hand(28), flash(10, since=0)], spans=[Span(CALM, 2, 2)])
    assert event(plan, sky(rate={0: NAN}, gust_ms={2: 9.0})) == (UNKNOWN, 2, FORECAST)


@pytest.mark.parametrize(
    ("plan", "start"),
    [(plan_of([hand(16)]), 11), (plan_of([flash(10, least_min=20)]), 11)],
    ids=["hand", "flash"],
)
def test_what_runs_off_the_grid_is_unknown(plan: Plan, start: int) -> None:
    """Work that ends after the forecast does is unknown, and its end is the grid's."""
    assert event(plan, sky(), start) == (UNKNOWN, 0, FORECAST)
    _, walk = outcome(plan, sky(), start)
    assert walk.ends[0, 0] == 180


def test_work_that_ends_with_the_grid_fits() -> None:
    """The last minute of the grid can still be used."""
    assert event(plan_of([hand(15)]), sky(), 11)[0] == FIT


@pytest.mark.parametrize(("minutes", "expected"), [(10.0, FIT), (9.9, FAIL)])
def test_a_deadline_counts_from_an_end_to_a_beginning(minutes: float, expected: int) -> None:
    """A stage begins no later than so many minutes after another ended."""
    plan = plan_of([hand(5), hand(10), hand(5)], deadlines=[Deadline(2, 0, minutes, HERE)])
    named = (expected, 2, ELAPSED) if expected == FAIL else (FIT, NO_STAGE, None)
    assert event(plan, sky()) == named


@pytest.mark.parametrize(
    ("gusts", "expected"),
    [
        ({0: NAN, 2: 9.0}, (UNKNOWN, 0)),
        ({0: 9.0, 2: NAN}, (FAIL, 0)),
        ({2: NAN, 3: 9.0}, (FAIL, 1)),
        ({2: 9.0, 3: NAN}, (FAIL, 1)),
    ],
    ids=["unknown first", "broken first", "both in one stage", "both in one stage, turned round"],
)
def test_the_first_event_decides_and_broken_wins_in_one_stage(
    gusts: dict[int, float], expected: tuple[int, int]
) -> None:
    """The earliest stage with an event decides; within it broken beats unknown."""
    plan = plan_of([hand(30), hand(30)], spans=[Span(CALM, 0, 1)])
    assert event(plan, sky(gust_ms=gusts)) == (*expected, CALM)


def test_a_check_without_a_bound_at_a_level_holds_there() -> None:
    """An inside bound does not stop the work, and NaN is known enough where nothing is asked."""
    inside = Check("gust_ms", HERE, inside_max=4.0)
    chain = chain_of(plan_of([hand(15)], spans=[Span(inside, 0, 0)]), sky(gust_ms={1: NAN}))
    assert chain.status([0, 1])[:, 0].tolist() == [[FAIL, UNKNOWN], [FIT, FIT]]
    assert chain.walk(0, Level.STOP).check == [None]


def test_every_row_is_played_for_itself() -> None:
    """Rows do not leak into each other, in whatever order their weather comes."""
    weather = {name: np.repeat(rows, 3, axis=0) for name, rows in sky().items()}
    weather["gust_ms"][1, 0] = 9.0
    weather["rate"][2] = 0.0
    chain = chain_of(
        plan_of([hand(5), flash(5, given_up_min=60)], spans=[Span(CALM, 0, 0)]), weather
    )
    assert chain.status([0, 1])[Level.STOP].tolist() == [[FIT, FIT], [FAIL, FIT], [FAIL, FAIL]]
    walk = chain.walk(0, Level.STOP)
    assert walk.check == [None, CALM, DRYING]
    assert walk.stage.tolist() == [NO_STAGE, 0, 1]

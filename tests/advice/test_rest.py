"""What is left of a plan: cut out at any stage, and judged from where the painter is."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from days import DAY, EVENING, KIT, climate_for, job, outlook, plan_for

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.judge import Judgement, judge
from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.rest import (
    Place,
    committed,
    judge_rest,
    lamp_goal_c,
    part_of,
    place_in,
    shifted,
    stage_index,
    stage_times,
)
from sprayadvisor.advice.verdict import Word

POLICY = Policy()
MORNING = POLICY.thresholds[Moment.MORNING]
# The same weather at every hour, so that a stage lasts as long whenever it begins.
STEADY = {"air_temp_c": 16.0, "rh_pct": 60.0, "ghi_wm2": 300.0, "dhi_wm2": 300.0}


def judged(**weather):
    """Return the usual job judged in the evening."""
    booking = job()
    weather = outlook(**(STEADY | weather))
    return judge(
        booking, plan_for(booking), climate_for(booking, weather), POLICY, MORNING, EVENING
    )


def rest(found, place, now=None, **kwargs):
    """Return the judgement on what is left."""
    now = now or place.since
    args = (found.job, found.plan, place, found.climate, POLICY, MORNING, now)
    return judge_rest(*args, **kwargs)


FULL = judged()
TIMES = stage_times(FULL)
MAIN = [i for i, stage in enumerate(FULL.plan.stages) if stage.alongside is None]


def time_of(stage_id):
    """Return the times of one stage of the usual plan."""
    return next(time for time in TIMES if time.id == stage_id)


def index_of(stage_id):
    """Return the index of one stage of the usual plan."""
    return [stage.id for stage in FULL.plan.stages].index(stage_id)


def test_times_of_a_play_are_those_of_its_stages():
    """All stages, one after the other, and the point of no return marked."""
    assert [time.id for time in TIMES] == [stage.id for stage in FULL.plan.stages]
    assert TIMES[0].begin == FULL.best_start
    assert [time.id for time in TIMES if time.no_return] == ["base-1"]
    assert all(time.begin <= time.end for time in TIMES)


def test_what_was_not_played_has_no_times():
    """Without a play there is nothing to go by."""
    assert stage_times(Judgement(job(), Word.UNKNOWN, "why")) == ()


def test_a_play_that_breaks_off_has_times_as_far_as_it_goes():
    """The stage that fails is the last one, with what runs beside it."""
    times = stage_times(judged(wet_hour_mm=2.0))
    assert 0 < len(times) < len(TIMES)


@pytest.mark.parametrize("first", range(len(FULL.plan.stages)))
def test_the_rest_of_a_plan_lasts_as_long_as_in_the_whole(first):
    """In steady weather each stage of a part takes the minutes it takes in the whole plan."""
    part = part_of(FULL.plan, first, len(FULL.plan.stages))
    part_judged = rest(FULL, Place(first, FULL.best_start))
    assert part_judged.word is Word.GO
    lasts = {time.id: time.end - time.begin for time in TIMES}
    found = stage_times(part_judged)
    assert [time.id for time in found] == [stage.id for stage in part.stages]
    by_lamp = {stage.id for stage in part.stages if stage.pace}
    for time in found:
        # The lamp goes by the wind and the panel it begins in, a quarter hour later here.
        least = 60 if time.id in by_lamp else 0
        assert abs((time.end - time.begin - lasts[time.id]).total_seconds()) <= least


def test_a_part_keeps_its_checks_deadlines_and_waits():
    """Nothing that holds in the part is lost, nothing from outside it stays."""
    plan = FULL.plan
    first, stop = plan.commitment()[0], plan.commitment()[1] + 1
    part = part_of(plan, first, stop)
    held = [span for span in plan.spans if span.last >= first and span.first < stop]
    assert [span.check for span in part.spans] == [span.check for span in held]
    assert all(0 <= span.first <= span.last < stop - first for span in part.spans)
    assert [(d.stage + first, d.since + first) for d in part.deadlines] == [
        (d.stage, d.since) for d in plan.deadlines if d.since >= first and d.stage < stop
    ]
    assert [(block.first, block.stop) for block in part.blocks] == [(0, stop - first)]
    cut = next(d for d in plan.deadlines if d.since < d.stage)
    assert all(d.stage < cut.stage for d in part_of(plan, 0, cut.stage).deadlines)
    late = part_of(plan, index_of("clear-cool"), len(plan.stages))
    assert [block.may_wait_min for block in late.blocks] == [0, 30, 60]


def test_a_block_bound_to_a_stage_that_is_gone_is_bound_no_more():
    """A block that must follow a stage keeps that only while the stage is in the part."""
    blocks = list(FULL.plan.blocks)
    blocks[-1] = replace(blocks[-1], within_min=40, within_since=blocks[-2].first)
    plan = replace(FULL.plan, blocks=tuple(blocks))
    with_it = part_of(plan, blocks[-2].first, len(plan.stages)).blocks[-1]
    assert (with_it.within_min, with_it.within_since) == (40, 0)
    blocks[-1] = replace(blocks[-1], within_since=blocks[-3].first)
    plan = replace(FULL.plan, blocks=tuple(blocks))
    without = part_of(plan, blocks[-2].first, len(plan.stages)).blocks[-1]
    assert (without.within_min, without.within_since) == (None, None)


def test_hand_work_brings_along_what_it_is_done_beside():
    """Whoever mixes the clear is in the flash."""
    part = part_of(FULL.plan, index_of("mix-clear"), len(FULL.plan.stages))
    assert part.stages[0].id == "blend-flash"


def test_a_drying_clock_from_before_counts_anew():
    """Air-drying counts from the last coat; cut off from it, it begins with the part."""
    air = plan_for(job(), kit=Kit(work_light=True))
    since = [stage.clock.since for stage in air.stages if stage.clock and stage.clock.since]
    first = next(i for i, s in enumerate(air.stages) if s.clock and s.clock.since is not None)
    assert since
    assert part_of(air, first, first + 1).stages[0].clock.since is None


@pytest.mark.parametrize(
    ("kit", "ids", "expected"),
    [
        (KIT, ("base", "base-flash"), "base-1"),
        (KIT, ("blend",), "blend"),
        (Kit(), ("primer-lamp", "sand"), "primer-lamp-dust-free"),
        (Kit(), ("clear-flash", "clear-lamp"), "clear-lamp-dust-free"),
    ],
)
def test_a_stage_of_the_process_is_found_in_the_plan(kit, ids, expected):
    """By its first coat, its air-drying, or what follows where it was left out."""
    plan = plan_for(job(), kit=kit)
    assert plan.stages[stage_index(plan, ids)].id == expected


def test_nothing_left_of_a_stage_is_the_end():
    """A plan that has none of the stages is over."""
    assert stage_index(FULL.plan, ("gone",)) == len(FULL.plan.stages)


def test_the_times_move_with_what_the_painter_says():
    """An hour late at one stage is an hour late at all."""
    hour = timedelta(hours=1)
    moved = shifted(TIMES, "sand", time_of("sand").begin + hour)
    assert [time.begin for time in moved] == [time.begin + hour for time in TIMES]
    assert [time.end for time in moved] == [time.end + hour for time in TIMES]
    assert shifted(TIMES, "gone", EVENING) == ()


def test_where_the_painter_is_by_the_times_of_the_plan():
    """Before the first stage nowhere, then at each in turn, in a wait at the next, then done."""
    minute = timedelta(minutes=1)
    assert place_in(FULL.plan, TIMES, TIMES[0].begin - minute) is None
    for stage in MAIN:
        time = time_of(FULL.plan.stages[stage].id)
        if time.begin == time.end:
            continue  # a panel that needs no warming
        assert place_in(FULL.plan, TIMES, time.begin) == Place(stage, time.begin)
        assert place_in(FULL.plan, TIMES, time.end - minute).stage == stage
    assert place_in(FULL.plan, TIMES, TIMES[-1].end).stage == len(FULL.plan.stages)
    waiting = (TIMES[0], replace(TIMES[-1], begin=TIMES[-1].begin + 60 * minute))
    now = TIMES[0].end + minute
    assert place_in(FULL.plan, waiting, now) == Place(len(FULL.plan.stages) - 1, now)
    assert place_in(FULL.plan, (), now) is None


@pytest.mark.parametrize(
    ("stage_id", "on"),
    [("tack", False), ("base-1", True), ("clear-1", True), ("clear-lamp", True), ("unmask", False)],
)
def test_committed_from_the_base_to_the_end_of_the_bake(stage_id, on):
    """In between there is no way back."""
    assert committed(FULL.plan, Place(index_of(stage_id), EVENING)) is on


def test_without_a_point_of_no_return_nobody_is_committed():
    """A plan that never opens anything can always be left."""
    stages = tuple(replace(stage, no_return=False) for stage in FULL.plan.stages)
    assert not committed(replace(FULL.plan, stages=stages), Place(index_of("base-1"), EVENING))


def test_the_rest_begins_no_earlier_than_its_stage_can_have():
    """Who reported a hand stage hours ago is taken to be at its end, not hours behind."""
    now = datetime(2026, 4, 17, 10, tzinfo=UTC)
    at = Place(index_of("prepare"), now - timedelta(hours=5))
    begin = stage_times(rest(FULL, at, now))[0].begin
    assert now - timedelta(minutes=20) <= begin <= now - timedelta(minutes=5)


def test_the_rest_up_to_a_stage_leaves_the_others_out():
    """Rain after the bake makes the polish a matter of care and spoils nothing of the bake."""
    found = judged(wet_hour_mm=0.0)
    base = time_of("base-1").begin
    wet = found.climate.values["wet_hour_mm"]
    begin = (time_of("clear-lamp").end - found.at(0)).total_seconds() // 900 + 2
    wet[:, int(begin) :] = 2.0
    at = Place(index_of("base-1"), base)
    assert rest(found, at).word is Word.CARE
    assert rest(found, at, stop=found.plan.commitment()[1] + 1).word is Word.GO


@pytest.mark.parametrize(
    ("stage", "goal_c"),
    [
        ("promoter-warm", 28.0),
        ("promoter", 28.0),
        ("promoter-flash", 28.0),
        ("look", None),
        ("base-1-flash", 24.0),
        ("base-flash", None),
        ("clear-1", None),
        ("clear-lamp", 55.0),
        ("clear-cool", 55.0),
        ("unmask", 55.0),
    ],
)
def test_what_the_lamp_makes_of_the_panel_is_known_from_the_plan(stage, goal_c):
    """In its own stage and behind it, until paint goes on."""
    assert lamp_goal_c(FULL.plan, index_of(stage)) == goal_c


def test_a_rest_beyond_the_forecast_is_not_go():
    """Off the grid nothing is known."""
    at = Place(0, datetime(2026, 5, 20, tzinfo=UTC))
    assert rest(FULL, at).word is not Word.GO
    early = Place(0, datetime(2026, 4, 1, tzinfo=UTC))
    assert rest(FULL, early).play.start == 0


def test_the_level_of_a_rest_is_that_of_its_word():
    """The rest is an ordinary judgement."""
    found = rest(FULL, Place(index_of("tack"), FULL.best_start))
    assert found.play.level is Level.INSIDE
    assert np.isfinite(found.likelihood).all()
    assert found.job.day == DAY

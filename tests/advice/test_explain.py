"""The best play laid open."""

from dataclasses import replace

from briefs import entries

from sprayadvisor.advice.explain import explain

GO, CARE, NO_GO, UNKNOWN, NOT_JUDGED = entries()


def test_every_stage_and_every_reading_is_told_once():
    """Stages in the order of the plan, each reading under the stage its worst value falls into."""
    found = GO.judgement
    told = explain(found)
    assert [one.stage for one in told.stages] == list(found.plan.stages)
    readings = [reading for one in told.stages for reading in one.readings]
    assert sorted(map(id, readings)) == sorted(map(id, found.play.readings))
    for one in told.stages:
        scaled = [reading.scaled(found.play.level) for reading in one.readings]
        assert scaled == sorted(scaled)
        assert one.begin <= one.end


def test_where_work_may_be_left():
    """Before the base the last time after the tack cloth, then not before the bake is over."""
    told = explain(GO.judgement)
    opening = next(one for one in told.stages if one.stage.no_return)
    assert told.last_safe.stage.safe_stop
    assert told.last_safe.end <= opening.begin
    assert told.safe_again.stage.safe_stop
    assert told.safe_again.begin > opening.end
    between = [one for one in told.stages if told.last_safe.end < one.end < told.safe_again.end]
    assert not any(one.stage.safe_stop for one in between)


def test_a_play_that_stops_early_is_told_as_far_as_it_goes():
    """What is never reached has no times."""
    told = explain(NO_GO.judgement)
    assert 0 < len(told.stages) <= len(NO_GO.judgement.plan.stages)


def test_a_plan_without_a_point_of_no_return_is_never_committed():
    """Then every safe stop is before it."""
    found = GO.judgement
    stages = tuple(replace(stage, no_return=False) for stage in found.plan.stages)
    told = explain(replace(found, plan=replace(found.plan, stages=stages)))
    assert told.safe_again is None
    assert told.last_safe.stage.id == [s.id for s in stages if s.safe_stop][-1]


def test_nothing_played_is_nothing_to_lay_open():
    """Without weather, or indoors."""
    assert explain(UNKNOWN.judgement) is None
    assert explain(NOT_JUDGED.judgement) is None

"""The best play in words and for a machine."""

import json
from dataclasses import replace

from briefs import entries, told
from days import job, outlook

from sprayadvisor.advice.model import Colour, Panel, Part
from sprayadvisor.render.told_explain import explained_json, explained_lines, tell_play
from sprayadvisor.units import Display

GO, CARE, NO_GO, UNKNOWN, NOT_JUDGED = entries()
METRIC = Display()


def test_each_check_has_value_bounds_margin_and_origin():
    """Of a sheet with its page; of what is kept throughout, that it is."""
    lines = "\n".join(explained_lines(GO, METRIC))
    assert lines.startswith("● GO: start ")
    assert "(no way back from here)" in lines
    assert "(safe to stop after it)" in lines
    assert "Last safe to stop at " in lines
    assert "Safe again at " in lines
    wanted = "The sheet wants at most 25.0 °C, stop at 30.0 °C (Quick 2K clear, rev. demo-1, p. 1)."
    assert wanted in lines
    assert "in hand to the sheet" in lines


def test_between_the_bounds_it_says_so():
    """A care outside the sheet names what is left to the stop."""
    lines = "\n".join(explained_lines(CARE, METRIC))
    assert "Outside the sheet, short of the stop." in lines
    assert "6 % in hand to the stop" in lines
    assert "Outside the sheet" not in "\n".join(explained_lines(GO, METRIC))


def test_a_value_is_never_told_of_a_time_before_its_stage():
    """The quarter hour may begin earlier."""
    for stage in tell_play(GO.judgement, METRIC).stages:
        begin = stage.times.split(" to ")[0]
        for check in stage.checks:
            if " at " in check:
                assert check.split(" at ", 1)[1][:5] >= begin


def test_of_several_panels_the_tightest_is_named():
    """The one that was read."""
    two = job(panels=(Panel(Part.LEFT_DOOR, Colour.BLACK), Panel(Part.ROOF, Colour.WHITE)))
    head = tell_play(told(two, outlook()).judgement, METRIC).head
    assert "which is the tightest" in head
    assert "left door" in head or "roof" in head


def test_without_a_play_the_verdict_and_the_cautions_are_left():
    """Unknown and not judged lay nothing open."""
    for entry in (UNKNOWN, NOT_JUDGED):
        lines = explained_lines(entry, METRIC)
        assert not any(" to " in line[:14] for line in lines)
        assert any("isocyanates" in line for line in lines)


def test_a_machine_gets_the_same():
    """Values, bounds, margins and origins; null for what has no bound; it is valid JSON."""
    found = json.loads(json.dumps(explained_json(CARE), allow_nan=False))
    assert found["verdict"] == "care"
    checks = [check for stage in found["best_play"]["stages"] for check in stage["checks"]]
    damp = next(c for c in checks if c["quantity"] == "rh_pct" and c["inside_max"] == 80)
    assert damp["inside_margin"] < 0 < damp["stop_margin"]
    assert damp["stop_max"] == 88
    assert found["best_play"]["last_safe_stop"]["stage"]
    assert explained_json(UNKNOWN)["best_play"] is None
    assert explained_json(UNKNOWN)["likelihood_stop"] is None


def test_a_play_without_a_commitment_has_one_place_to_stop():
    """Nothing is said of a second one."""
    judgement = GO.judgement
    stages = tuple(replace(stage, no_return=False) for stage in judgement.plan.stages)
    plain = replace(judgement, plan=replace(judgement.plan, stages=stages))
    assert "Safe again" not in tell_play(plain, METRIC).stops

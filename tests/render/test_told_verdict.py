"""What decides a job, what goes wrong, what to do, and the two-pack caution at each job."""

import math
from dataclasses import replace

import pytest
from briefs import brief, entries, told
from days import job, plan_for

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.reservations import NO_AIR
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.defects import defect
from sprayadvisor.render.limits import limiting_words
from sprayadvisor.render.told import tell
from sprayadvisor.render.told_verdict import goes_wrong
from sprayadvisor.units import Display

DISPLAY = Display()
PLAN = plan_for(job())


def facts(entry):
    """Return the facts of the only job of a brief by their labels."""
    shown = tell(brief(entry, clashes=(), ring=()), DISPLAY).jobs[0]
    return {fact.label: fact.text for fact in shown.facts}


@pytest.mark.parametrize("index", [0, 1, 2, 4], ids=["go", "care", "no-go", "not judged"])
def test_each_job_with_two_pack_carries_its_caution(index):
    """The products by name; what they are handled with; that it may be forbidden."""
    said = facts(entries()[index])["Two-pack"]
    for words in ("Fast 2K primer", "Quick 2K clear", "air-fed mask", "nobody near or downwind",
                  "may be forbidden"):  # fmt: skip
        assert words in said
    assert "Solvent base" not in said


def test_a_job_without_two_pack_has_no_such_line():
    """Nothing is warned of that is not used."""
    go = entries()[0]
    plan = go.judgement.plan
    mild = {role: s.model_copy(update={"two_pack": False}) for role, s in plan.sheets.items()}
    plain = replace(go, judgement=replace(go.judgement, plan=replace(plan, sheets=mild)))
    assert "Two-pack" not in facts(plain)


def test_unknown_and_not_judged_say_what_to_do():
    """A reason alone helps nobody; neither reads as leave to spray."""
    assert "plan as if it were a no" in facts(entries()[3])["What to do"]
    assert "do not spray there" in facts(entries()[4])["What to do"]
    assert "What to do" not in facts(entries()[0])


def test_a_go_calls_its_nearest_limit_the_tightest_and_others_say_why():
    """Nothing that holds is told as a reason against."""
    assert "Tightest" in facts(entries()[0])
    assert "Why" not in facts(entries()[0])
    for entry in entries()[1:4]:
        assert "Why" in facts(entry)


def limit(quantity, value, margin, kind="sheet", level=Level.INSIDE, **bounds):
    """Return a limiting check at the first stage."""
    check = Check(quantity, Origin(kind, "Quick 2K clear", 2, "r1"), **bounds)
    return Limiting(check, 0, 0, value, margin, level, 1.0, 0)


def test_a_value_close_to_its_bound_is_told_finer():
    """79.6 against 80 is not told as 80 against 80."""
    said = limiting_words(limit("rh_pct", 79.6, 0.4, inside_max=80.0), PLAN, "1", DISPLAY)
    assert "humidity 79.6 %" in said
    assert "0.4 % in hand" in said
    none = limiting_words(limit("rh_pct", 79.98, 0.02, inside_max=80.0), PLAN, "1", DISPLAY)
    assert "next to nothing in hand to the sheet" in none


def test_only_a_sheets_bound_is_called_the_sheets():
    """Common practice, a process or the user's own bound is none of the maker's."""
    said = limiting_words(
        limit("light_lx", 60.0, -40.0, "practice", inside_min=100.0), PLAN, "1", DISPLAY
    )
    assert "40 lx beyond the bound" in said
    assert "sheet" not in said
    both = limiting_words(
        limit("diffuse_lx", 900.0, -1100.0, "process", inside_min=2000.0, stop_min=100.0),
        PLAN, "1", DISPLAY,
    )  # fmt: skip
    assert "At least 2000 lx, with care beyond, stop at 100 lx" in both


BY_HAND = [
    ("panel_temp_c", 31.0, {"stop_max": 30.0}, "polish that dries on", "craters"),
    ("panel_temp_c", 2.0, {"stop_min": 3.0}, "tape that lets go", "runs"),
    ("wet_hour_mm", 0.6, {"stop_max": 0.1}, "water in the gaps", "water marks"),
    ("dew_margin_k", -1.0, {"stop_min": 0.0}, "damp under the tape", "bloom"),
]


@pytest.mark.parametrize(("quantity", "value", "bounds", "by_hand", "wet"), BY_HAND)
def test_hand_work_goes_wrong_otherwise_than_wet_paint(quantity, value, bounds, by_hand, wet):
    """Nobody is told of craters while he polishes."""
    found = limit(quantity, value, -1.0, level=Level.STOP, **bounds)
    for kind in ("hand", "check", "cool"):
        assert by_hand in defect(found, kind).seen
    for kind in ("coat", "flash", "lamp"):
        assert wet in defect(found, kind).seen


def test_what_hand_work_does_not_mind_more_is_told_as_ever():
    """The light for a card, gusts on film."""
    gust = limit("gust_ms", 9.0, -1.0, level=Level.STOP, stop_max=8.0)
    assert defect(gust, "hand") == defect(gust, "coat")


def test_rain_that_is_not_known_is_never_called_dry():
    """A gap in the rain, or no chart to see it in, is said."""
    go = entries()[0]
    rain = go.chart.rain_mm.copy()
    rain[10:20] = math.nan
    gap = replace(go, chart=replace(go.chart, rain_mm=rain))
    assert facts(gap)["Weather"].endswith("rain not known throughout.")
    assert facts(replace(go, chart=None))["Weather"].endswith("for rain look at the radar.")


def test_with_several_panels_the_chart_says_which_it_shows():
    """The curves are those of one panel."""
    two = told(job(panels=(job().panels[0], job().panels[0])))
    chart = tell(brief(two, clashes=()), DISPLAY).jobs[0].chart
    assert chart.about == "As the day may well go, on the silver rear bumper"
    assert tell(brief(entries()[0], clashes=()), DISPLAY).jobs[0].chart.about == (
        "As the day may well go"
    )
    assert Word.GO is entries()[0].judgement.word


@pytest.mark.parametrize(
    ("bounds", "words"),
    [
        ({"stop_max": 38.0}, "“touch the panel, feel the wind, see who is downwind” as the lamp"),
        ({"stop_min": 8.0}, ", what the lamp has left once it flashes; "),
    ],
)
def test_a_warmed_panel_is_told_when_after_the_lamp(bounds, words):
    """Its upper bound counts as the lamp goes off, its lower one at the end of the flash."""
    found = limit("panel_temp_c", 12.0, -1.0, level=Level.STOP, **bounds)
    warmed = replace(found, check=replace(found.check, array="panel_temp_c at primer"))
    lit = replace(warmed, lamp_lit=True)
    assert words in limiting_words(lit, PLAN, "1", DISPLAY)
    for unlit in (found, warmed):
        assert "lamp" not in limiting_words(unlit, PLAN, "1", DISPLAY)


def test_once_a_base_lies_open_the_job_is_neither_moved_nor_covered_before():
    """In the brief there is time for both; at the car, over an open base, there is not."""
    rain = limit("wet_hour_mm", 1.0, -0.9, level=Level.STOP, stop_max=0.1)
    entry = entries()[2]
    wet = replace(entry, judgement=replace(entry.judgement, limiting=replace(rain, stage=25)))
    assert "move the job" in goes_wrong(wet)
    over = goes_wrong(wet, over_open=True)
    assert "Cover it now without touching it, lay nothing" in over
    assert "move the job" not in over
    for quantity, bounds in (("panel_temp_c", {"stop_max": 30.0}), ("rh_pct", {"stop_max": 88.0})):
        hot = limit(quantity, 95.0, -7.0, level=Level.STOP, **bounds)
        same = replace(entry, judgement=replace(entry.judgement, limiting=replace(hot, stage=25)))
        assert "wipe it damp" not in goes_wrong(same, over_open=True)
        assert "Lay nothing" in goes_wrong(same, over_open=True)
    dust = limit("dust_level", 2.0, -0.5, inside_max=1.5)
    same = replace(entry, judgement=replace(entry.judgement, limiting=replace(dust, stage=25)))
    assert goes_wrong(same) == goes_wrong(same, over_open=True)


def test_where_the_compressor_cannot_run_the_decision_says_so():
    """The weather may fit; without air nothing is sprayed. The power is told with what to do."""
    go = entries()[0]
    plan = replace(
        go.judgement.plan, reserved=(("", NO_AIR),), power=("the compressor draws too much",)
    )
    dry = replace(go, judgement=replace(go.judgement, plan=plan))
    shown = tell(brief(dry, clashes=(), ring=()), DISPLAY).jobs[0]
    assert shown.short.endswith("But the compressor cannot run there: bring other power.")
    assert facts(dry)["Power"] == "The compressor draws too much."
    assert "compressor" not in tell(brief(go, clashes=()), DISPLAY).jobs[0].short

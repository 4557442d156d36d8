"""How much is mixed for a job, cup by cup, and whether it lasts."""

from __future__ import annotations

from dataclasses import replace

import pytest
from days import job, outlook, plan_for
from test_judge import judged

from sprayadvisor.advice.mixing import Mix, mixes, to_mark_ml
from sprayadvisor.advice.model import Kit


def cups(booking=None, role="clear", weather=None, **changes):
    """Return the cups of one product in the best play of a job."""
    found = judged(booking or job(), weather or outlook())
    plan = replace(found.plan, **changes)
    return mixes(plan, found.play, role, found.job.repair_area_m2)


def test_the_amount_is_that_of_the_coats_and_of_what_stays_in_the_cup():
    """By hand: two coats of 150 ml/m2 on 0.3 m2 and 30 ml left are 120, to the mark 125."""
    (clear,) = cups()
    assert (clear.coats, clear.ml) == (2, 125.0)
    # base: two coats and one to blend, 130 ml/m2, on six tenths of the area, 25 ml left: 95.2
    (base,) = cups(role="base")
    assert (base.coats, base.ml) == (3, 100.0)
    # promoter: 60 ml/m2 on half of it and 10 ml left are 19; no less than 25 can be mixed
    assert cups(role="promoter")[0].ml == 30.0


def test_a_larger_area_takes_more_and_never_less():
    """It rises with the area."""
    amounts = [cups(job(repair_area_m2=area))[0].ml for area in (0.1, 0.3, 0.5)]
    assert amounts == sorted(amounts)
    assert amounts[0] == 100.0  # the least


def test_each_skim_of_filler_is_mixed_on_its_own():
    """A bake lies between; what air-dries between is two cups too."""
    plan = plan_for(job(process="fill-and-prime"))
    dries = plan_for(job(process="fill-and-prime"), kit=Kit())
    play = judged().play
    begins = play.walk.begins[:1].repeat(len(dries.stages), axis=0)
    walk = replace(play.walk, begins=begins, ends=begins)
    for one in (plan, dries):
        found = mixes(one, replace(play, walk=walk), "filler", 0.3)
        assert [mix.coats for mix in found] == [1, 1]


def test_a_coat_that_nothing_dries_is_a_cup_all_the_same():
    """A process that leaves it so is refused when read; compiled, it is told."""
    found = judged()
    open_end = replace(found.plan, stages=found.plan.stages[:8])
    assert [mix.coats for mix in mixes(open_end, found.play, "promoter", 0.3)] == [1]


def test_without_an_amount_on_the_sheet_none_is_told():
    """The coats are counted all the same."""
    sheets = plan_for(job()).sheets
    bare = sheets | {"clear": sheets["clear"].model_copy(update={"spread": None})}
    assert [(mix.coats, mix.ml) for mix in cups(sheets=bare)] == [(2, None)]


def test_minutes_are_those_of_the_play():
    """From the first coat to the end of the last; not known where it is not reached."""
    found = judged()
    walk, row = found.play.walk, found.play.row
    names = [stage.id for stage in found.plan.stages]
    expected = walk.ends[names.index("clear-2"), row] - walk.begins[names.index("clear-1"), row]
    assert cups()[0].minutes == expected > 6
    assert cups(weather=outlook(wet_hour_mm=1.0))[0].minutes is None


@pytest.mark.parametrize(
    ("minutes", "pot_life", "outlasts"),
    [(26, 25.0, True), (25, 25.0, False), (None, 25.0, False), (26, None, False)],
)
def test_coats_may_take_longer_than_the_paint_lasts(minutes, pot_life, outlasts):
    """Only where both are known."""
    assert Mix(2, 100.0, minutes).outlasts(pot_life) is outlasts


@pytest.mark.parametrize(
    ("ml", "mark"),
    [(1.0, 10.0), (30.0, 30.0), (30.1, 40.0), (100.1, 125.0), (125.0, 125.0), (501.0, 550.0)],
)
def test_amounts_go_up_to_the_next_mark(ml, mark):
    """Of ten, twenty-five or fifty millilitres: common practice, no source."""
    assert to_mark_ml(ml) == mark

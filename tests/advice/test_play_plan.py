"""What a plan says about itself."""

from __future__ import annotations

import pytest
from play_parts import HERE, flash, hand, plan_of

from sprayadvisor.advice.plan import Clock, Deadline, PlanStage
from sprayadvisor.advice.sheet import Origin

COAT = {"kind": "coat"}


def coat(role: str, **more: object) -> PlanStage:
    """Return a coat of some role."""
    return hand(2, kind="coat", role=role, **more)


def test_first_coat_by_role() -> None:
    """The first coat of all, of a role, or none."""
    plan = plan_of([hand(5), coat("primer"), flash(5), coat("base")])
    assert (plan.first_coat(), plan.first_coat("base"), plan.first_coat("clear")) == (1, 3, None)


@pytest.mark.parametrize(
    ("blocks", "expected"),
    [
        ([[hand(5), coat("primer")]], None),
        ([[hand(5)], [coat("base", no_return=True), flash(5), hand(5)]], (1, 2)),
        ([[coat("base", no_return=True), flash(5)], [coat("clear")]], (0, 1)),
        ([[hand(5), hand(5, no_return=True)]], (1, 1)),
    ],
    ids=["none", "to the last wet stage", "not beyond its block", "nothing wet"],
)
def test_commitment_runs_to_the_last_wet_stage_of_its_block(
    blocks: list[list[PlanStage]], expected: tuple[int, int] | None
) -> None:
    """From the stage without return to the last coat, flash or bake of its block."""
    assert plan_of(*blocks).commitment() == expected


def test_deadlines_of_a_stage_include_that_of_its_block() -> None:
    """A block that must begin soon is a deadline of its first stage."""
    own = Deadline(1, 0, 10.0, HERE)
    plan = plan_of([hand(5), hand(5)], [hand(5)], deadlines=[own], wait=30, within=40, since=0)
    assert plan.deadlines_of(0) == ()
    assert plan.deadlines_of(1) == (own,)
    assert plan.deadlines_of(2) == (Deadline(2, 0, 40, Origin("process", "invented")),)


@pytest.mark.parametrize(
    ("changes", "alike"),
    [({"need_min": 9.0}, True), ({"since": 3}, True), ({"cap": 2.0}, False)],
)
@pytest.mark.parametrize("kind", ["flash", "cure"])
def test_clocks_that_run_alike_share_a_key(kind: str, changes: dict, alike: bool) -> None:
    """Need and beginning do not change how fast a clock runs; its cap does."""
    clock = Clock(kind, 5.0)
    other = Clock(kind, **({"need_min": 5.0} | changes))
    assert (clock.rate_key == other.rate_key) == alike
    assert clock.rate_key != Clock("cure" if kind == "flash" else "flash", 5.0).rate_key

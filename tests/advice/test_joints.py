"""Where a plan is cut so that it may wait, and how soon one stage must follow another."""

import pytest
from days import job
from paint import GONE, LAMP, ids, named, plan, sheet, stage

from sprayadvisor.advice.model import Colour, Kit, Panel, Part
from sprayadvisor.advice.plan import Deadline, Plan
from sprayadvisor.advice.sheet import Origin

DOOR = job(panels=(Panel(Part.LEFT_DOOR, Colour.WHITE),))
SHEETS = {
    "base": sheet(id="base", kind="base", cure=GONE, lamp=GONE, flash__latest_min=60),
    "clear": sheet(),
    "edge": sheet(id="edge", kind="blender", cure=GONE, lamp=GONE, flash__latest_min=8),
    "open": sheet(id="open", kind="promoter", cure=GONE, lamp=GONE, flash__latest_min=GONE),
}
BASE = stage("base", "coat", sheet="base")
MATT = stage("matt", "flash", sheet="base", until="next")
CLEAR, FLASH, BAKE = stage("clear", "coat"), stage("flash", "flash"), stage("bake", "lamp")


def hand(name: str, wait: int = 0, within: int | None = None):
    """Return hand work that may wait, or must begin soon."""
    return stage(name, "hand", may_wait_min=wait, within_min=within)


def coat(name: str, role: str, wait: int = 0, within: int | None = None):
    """Return a coat that may wait, or must begin soon."""
    return stage(name, "coat", sheet=role, may_wait_min=wait, within_min=within)


def compiled(*stages, kit: Kit = LAMP) -> Plan:
    """Return the plan of some stages."""
    return plan(DOOR, stages, SHEETS, kit)


def blocks(found: Plan) -> list[tuple]:
    """Return first stage, wait, bound and what bounds each block but the first."""
    return [
        (named(found, b.first), b.may_wait_min, b.within_min, named(found, b.within_since))
        for b in found.blocks[1:]
    ]


def deadlines(found: Plan) -> list[tuple]:
    """Return stage, since, minutes and kind of origin of each deadline."""
    return [
        (named(found, d.stage), named(found, d.since), d.minutes, d.origin.kind)
        for d in found.deadlines
    ]


LOOK = hand("look")


@pytest.mark.parametrize(
    ("stages", "expected"),
    [
        ((LOOK, hand("wash")), []),
        ((LOOK, hand("wash", 30)), [("wash", 30, None, None)]),
        ((LOOK, hand("wash", 30, 45)), [("wash", 30, 45, "look")]),
        (
            (LOOK, hand("wash", 30), hand("rub"), hand("tack", 60)),
            [("wash", 30, None, None), ("tack", 60, None, None)],
        ),
        # Bound to the last work, not to the flash or to what is done alongside it.
        (
            (
                coat("p", "open"),
                stage("f", "flash", sheet="open", until="next"),
                stage("tidy", "hand", alongside="f"),
                coat("q", "open", 15, 45),
            ),
            [("q", 15, 45, "p")],
        ),
    ],
)
def test_a_plan_is_cut_where_work_may_wait(stages, expected):
    """Each cut knows how long it may wait and from which work on it is bound."""
    found = compiled(*stages)
    assert blocks(found) == expected
    assert [b.first for b in found.blocks] == [0, *[b.stop for b in found.blocks[:-1]]]
    assert found.blocks[-1].stop == len(found.stages)
    assert all(found.stages[b.first].after is None for b in found.blocks)


@pytest.mark.parametrize(("wait", "within", "bound"), [(15, None, 60), (15, 45, 45), (30, 480, 60)])
def test_the_coat_that_covers_may_wait_as_long_as_the_paint_below_bears(wait, within, bound):
    """The tighter of sheet and process counts, from the last coat below."""
    found = compiled(BASE, MATT, coat("clear", "clear", wait, within), FLASH, BAKE)
    assert blocks(found) == [("clear", wait, bound, "base")]
    assert ("clear", "base", 60, "sheet") not in deadlines(found)
    assert [(d.stage, d.minutes) for d in found.deadlines_of(2)] == [(2, bound)]


@pytest.mark.parametrize("kit", [LAMP, Kit()])
@pytest.mark.parametrize(
    "stages",
    [
        # Between base and clear, before either, and with work in between.
        (BASE, MATT, hand("mix", 20), CLEAR, FLASH, BAKE),
        (BASE, MATT, hand("mix"), coat("clear", "clear", 20), FLASH, BAKE),
        # Between the last coat and its lamp, or the air-drying that counts from it.
        (CLEAR, FLASH, hand("pack", 20), BAKE),
    ],
)
def test_nothing_waits_over_paint_that_must_be_covered_or_dried(stages, kit):
    """There the plan is not cut, whatever the process says."""
    found = compiled(LOOK, *stages, kit=kit)
    assert blocks(found) == []
    clocks = [s.clock for s in found.stages if s.clock and s.clock.since is not None]
    assert all(clock.since >= found.blocks[0].first for clock in clocks)


def test_work_may_wait_again_once_the_paint_is_dry():
    """Behind the lamp, and behind the air-drying in its stead, which is where within counts."""
    later = hand("polish", 60, 60)
    assert blocks(compiled(CLEAR, FLASH, BAKE, later)) == [("polish", 60, 60, "bake")]
    dried = compiled(CLEAR, FLASH, BAKE, later, kit=Kit())
    assert blocks(dried) == [("polish", 60, 60, "bake-workable")]


def test_paint_without_a_latest_may_wait_for_what_covers_it():
    """A sheet that names no longest flash leaves it to the process."""
    found = compiled(
        coat("p", "open"),
        stage("f", "flash", sheet="open", until="next"),
        hand("mask", 20),
        CLEAR,
        FLASH,
        BAKE,
    )
    assert blocks(found) == [("mask", 20, None, None)]


def test_sheet_and_process_each_set_deadlines():
    """The sheet's longest flash, and what the process wants to follow soon."""
    found = compiled(
        LOOK,
        stage("base", "coat", sheet="base", coats=2, within_min=10),
        MATT,
        stage("clear", "coat", within_min=45),
        FLASH,
        stage("bake", "lamp", within_min=15),
    )
    assert deadlines(found) == [
        ("clear", "base-2", 60, "sheet"),
        ("bake", "clear", 12, "sheet"),
        ("base-1", "look", 10, "process"),
        ("clear", "base-2", 45, "process"),
        ("bake", "clear", 15, "process"),
    ]
    assert found.deadlines[0] == Deadline(5, 3, 60, Origin("sheet", "Clear X", 1, "7"))


def test_a_coat_of_the_same_covers_nothing():
    """The time runs from the last coat of it."""
    drop = stage("drop", "coat", sheet="base")
    between = stage("f", "flash", sheet="base", until="coat")
    found = compiled(BASE, between, drop, MATT, CLEAR, FLASH, BAKE)
    assert ("clear", "drop", 60, "sheet") in deadlines(found)
    assert not [d for d in deadlines(found) if d[1] == "base"]


def test_a_blended_edge_covers_nothing_either():
    """It wets the clear below anew: under the lamp in either's time from there."""
    edge = coat("edge", "edge", within=3)
    found = compiled(CLEAR, edge, FLASH, BAKE)
    assert deadlines(found) == [
        ("bake", "edge", 12, "sheet"),
        ("bake", "edge", 8, "sheet"),
        ("edge", "clear", 3, "process"),
    ]


EDGE = {"within_min": 3, "hot_within_min": 2, "hot_from_c": 28, "page": 1}


def test_an_edge_follows_the_clear_within_the_minutes_of_its_own_sheet():
    """Counted from the last coat of the clear to the first of its own; alone it follows nothing."""
    sheets = SHEETS | {"edge": sheet(id="edge", kind="blender", cure=GONE, lamp=GONE, edge=EDGE)}
    edge = stage("edge", "coat", sheet="edge", coats=2)
    found = plan(DOOR, (stage("clear", "coat", coats=2), edge, FLASH, BAKE), sheets)
    assert ("edge-1", "clear-2", 3, "sheet") in deadlines(found)
    assert [d for d in deadlines(found) if d[0] == "edge-2"] == []
    assert deadlines(plan(DOOR, (edge,), sheets)) == []


def test_without_a_lamp_air_drying_is_late_for_nothing():
    """What dries where it is needs no lamp in time, and what is sprayed on it later neither."""
    again = [stage("again", "coat"), stage("end", "lamp")]
    found = compiled(CLEAR, FLASH, BAKE, hand("rub"), *again, kit=Kit())
    assert deadlines(found) == []
    assert "bake-workable" in ids(found)

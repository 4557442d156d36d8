"""How hot, how long, in how many places: the lamp's work in a compiled plan."""

from dataclasses import replace

import pytest
from days import BUMPER, SITE, job
from paint import GONE, LAMP, held, ids, named, plan, sheet, stage

from sprayadvisor.advice.compile import STAYS_COLD
from sprayadvisor.advice.lamp_work import QUENCH_SHARE, warming
from sprayadvisor.advice.model import Colour, Kit, Material, Panel, Part, Power
from sprayadvisor.advice.plan import Pace, PlanStage
from sprayadvisor.advice.policy import Policy
from sprayadvisor.science.drying import THROUGH_CURE_KJ_MOL, cure_minutes
from sprayadvisor.science.lamp import lamp_flux_wm2

STEEL = Panel(Part.LEFT_DOOR, Colour.WHITE, Material.STEEL)
DOOR = job(panels=(STEEL,), repair_area_m2=0.5)
CLEAR = stage("clear", "coat", coats=2)
FLASH, BAKE, COOL = stage("flash", "flash"), stage("bake", "lamp"), stage("cool", "cool")
WARM = stage("warm", "lamp", sheet=None, warm_to_c=24, warm_below_c=15, soak_min=8)
PLASTIC = {"lamp__plastic_bake_min": 14, "lamp__plastic_temp_c": 55}
USUAL = (WARM, CLEAR, FLASH, BAKE, COOL)


def compiled(*stages, booking=DOOR, kit=LAMP, policy=None, **changes):
    """Return the plan of some stages with a sheet changed as wanted."""
    return plan(booking, stages or USUAL, {"clear": sheet(**changes)}, kit, policy)


def pace_of(found, name: str) -> Pace:
    """Return the pace of a stage."""
    pace = stage_of(found, name).pace
    assert pace is not None
    return pace


def stage_of(found, name: str) -> PlanStage:
    """Return a stage of a plan."""
    return found.stages[ids(found).index(name)]


@pytest.mark.parametrize(
    ("panels", "changes", "goal", "hold", "heat"),
    [
        ((STEEL,), {}, 60.0, 9.0, 9000.0),
        ((BUMPER,), PLASTIC, 55.0, 14.0, 11000.0),
        ((STEEL, BUMPER), PLASTIC, 60.0, 14.0, 11000.0),
        ((BUMPER,), {"lamp__metal_temp_c": 60}, 60.0, 9.0, 11000.0),
        (
            (BUMPER,),
            {"lamp__metal_temp_c": 65},
            60.0,
            cure_minutes(9.0, 60.0, 65.0, THROUGH_CURE_KJ_MOL),
            11000.0,
        ),
    ],
)
def test_each_material_bakes_at_its_own_temperature(panels, changes, goal, hold, heat):
    """Plastic never above 60 °C unless the sheet prints more; what bakes colder bakes longer."""
    found = compiled(booking=replace(DOOR, panels=panels), **changes)
    pace = pace_of(found, "bake")
    assert (pace.goal_temp_c, pace.hold_min, pace.heat_j_m2k) == (goal, hold, heat)
    assert pace.absorbed_wm2 == lamp_flux_wm2(1.0, 1.0)


def test_the_lamp_is_set_up_as_often_as_the_panel_is_larger():
    """Warming and baking alike, and the printed minutes with it."""
    found = compiled(kit=Kit(lamp_kw=1.0, lamp_area_m2=0.2))
    assert [pace_of(found, name).places for name in ("warm", "bake")] == [3, 3]
    assert stage_of(found, "bake").minutes == 27
    assert not stage_of(found, "warm").minutes


def test_the_metal_must_hold_the_sheets_temperature_all_through_the_bake():
    """With page and revision; warming is not held to it, for a mild panel needs none."""
    found = compiled()
    assert held(found, "lamp_temp_c") == {("bake", "bake")}
    check = next(s.check for s in found.spans if s.check.quantity == "lamp_temp_c")
    assert (check.stop_min, check.inside_min) == (60.0, None)
    assert str(check.origin) == "Clear X, rev. 7, p. 1"
    assert held(compiled(kit=Kit()), "lamp_temp_c") == set()


def test_the_lamp_stand_is_held_against_gusts_while_it_warms_too():
    """The same gust as over the bake."""
    found = compiled(policy=Policy(lamp_gust_ms=7.0))
    stands = {named(found, s.first) for s in found.spans if s.check.stop_max == 7.0}
    assert stands == {"warm", "bake"}
    assert found.uses_lamp


def test_cooling_takes_up_where_the_lamp_or_earlier_cooling_ends():
    """To 40 °C unless said; the process's own minutes are the least."""
    cold = stage("cold", "cool", minutes=1, cool_to_c=30, quench=True)
    found = compiled(*USUAL, stage("unmask", "hand"), cold, stage("polish", "hand"))
    first, second = pace_of(found, "cool"), pace_of(found, "cold")
    assert (first.from_temp_c, first.goal_temp_c, first.share) == (60.0, 40.0, 1.0)
    assert (second.from_temp_c, second.goal_temp_c, second.share) == (40.0, 30.0, QUENCH_SHARE)
    assert (stage_of(found, "cool").minutes, stage_of(found, "cold").minutes) == (5, 1)
    bare = compiled(*USUAL, stage("unmask", "hand"), cold, kit=Kit())
    assert not {"cool", "cold"} & set(ids(bare))


@pytest.mark.parametrize(
    ("booking", "kit"),
    [
        (DOOR, Kit()),
        (DOOR, Kit(lamp_kw=1.0)),
        (replace(DOOR, site=replace(SITE, power=Power.NONE)), LAMP),
        (DOOR, Kit(lamp_kw=3.5, lamp_area_m2=1.0)),
    ],
)
def test_without_a_lamp_nothing_is_warmed_and_a_note_says_so(booking, kit):
    """No lamp, none that lights anything, no power, or too little of it."""
    found = compiled(booking=booking, kit=kit)
    assert "warm" not in ids(found)
    assert found.warmths == ()
    assert found.notes.count(STAYS_COLD) == 1
    assert {s.check.array for s in found.spans} == {""}


def test_metal_is_warmed_where_the_paint_itself_may_not_be_baked():
    """A sheet without a lamp forbids baking, not a warm panel."""
    found = compiled(lamp=GONE)
    assert ids(found)[:2] == ["warm", "clear-1"]
    assert ids(found)[-1] == "bake-workable"


def test_warming_needs_a_stage_that_warms():
    """The compiler never asks this of a bake."""
    with pytest.raises(ValueError, match="stage 'bake' does not warm"):
        warming(BAKE, DOOR, LAMP)


def test_everything_colder_than_the_goal_is_warmed_unless_said():
    """And nothing is soaked."""
    found = compiled(stage("warm", "lamp", sheet=None, warm_to_c=24), CLEAR, FLASH, BAKE)
    pace = pace_of(found, "warm")
    assert (pace.below_c, pace.hold_min) == (24.0, 0.0)

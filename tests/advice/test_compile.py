"""Processes compiled for one job: coats, flashes, lamps and what stands in for them."""

from dataclasses import replace

import pytest
from days import BUMPER, SITE, catalogue, job
from paint import GONE, LAMP, ids, plan, sheet, stage

from sprayadvisor.advice.model import Colour, Kit, Material, Panel, Part, Power
from sprayadvisor.advice.plan import Clock
from sprayadvisor.advice.printed import example_plan, in_a_row
from sprayadvisor.advice.process import Stage
from sprayadvisor.science.drying import BLOWER_FACTOR

STEEL = Panel(Part.LEFT_DOOR, Colour.WHITE, Material.STEEL)
DOOR = job(panels=(STEEL,), repair_area_m2=0.5)
NO_POWER = replace(DOOR, site=replace(SITE, power=Power.NONE))
COAT = stage("clear", "coat", coats=2, no_return=True)
FLASH = stage("flash", "flash")
BAKE = stage("bake", "lamp")
COOL = stage("cool", "cool", safe_stop=True)
POLISH = stage("polish", "hand", hard=True)
SHOW = stage("show", "hand")
USUAL = (COAT, FLASH, BAKE, COOL, POLISH, SHOW)
CLEAR = sheet()
AIR_DRIED = ["bake-dust-free", "bake-rain-safe", "bake-workable"]


def compiled(*stages: Stage, booking=DOOR, kit: Kit = LAMP, **changes):
    """Return the plan of some stages with a sheet changed as wanted."""
    return plan(booking, stages, {"clear": sheet(**changes)}, kit)


def test_coats_are_sprayed_one_by_one_with_the_printed_flash_between():
    """Only the first of them is without return, and a single coat keeps its name."""
    found = compiled(*USUAL)
    assert ids(found) == [
        *("clear-1", "clear-1-flash", "clear-2", "flash", "bake", "cool", "polish", "show")
    ]
    assert [s.no_return for s in found.stages[:3]] == [True, False, False]
    assert [s.name for s in found.stages[:3]] == [
        *("clear, coat 1", "clear, flash between coats", "clear, coat 2")
    ]
    assert found.stages[1].clock == Clock("flash", 4.0)
    assert ids(compiled(stage("c", "coat"), FLASH, BAKE))[0] == "c"


@pytest.mark.parametrize(
    ("until", "carrier", "blower", "share", "clock"),
    [
        ("coat", "solvent", False, 1.0, Clock("flash", 4.0)),
        ("next", "solvent", True, 1.0, Clock("flash", 6.0)),
        ("lamp", "solvent", False, 0.5, Clock("flash", 7.0, cap=2.0)),
        ("next", "water", False, 1.0, Clock("flash", 6.0, carrier="water")),
        ("next", "water", True, 0.5, Clock("flash", 6.0, cap=6.0, carrier="water", boost=3.0)),
    ],
)
def test_each_flash_runs_for_what_it_is_for(until, carrier, blower, share, clock):
    """Between coats, before the next, before the lamp; a blower helps water only."""
    found = compiled(
        stage("c", "coat"),
        stage("f", "flash", until=until),
        BAKE,
        kit=replace(LAMP, blower=blower),
        carrier=carrier,
        lamp__flash_first_min=7.0,
        flash__quickest_share=share,
    )
    assert found.stages[1].clock == clock


@pytest.mark.parametrize(("until", "need", "boost"), [("coat", 4.0, 2.0), ("next", 6.0, 1.5)])
def test_what_a_sheet_prints_for_a_blower_replaces_the_kits_own_figure(until, need, boost):
    """Each flash-off in its own proportion; without a blower nothing changes."""
    printed = {"flash__blower_between_min": 2, "flash__blower_before_next_min": 4}
    stages = COAT, stage("flash", "flash", until=until)
    for blower, factor in ((True, boost), (False, 1.0)):
        kit = replace(LAMP, blower=blower, blower_factor=9.0)
        clock = compiled(*stages, kit=kit, carrier="water", **printed).stages[-1].clock
        assert (clock.need_min, clock.boost, clock.cap) == (need, factor, factor)


@pytest.mark.parametrize(("blower", "factor", "boost"), [(True, 2.5, 2.5), (False, 2.5, 1.0)])
def test_a_blower_is_as_good_as_the_kit_says(blower, factor, boost):
    """The painter's own figure replaces the usual one, and only where there is a blower."""
    kit = replace(LAMP, blower=blower, blower_factor=factor)
    found = compiled(stage("c", "coat"), FLASH, BAKE, kit=kit, carrier="water")
    assert found.stages[1].clock.boost == found.stages[1].clock.cap == boost
    assert Kit().blower_factor == BLOWER_FACTOR


@pytest.mark.parametrize(
    ("panels", "area_m2", "lit_m2", "minutes"),
    [
        ((STEEL,), 0.5, 1.0, 10),  # 9.5 printed, whole minutes
        ((STEEL,), 0.6, 0.2, 30),
        ((STEEL,), 0.61, 0.2, 40),
        ((BUMPER,), 0.5, 1.0, 14),
        ((STEEL, BUMPER), 0.5, 0.25, 28),
    ],
)
def test_the_bake_is_that_of_the_material_once_a_place(panels, area_m2, lit_m2, minutes):
    """Plastic bakes longer, the slowest panel counts, and the lamp is moved where it must be."""
    found = compiled(
        *USUAL,
        booking=replace(DOOR, panels=panels, repair_area_m2=area_m2),
        kit=Kit(lamp_kw=1.0, lamp_area_m2=lit_m2),
        lamp__bake_min=9.5,
        lamp__plastic_bake_min=14,
        lamp__plastic_temp_c=55,
    )
    assert next(s for s in found.stages if s.kind == "lamp").minutes == minutes
    assert found.uses_lamp


@pytest.mark.parametrize(
    ("booking", "kit", "changes"),
    [
        (DOOR, Kit(), {}),
        (NO_POWER, LAMP, {}),
        (DOOR, Kit(lamp_kw=1.0), {}),  # lights no area
        (DOOR, LAMP, {"lamp": GONE}),
        (
            replace(DOOR, panels=(STEEL, BUMPER)),
            LAMP,
            {"lamp__metal_temp_c": 80, "lamp__most_temp_c": 90},
        ),
    ],
)
def test_where_no_lamp_can_run_the_paint_air_dries(booking, kit, changes):
    """No lamp, no power, none allowed, or one too hot for a panel: counted from the last coat."""
    found = compiled(*USUAL, booking=booking, kit=kit, **changes)
    assert ids(found) == ["clear-1", "clear-1-flash", "clear-2", *AIR_DRIED, "polish", "show"]
    assert not found.uses_lamp
    drying = found.stages[3:6]
    assert [s.clock.need_min for s in drying] == [10, 30, 60]
    assert {s.clock.since for s in drying} == {2}
    assert {s.clock.kind for s in drying} == {"cure"}
    assert [s.dust_free for s in drying] == [True, False, False]
    assert [s.safe_stop for s in drying] == [False, False, True]  # in place of the cooling


def test_a_safe_stop_of_the_lamp_is_one_of_the_air_drying():
    """Whether it is baked or air-dried, the job may be left behind it."""
    bake = stage("bake", "lamp", safe_stop=True)
    cool = stage("cool", "cool")
    for kit in (LAMP, Kit()):
        found = compiled(COAT, FLASH, bake, cool, kit=kit)
        dried = "bake" if kit is LAMP else AIR_DRIED[-1]
        assert [s.id for s in found.stages if s.safe_stop] == [dried]


def test_what_needs_hard_paint_waits_for_another_day():
    """Paint that takes hours to harden is left at rain-safe, and a note says what is left."""
    found = compiled(*USUAL, kit=Kit(), cure__workable_min=960)
    assert ids(found)[3:] == ["bake-dust-free", "bake-rain-safe", "show"]
    assert found.notes == ("polish: another day, the paint only air-dries here",)
    baked = compiled(*USUAL, cure__workable_min=960)
    assert "polish" in ids(baked)
    assert baked.notes == ()


def test_nothing_is_sprayed_over_soft_paint():
    """What is painted over later is waited for, however long that takes."""
    more = (stage("again", "coat"), stage("end", "lamp"))
    found = compiled(COAT, BAKE, POLISH, *more, kit=Kit(), cure__workable_min=960)
    assert ids(found)[3:8] == [*AIR_DRIED, "polish", "again"]
    assert ids(found)[8:] == ["end-dust-free", "end-rain-safe"]


def test_air_drying_counts_from_what_was_sprayed_last():
    """A blended edge is younger than the clear below it."""
    edge = stage("edge", "coat", sheet="edge")
    sheets = {"clear": CLEAR, "edge": sheet(id="edge", kind="blender", two_pack=False)}
    found = plan(DOOR, (COAT, edge, BAKE), sheets, Kit())
    assert found.stages[found.stages[4].clock.since].id == "edge"


def test_a_sheet_that_does_not_say_how_it_dries_cannot_be_air_dried():
    """This is refused when the files are read; here it is loud."""
    with pytest.raises(ValueError, match=r"the sheet of 'clear' has no \[cure\]"):
        compiled(COAT, BAKE, kit=Kit(), kind="base", cure=GONE)


def test_hand_work_runs_alongside_what_needs_no_hands():
    """Two pieces of work follow each other, and what they run beside lasts as long as both."""
    beside = [stage(name, "hand", minutes=8, alongside="bake") for name in ("sheet", "sweep")]
    found = compiled(COAT, FLASH, BAKE, *beside, COOL)
    bake, one, two, cool = found.stages[4:]
    assert (one.alongside, one.after) == (4, None)
    assert (two.alongside, two.after) == (4, 5)
    assert (bake.minutes, bake.least_min) == (9, 16)
    assert cool.after == 4


def test_hand_work_goes_on_where_what_it_ran_beside_is_left_out():
    """Without a lamp there is no flash before it, and the work takes its own time."""
    mix = stage("mix", "hand", minutes=4, alongside="flash")
    found = compiled(COAT, FLASH, mix, BAKE, kit=Kit())
    assert found.stages[3].id == "mix"
    assert found.stages[3].alongside is None
    beside = compiled(COAT, FLASH, BAKE, stage("x", "hand", alongside="bake"), kit=Kit())
    assert beside.stages[beside.stages[-1].alongside].id == "bake-dust-free"
    assert beside.stages[3].least_min == 10


VARIANTS = [(lamp, plastic) for lamp in (True, False) for plastic in (True, False)]
# Minutes in a row by hand from the files: every stage with the printed minutes of its sheets.
# bumper: 5+10+15+18+5, lamp 8, promoter 2+8, lamp 8, primer 2+5+2, its lamp 5+max(8,6)+2, 10+4,
# lamp 8, 5, base 2+4+2 4 2 12, clear 3+4+3, edge 1+1+1, 6, lamp 9 (plastic 14), 8+5+1+15+6;
# without a lamp the primer dries 100 min from its last coat with the 6 min beside it, the clear
# 90 min, then 4 min packing, no polish.
IN_A_ROW = {
    ("bumper-corner", True, False): 219,
    ("bumper-corner", True, True): 224,
    ("bumper-corner", False, False): 53 + 10 + 9 + 100 + 14 + 5 + 26 + 10 + 3 + 90 + 4 + 5 + 6,
    ("bumper-corner", False, True): 53 + 10 + 9 + 100 + 14 + 5 + 26 + 10 + 3 + 90 + 4 + 5 + 6,
}


@pytest.mark.parametrize("name", ["bumper-corner", "door-scuff"])
@pytest.mark.parametrize(("lamp", "plastic"), VARIANTS)
def test_shipped_processes_compile_with_and_without_a_lamp(name, lamp, plastic):
    """On steel and plastic; the stages hang together and the length is that done by hand."""
    process = catalogue().processes[name]
    found = example_plan(process, catalogue().sheets_of(process), lamp=lamp, plastic=plastic)
    assert found.uses_lamp is lamp
    assert len(set(ids(found))) == len(found.stages)
    assert [b.first for b in found.blocks[1:]] == [b.stop for b in found.blocks[:-1]]
    assert (len(found.notes) == 0) is lamp
    total = max(end for _, end in in_a_row(found))
    assert total == IN_A_ROW.get((name, lamp, plastic), total)


@pytest.mark.parametrize(("plastic", "bake"), [(False, 9), (True, 14)])
def test_the_wet_block_of_the_bumper_corner_is_as_long_as_by_hand(plastic, bake):
    """From the first base coat to the lamp 45 minutes at rate 1, and then the bake.

    By hand from the files: base 2 + 4 + 2, flash 4, blend 2, matt 12, clear 3 + 4 + 3,
    edge 1 + 1 + 1, flash 6.
    """
    process = catalogue().processes["bumper-corner"]
    found = example_plan(process, catalogue().sheets_of(process), plastic=plastic)
    times = dict(zip(ids(found), in_a_row(found), strict=True))
    first, last = found.commitment()
    assert (ids(found)[first], ids(found)[last]) == ("base-1", "clear-lamp")
    assert times["clear-lamp"][0] - times["base-1"][0] == 45
    assert times["clear-lamp"][1] - times["clear-lamp"][0] == bake


def test_minutes_in_a_row_follow_the_rate_up_to_the_cap():
    """Half the rate doubles a flash; a rate without end stops at what the sheet allows."""
    found = compiled(COAT, FLASH, BAKE, flash__quickest_share=0.5)
    flash = ids(found).index("flash")
    lasts = [
        end - begin
        for rate in (0.5, 1.0, 2.0, float("inf"))
        for begin, end in [in_a_row(found, rate)[flash]]
    ]
    assert lasts == [12, 6, 3, 3]

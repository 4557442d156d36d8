"""Which checks a compiled plan holds from where to where."""

from dataclasses import replace
from types import MappingProxyType

import pytest
from days import BUMPER, SITE, job
from paint import GONE, LAMP, held, plan, sheet, stage

from sprayadvisor.advice.model import Colour, Cover, Kit, Panel, Part
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.sheet import Sheet

DOOR = job(panels=(Panel(Part.LEFT_DOOR, Colour.WHITE),))
BASE = sheet(id="base", kind="base", cure=GONE, lamp=GONE, flash__latest_min=60)
PRIMER = sheet(id="primer", kind="primer")
SHEETS = {"clear": sheet(), "base": BASE, "primer": PRIMER}
COATS = (stage("base", "coat", sheet="base", coats=2), stage("clear", "coat", coats=2))
MATT = stage("matt", "flash", sheet="base", until="next")
FLASH, BAKE, COOL = stage("flash", "flash"), stage("bake", "lamp"), stage("cool", "cool")
PAINT = (COATS[0], MATT, COATS[1], FLASH, BAKE, COOL)
ALL_DAY = stage("look", "hand"), *PAINT, stage("show", "hand")


def compiled(*stages, booking=DOOR, kit: Kit = LAMP, policy: Policy | None = None, **sheets: Sheet):
    """Return the plan of some stages."""
    return plan(booking, stages, SHEETS | sheets, kit, policy)


def test_a_sheets_temperatures_hold_from_the_first_coat_to_the_end_of_its_flash():
    """Panel and humidity to the flash before the next or the lamp; wind while it is sprayed."""
    found = compiled(*ALL_DAY)
    for quantity in ("panel_temp_c", "rh_pct"):
        assert held(found, quantity) == {("base-1", "matt"), ("clear-1", "flash")}
    for quantity in ("wind_ms", "gust_sustained_ms"):
        assert held(found, quantity) == {("base-1", "base-2"), ("clear-1", "clear-2")}


@pytest.mark.parametrize("quantity", ["dew_margin_k", "wet_hour_mm"])
def test_dew_and_rain_stay_away_until_baked(quantity):
    """Base until the clear covers it, clear until the end of the lamp."""
    found = compiled(*ALL_DAY)
    assert held(found, quantity, "sheet") == {("base-1", "matt"), ("clear-1", "bake")}


def test_without_a_lamp_each_check_goes_to_its_own_end_of_the_air_drying():
    """Dew and temperatures to dust-free, rain to rain-safe; what follows only hardens."""
    found = compiled(*ALL_DAY, kit=Kit())
    clear = {
        quantity: next(last for first, last in held(found, quantity, "sheet") if first == "clear-1")
        for quantity in ("panel_temp_c", "rh_pct", "dew_margin_k", "wet_hour_mm", "wind_ms")
    }
    assert clear == {
        "panel_temp_c": "bake-dust-free",
        "rh_pct": "bake-dust-free",
        "dew_margin_k": "bake-dust-free",
        "wet_hour_mm": "bake-rain-safe",
        "wind_ms": "clear-2",
    }


@pytest.mark.parametrize("kit", [LAMP, Kit()])
def test_hand_work_over_open_paint_leaves_it_open(kit):
    """Rain on base spoils it while the clear is mixed, alongside or not."""
    mix = stage("mix", "hand")
    found = compiled(COATS[0], MATT, mix, COATS[1], FLASH, stage("wait", "hand"), BAKE, kit=kit)
    last = "bake" if kit is LAMP else "bake-rain-safe"
    assert held(found, "wet_hour_mm") == {("base-1", "mix"), ("clear-1", last)}
    dry = "bake" if kit is LAMP else "bake-dust-free"
    assert held(found, "dew_margin_k") == {("base-1", "mix"), ("clear-1", dry)}
    assert held(found, "dust_level") == {("base-1", "mix"), ("clear-1", dry)}


def test_paint_that_nothing_dries_is_open_while_it_flashes():
    """A process that leaves it there is refused when read; compiled, it is held that long."""
    beside = stage("tidy", "hand", alongside="matt")
    found = compiled(COATS[0], MATT, beside, stage("show", "hand"))
    assert held(found, "wet_hour_mm") == {("base-1", "tidy")}
    assert held(compiled(COATS[0]), "wet_hour_mm") == {("base-1", "base-2")}


@pytest.mark.parametrize(
    ("need", "kit", "expected"),
    [
        ("card_light", Kit(), [("diffuse_lx", None, 2000.0, "process"), ("low_sun",)]),
        (
            "card_light",
            Kit(work_light=True),
            [("diffuse_lx", 2000.0, 100.0, "process"), ("low_sun",)],
        ),
        ("paint_light", Kit(), [("light_lx", None, 500.0, "process"), ("low_sun",)]),
        (
            "paint_light",
            Kit(work_light=True),
            [("light_lx", 100.0, None, "practice"), ("low_sun",)],
        ),
        ("soft_light", Kit(), [("light_lx", None, 500.0, "process")]),
        ("soft_light", Kit(work_light=True), []),
        ("no_rain", Kit(), [("wet_hour_mm", None, None, "process")]),
        ("dry", Kit(), [("wet_hour_mm", None, None, "process"), ("dew_margin_k", None, 0.0)]),
    ],
)
def test_what_a_stage_needs_is_held_while_it_lasts(need, kit, expected):
    """By day no lamp is asked for; a work light stands in, and for a card only by daylight."""
    found = compiled(stage("x", "hand", needs=(need,)), kit=kit)
    spans = [s for s in found.spans if s.check.quantity != "off_hours"]
    assert all((s.first, s.last) == (0, 0) for s in spans)
    for span, (quantity, *bounds) in zip(spans, expected, strict=True):
        check = span.check
        assert check.quantity == quantity
        told = (check.inside_min, check.stop_min, check.origin.kind)
        assert list(told[: len(bounds)]) == bounds
        if quantity == "low_sun":
            assert (check.inside_max, check.stop_max) == (0.5, None)


def test_a_coats_light_is_held_over_its_flashes_and_not_beyond():
    """The second coat is sprayed in the same light."""
    coat = stage("clear", "coat", coats=2, needs=("paint_light",))
    found = compiled(coat, FLASH, BAKE, kit=replace(LAMP, work_light=False))
    assert held(found, "light_lx") == {("clear-1", "clear-2")}


def test_a_stages_own_temperatures_are_the_processs():
    """Air and panel, each with a stop and no inside."""
    own = stage("wash", "hand", least_air_c=2, panel_c={"least": 3, "most": 30})
    found = compiled(own)
    checks = {s.check.quantity: s.check for s in found.spans}
    assert checks["air_temp_c"].stop_min == 2
    assert (checks["panel_temp_c"].stop_min, checks["panel_temp_c"].stop_max) == (3, 30)
    assert str(checks["panel_temp_c"].origin) == "process “P”"


@pytest.mark.parametrize(
    ("up", "down", "expected"),
    [
        ("wash", "show", [("wash", "show")]),
        ("wash", None, [("wash", "end")]),
        (None, None, []),
        ("mask", "show", [("mask", "show")]),
    ],
)
def test_film_must_not_tear_from_when_it_is_up_to_when_it_is_down(up, down, expected):
    """To the end where nobody takes it off, also over a wait."""
    names = ("look", "wash", "mask", "show", "end")
    stages = [
        stage(
            name,
            "hand",
            film_up=name == up,
            film_down=name == down,
            may_wait_min=20 if name == "mask" else 0,
        )
        for name in names
    ]
    found = compiled(*stages, policy=Policy(masking_gust_ms=7.5))
    assert sorted(held(found, "gust_ms")) == expected
    assert {s.check.stop_max for s in found.spans if s.check.quantity == "gust_ms"} <= {7.5}


def test_a_lamp_stands_only_while_it_bakes_and_a_canopy_all_the_time():
    """Each has its own gust, from the user's policy."""
    policy = Policy(lamp_gust_ms=7.0, canopy_gust_ms=9.5)
    booking = replace(DOOR, site=replace(SITE, cover=Cover.CANOPY))
    found = compiled(*ALL_DAY, booking=booking, policy=policy)
    by_stop = {s.check.stop_max: s for s in found.spans if s.check.origin.kind == "policy"}
    assert (by_stop[7.0].first, by_stop[7.0].last) == (9, 9)
    assert found.stages[9].id == "bake"
    assert (by_stop[9.5].first, by_stop[9.5].last) == (0, len(found.stages) - 1)
    bare = compiled(*ALL_DAY, policy=policy, kit=Kit())
    assert not [s for s in bare.spans if s.check.stop_max in (7.0, 9.5)]


def test_a_printed_stop_on_gusts_needs_no_second_one():
    """Where the sheet stops at a gust, one that lasts is not held apart."""
    strict = sheet(limits__gust_ms={"inside_max": 5, "stop_max": 6, "page": 1})
    assert held(compiled(COATS[1], FLASH, BAKE, clear=strict), "gust_sustained_ms") == set()
    assert held(compiled(COATS[1], FLASH, BAKE), "gust_sustained_ms") == {("clear-1", "clear-2")}
    still = sheet(limits__gust_ms=GONE)
    assert held(compiled(COATS[1], FLASH, BAKE, clear=still), "gust_sustained_ms") == set()


@pytest.mark.parametrize(
    ("policy", "quantity", "bounds"),
    [
        (Policy(dew_margin_k=5.0), "dew_margin_k", (5.0, None)),
        (Policy(wind_ms=2.5), "wind_ms", (None, 2.5)),
    ],
)
def test_a_policy_tightens_the_inside_and_never_moves_a_stop(policy, quantity, bounds):
    """It is held beside the sheet's own limit, named as the user's."""
    found = compiled(COATS[1], FLASH, BAKE, policy=policy)
    own, theirs = (
        next(
            s.check
            for s in found.spans
            if (s.check.quantity, s.check.origin.kind) == (quantity, kind)
        )
        for kind in ("policy", "sheet")
    )
    assert (own.inside_min, own.inside_max) == bounds
    assert (own.stop_min, own.stop_max) == (None, None)
    before = compiled(COATS[1], FLASH, BAKE)
    assert theirs in [s.check for s in before.spans]
    assert held(before, quantity, "policy") == set()


@pytest.mark.parametrize(
    ("panel", "carrier", "expected"),
    [(BUMPER, "solvent", 1), (DOOR.panels[0], "water", 1), (DOOR.panels[0], "solvent", 0)],
)
def test_dry_air_is_care_for_plastic_and_for_water(panel, carrier, expected):
    """Below 35 % they draw dust: common practice, and no stop."""
    booking = replace(DOOR, panels=(panel,))
    found = compiled(COATS[1], FLASH, BAKE, booking=booking, clear=sheet(carrier=carrier))
    dry = [s.check for s in found.spans if s.check.inside_min == 35.0]
    assert len(dry) == expected
    assert all(check.stop_min is None for check in dry)


def test_what_stands_downwind_counts_while_it_is_sprayed():
    """Only where the site says that there is something."""
    near = replace(DOOR, site=replace(SITE, downwind=MappingProxyType({"n": "a pond"})))
    assert held(compiled(*ALL_DAY), "downwind") == set()
    found = held(compiled(*ALL_DAY, booking=near), "downwind")
    assert found == {("base-1", "base-2"), ("clear-1", "clear-2")}


@pytest.mark.parametrize("kind", ["primer", "filler"])
def test_what_is_sanded_minds_no_specks(kind):
    """Drips only; and flies at the lamp only over what is not sanded."""
    found = compiled(COATS[1], FLASH, BAKE, clear=sheet(kind=kind))
    assert held(found, "drip_level") == {("clear-1", "bake")}
    assert held(found, "insect_level") == held(found, "insect_lamp_level") == set()
    clear = compiled(COATS[1], FLASH, BAKE)
    assert held(clear, "insect_lamp_level") == {("bake", "bake")}
    assert held(compiled(COATS[1], FLASH, BAKE, kit=Kit()), "insect_lamp_level") == set()


def test_agreed_hours_hold_all_the_way():
    """From the first stage to the last."""
    assert held(compiled(*ALL_DAY), "off_hours", "booking") == {("look", "show")}


EDGE = {"within_min": 3, "hot_within_min": 2, "hot_from_c": 28, "page": 1}


def blended(*between, hot=True):
    """Return the plan of a clear with a blended edge, with something done between the two."""
    edge = EDGE if hot else {"within_min": 3, "page": 1}
    paper = sheet(id="edge", kind="blender", cure=GONE, lamp=GONE, edge=edge)
    spray = stage("edge", "coat", sheet="edge", coats=2)
    return compiled(stage("clear", "coat"), *between, spray, FLASH, BAKE, COOL, edge=paper)


def test_clear_below_a_blended_edge_stays_open_and_flashes_off_with_it():
    """Temperatures of both hold to the end of the flash, dew and rain to the end of the lamp."""
    found = blended()
    for quantity in ("panel_temp_c", "rh_pct"):
        assert held(found, quantity, "sheet") == {("clear", "flash"), ("edge-1", "flash")}
    for quantity in ("dew_margin_k", "wet_hour_mm"):
        assert held(found, quantity, "sheet") == {("clear", "bake"), ("edge-1", "bake")}
    assert held(found, "wind_ms") == {("clear", "clear"), ("edge-1", "edge-2")}


@pytest.mark.parametrize(
    ("between", "hot", "asked"),
    [
        ((), True, False),
        ((stage("swap", "hand", minutes=2),), True, False),
        ((stage("swap", "hand", minutes=3),), True, True),
        ((stage("swap", "hand", minutes=3),), False, False),
        ((stage("f", "flash", until="coat"),), True, True),
    ],
)
def test_an_edge_that_comes_late_for_hot_metal_asks_for_cooler_metal(between, hot, asked):
    """Minutes that are always the same are known beforehand; a flash-off may take any."""
    spans = [s for s in blended(*between, hot=hot).spans if s.check.stop_max == 28]
    assert [(s.check.quantity, s.first, s.last) for s in spans] == (
        [("panel_temp_c", len(between) + 1, len(between) + 1)] if asked else []
    )

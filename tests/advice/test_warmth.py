"""What is left of a warmed panel while it is painted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from days import EVENING, climate_for, job, outlook, plan_for
from hypothesis import given
from hypothesis import strategies as st
from paint import GONE, LAMP, held, named, plan, sheet, stage

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.model import Colour, Kit, Panel, Part
from sprayadvisor.advice.plan import Pace, Plan, Warmth
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.readings import lamp_lit
from sprayadvisor.advice.warmth import lamp_quantities
from sprayadvisor.science.lamp import lamp_temp_c, lift_left_k

DOOR = job(panels=(Panel(Part.LEFT_DOOR, Colour.WHITE),))
WARM = stage("warm", "lamp", sheet=None, warm_to_c=24, warm_below_c=15, soak_min=9)
CLEAR = stage("clear", "coat", coats=2)
FLASH, BAKE = stage("flash", "flash"), stage("bake", "lamp")
SHEETS = {
    "clear": sheet(),
    "base": sheet(id="base", kind="base", cure=GONE, lamp=GONE, flash__latest_min=60),
}


def compiled(*stages, kit=LAMP, policy: Policy | None = None, **sheets) -> Plan:
    """Return the plan of some stages."""
    return plan(DOOR, stages, SHEETS | sheets, kit, policy)


def met_warm(found: Plan) -> list[tuple[str, float]]:
    """Return each coat on warmed metal and when it has flashed off, minutes after the lamp."""
    return [(warmth.coat, warmth.minutes) for warmth in found.warmths]


def parts(found: Plan, quantity: str) -> list[tuple[str | None, str | None, str]]:
    """Return from where to where a quantity is held, and where it is read from."""
    return [
        (named(found, s.first), named(found, s.last), s.check.read_from)
        for s in found.spans
        if s.check.quantity == quantity and s.check.origin.kind == "sheet"
    ]


def test_each_coat_counts_on_what_is_left_when_it_has_flashed_off():
    """Coat 2, flash 4, coat 2, flash 6; each flash may take half as long again."""
    found = compiled(WARM, CLEAR, FLASH, BAKE)
    assert met_warm(found) == [("clear-1", 8.0), ("clear-2", 19.0)]
    assert {(warmth.stage, warmth.heat_j_m2k) for warmth in found.warmths} == {("warm", 9000.0)}
    tacked = compiled(WARM, stage("tack", "hand", minutes=1), CLEAR, FLASH, BAKE)
    assert met_warm(tacked) == [("clear-1", 9.0), ("clear-2", 20.0)]


def test_a_processes_own_bounds_are_held_on_the_warmed_panel_too():
    """Each coat on what the lamp has left it, the upper bound as the lamp goes off."""
    own = stage("clear", "coat", coats=2, panel_c={"least": 12, "most": 33}, needs=("dry",))
    found = compiled(WARM, own, FLASH, BAKE)
    first, second = found.warmths
    held_at = {
        (s.check.read_from, s.check.stop_min, s.check.stop_max)
        for s in found.spans
        if s.check.origin.kind == "process" and s.check.quantity in ("panel_temp_c", "dew_margin_k")
    }
    assert held_at == {
        (first.panel, 12.0, None),
        (second.panel, 12.0, None),
        (first.hottest, None, 33.0),
        (first.dew_margin, 0.0, None),
        (second.dew_margin, 0.0, None),
    }


def test_what_flashes_off_too_late_meets_the_panel_as_it_is():
    """Twenty minutes after the lamp the plain panel holds again, in spans and clocks of its own."""
    found = compiled(WARM, stage("tack", "hand", minutes=2), CLEAR, FLASH, BAKE)
    first, second = found.warmths
    assert (first.minutes, second.minutes) == (10.0, 12.0)
    assert parts(found, "panel_temp_c") == [
        ("clear-1", "clear-1-flash", first.panel),
        ("clear-2", "clear-2", second.panel),
        ("clear-1", "clear-2", first.hottest),
        ("flash", "flash", "panel_temp_c"),
    ]
    assert parts(found, "dew_margin_k") == [
        ("clear-1", "clear-1-flash", first.dew_margin),
        ("clear-2", "clear-2", second.dew_margin),
        ("flash", "bake", "dew_margin_k"),
    ]
    clocks = [s.clock.panel for s in found.stages if s.clock]
    assert clocks == [first.panel, "panel_temp_c"]


def test_lower_bounds_are_held_at_the_end_and_upper_ones_as_the_lamp_goes_off():
    """Each side of the sheet's limit where it is nearest; air is what it is."""
    found = compiled(WARM, CLEAR, FLASH, BAKE)
    first, second = found.warmths
    assert first.hottest == second.hottest
    checks = {s.check.read_from: s.check for s in found.spans}
    for warmth in found.warmths:
        assert checks[warmth.panel].bounds(Level.INSIDE) == (10.0, None)
        assert checks[warmth.panel].bounds(Level.STOP) == (5.0, None)
        assert checks[warmth.dew_margin].bounds(Level.STOP) == (2.0, None)
    assert checks[first.hottest].bounds(Level.INSIDE) == (None, 25.0)
    assert checks[first.hottest].bounds(Level.STOP) == (None, 30.0)
    assert held(found, "rh_pct") == {("clear-1", "flash")}
    cold_only = sheet(limits__panel_temp_c={"inside_min": 10, "page": 1})
    bare = compiled(WARM, CLEAR, FLASH, BAKE, clear=cold_only)
    assert first.hottest not in {s.check.read_from for s in bare.spans}


def test_the_policys_own_dew_margin_is_held_on_warm_metal_too():
    """In the same parts as the sheet's."""
    found = compiled(WARM, CLEAR, FLASH, BAKE, policy=Policy(dew_margin_k=5.0))
    own = [s.check.read_from for s in found.spans if s.check.inside_min == 5.0]
    assert own == [*(warmth.dew_margin for warmth in found.warmths), "dew_margin_k"]


def test_hand_work_alongside_a_flash_counts_where_it_makes_it_last():
    """Mixing during the flash is over with it; two minutes more make it too long."""
    mix = stage("mix", "hand", minutes=9, alongside="flash")
    assert met_warm(compiled(WARM, CLEAR, FLASH, mix, BAKE))[-1] == ("clear-2", 19.0)
    longer = stage("mix", "hand", minutes=11, alongside="flash")
    found = compiled(WARM, CLEAR, FLASH, longer, BAKE)
    assert met_warm(found)[-1] == ("clear-2", 10.0)
    assert ("flash", "mix", "panel_temp_c") in parts(found, "panel_temp_c")


def test_work_alongside_the_last_warm_flash_is_no_stage_of_its_own():
    """A span that ends with it leaves no rest."""
    matt = stage("matt", "flash", sheet="base", until="next")
    mix = stage("mix", "hand", minutes=4, alongside="matt")
    slow = sheet(
        id="base",
        kind="base",
        cure=GONE,
        lamp=GONE,
        flash__before_next_min=12,
        flash__latest_min=60,
    )
    base = stage("base", "coat", sheet="base")
    found = compiled(WARM, base, matt, mix, CLEAR, FLASH, BAKE, base=slow)
    (warmth,) = found.warmths
    assert ("base", "matt", warmth.dew_margin) in parts(found, "dew_margin_k")
    plain = [s for s in found.spans if s.check.read_from in ("panel_temp_c", "dew_margin_k")]
    assert "base" not in {found.stages[s.first].role for s in plain}


def test_coats_of_another_product_count_on_it_too():
    """Base and clear in one go, as far as the minutes reach."""
    matt = stage("matt", "flash", sheet="base", until="next")
    found = compiled(
        *(WARM, stage("base", "coat", sheet="base"), matt, stage("clear", "coat"), FLASH, BAKE),
        base=sheet(id="base", kind="base", cure=GONE, lamp=GONE, flash__before_next_min=3),
        clear=sheet(flash__between_min=2, flash__before_next_min=3, lamp__flash_first_min=2),
    )
    assert met_warm(found) == [("base", 6.5), ("clear", 11.5)]


def test_hand_work_between_two_coats_ends_the_warmth():
    """Wet paint over which somebody works is judged on the panel as it is."""
    matt = stage("matt", "flash", sheet="base", until="next")
    tidy = stage("tidy", "hand", minutes=1)
    base = stage("base", "coat", sheet="base")
    assert met_warm(compiled(WARM, base, matt, tidy, CLEAR, FLASH, BAKE)) == [("base", 11.0)]


def test_paint_that_air_dries_is_not_counted_on_to_dry_warm():
    """The panel is cold again long before."""
    found = compiled(WARM, stage("clear", "coat"), stage("bake", "lamp"), clear=sheet(lamp=GONE))
    assert met_warm(found) == [("clear", 2.0)]
    cures = [s.clock.panel for s in found.stages if s.clock and s.clock.kind == "cure"]
    assert set(cures) == {"panel_temp_c"}


def test_many_places_leave_the_first_one_cold():
    """Once the last is warm the first has cooled, and with more of them for too long."""
    assert compiled(WARM, CLEAR, FLASH, BAKE, kit=Kit(1.0, 0.1)).warmths == ()
    two = compiled(WARM, CLEAR, FLASH, BAKE, kit=Kit(1.0, 0.15))
    assert met_warm(two) == [("clear-1", 14.0 + 2.0)]


# -- the numbers ---------------------------------------------------------------------------------

PACE = Pace("warm", 28.0, 9000.0, 1500.0, hold_min=9.0, below_c=15.0)
WARMTH = Warmth("warm", "base", PACE, 9000.0, 14.0, 28.0)  # two quarter hours back
PLAN = Plan("p", (), (), (), warmths=(WARMTH,))


def met(panel, air=8.0, wind=1.0, dew=2.0) -> dict[str, np.ndarray]:
    """Return one row of weather at a panel, a number or a list by quarter hour."""
    panel = np.atleast_2d(np.asarray(panel, dtype=float))
    return {
        "panel_temp_c": panel,
        "dew_margin_k": panel - dew,
        "air_temp_c": np.full(panel.shape, air),
        "wind_ms": np.full(panel.shape, wind),
    }


def test_what_is_left_is_the_science_after_the_minutes():
    """Of the lift above what the panel would be without; the dew margin gains as much."""
    found = lamp_quantities(PLAN, met([10.0] * 5))
    left = lift_left_k(18.0, 14.0, 8.0, 1.0, 9000.0)
    assert 1.0 < left < 9.0
    assert found[WARMTH.panel][0, 2:].tolist() == pytest.approx([10.0 + left] * 3)
    assert found[WARMTH.dew_margin][0, 2:].tolist() == pytest.approx([8.0 + left] * 3)
    assert found[WARMTH.hottest].tolist() == [[28.0] * 5]


def test_nothing_is_counted_on_where_the_panel_was_warm_by_itself_when_it_began():
    """Before the grid nobody knows; a panel that was mild half an hour ago was left as it was."""
    cooling = lamp_quantities(PLAN, met([16.0, 14.0, 14.0, 14.0, 14.0]))
    assert (cooling[WARMTH.panel] > 14.5).tolist() == [[True, False, False, True, True]]
    assert cooling[WARMTH.panel][0, :3].tolist() == [16.0, 14.0, 14.0]


def test_a_panel_that_may_have_been_warmed_counts_as_hot():
    """It was cold half an hour ago; a panel in the sun stays as hot as it is."""
    warming = lamp_quantities(PLAN, met([14.0, 20.0, 31.0, 31.0, 20.0]))
    assert warming[WARMTH.hottest].tolist() == [[28.0, 28.0, 31.0, 31.0, 20.0]]
    assert warming[WARMTH.panel].tolist() == [[14.0, 20.0, 31.0, 31.0, 20.0]]


def test_a_panel_not_known_is_not_known_warmed():
    """NaN counts as perhaps cold for the hot bound and as perhaps warm for the cold one."""
    found = lamp_quantities(PLAN, met([10.0, 10.0, 10.0, np.nan, 10.0, 10.0, 10.0]))
    assert np.isnan(found[WARMTH.panel][0, 3])
    assert found[WARMTH.panel][0, 4:].tolist()[:2] == [10.0, 10.0]
    assert found[WARMTH.panel][0, 6] > 11.0
    windless = met([10.0] * 5)
    windless["wind_ms"][0, 4] = np.nan
    assert np.isnan(lamp_quantities(PLAN, windless)[WARMTH.panel][0, 4])


@given(
    panel=st.floats(-5.0, 27.0),
    wind=st.floats(0.0, 8.0),
    after=st.floats(0.0, 14.0),
)
def test_until_the_minutes_are_over_the_panel_is_no_colder_than_said(panel, wind, after):
    """Whenever within them the lamp went off, by the same physics; and no hotter than said."""
    found = lamp_quantities(replace(PLAN), met([panel] * 4, air=panel, wind=wind))
    was_warmed = panel < PACE.below_c
    lift = max(28.0 - panel, 0.0) if was_warmed else 0.0
    true = panel + lift_left_k(lift, after, panel, wind, 9000.0)
    assert found[WARMTH.panel][0, -1] <= true + 1e-9
    assert true <= found[WARMTH.hottest][0, -1] + 1e-9


def test_what_the_lamp_holds_is_there_where_a_lamp_is_used():
    """By its power; a plan without a lamp needs no such thing."""
    found = lamp_quantities(compiled(CLEAR, FLASH, BAKE), met([10.0] * 3))
    assert found.keys() == {"lamp_temp_c"}
    assert found["lamp_temp_c"][0, 0] == pytest.approx(lamp_temp_c(500.0, 8.0, 1.0))
    assert lamp_quantities(compiled(CLEAR, FLASH, BAKE, kit=Kit()), met([10.0])) == {}


@pytest.mark.parametrize(("air_temp_c", "lit"), [(6.0, True), (22.0, False)])
def test_metal_that_was_warm_enough_has_seen_no_lamp(air_temp_c, lit):
    """Where warming took no time nothing is said of the lamp, whatever array the check reads."""
    booking = job()
    weather = outlook(air_temp_c=air_temp_c, rh_pct=45.0, rain_probability_pct=0.0)
    whole, met = plan_for(booking), climate_for(booking, weather)
    found = judge(booking, whole, met, Policy(), Policy().thresholds[Moment.EVENING], EVENING)
    checks = {span.check for span in whole.spans if span.check.array}
    assert checks
    walk, row = found.play.walk, found.play.row
    assert {lamp_lit(whole, check, walk, row) for check in checks} == {lit}
    plain = next(span.check for span in whole.spans if not span.check.array)
    assert not lamp_lit(whole, plain, walk, row)

"""The shipped bumper corner: one bad or missing quarter hour at a time, each found and named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, time
from functools import cache

import numpy as np
import pytest
from compiled_cases import BENIGN, DRIVING

from sprayadvisor.adapters.sheet_files import load_catalogue
from sprayadvisor.advice.chain import Chain, Walk
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.model import Colour, Job, Kit, Material, Panel, Part, Site
from sprayadvisor.advice.plan import Plan, Span
from sprayadvisor.advice.play import FAIL, FIT, FORECAST, UNKNOWN, Status
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.rates import clock_rate
from sprayadvisor.advice.tables import Tables
from sprayadvisor.shipped import shipped

STEPS, START = 48, 6
KITS = {"lamp": Kit(lamp_kw=1.1, lamp_area_m2=0.4, compressor_kw=1.1), "no lamp": Kit()}
Change = tuple[str, int, float]  # quantity, quarter hour, value


@cache
def plan_for(kit: str) -> Plan:
    """Return the shipped process compiled for a kit, without any wait: nothing may be dodged."""
    catalogue = load_catalogue([shipped("config/sheets")], [shipped("config/processes")])
    assert catalogue.faults == ()
    process = catalogue.processes["bumper-corner"]
    site = Site("yard", 53.0, -9.0, "Europe/Dublin")
    panel = Panel(Part.FRONT_BUMPER, Colour.BLACK, Material.PLASTIC)
    job = Job("J", site, (panel,), process.id, date(2026, 4, 18), time(8), time(10))
    plan = compile_plan(process, catalogue.sheets_of(process), job, KITS[kit], Policy())
    return replace(plan, blocks=tuple(replace(block, may_wait_min=0) for block in plan.blocks))


def weather(plan: Plan) -> dict[str, np.ndarray]:
    """Return one row of the same benign weather all along, on a panel that needs no warming."""
    values = dict(BENIGN)
    for warmth in plan.warmths:
        values |= dict.fromkeys((warmth.panel, warmth.hottest), BENIGN["panel_temp_c"])
        values[warmth.dew_margin] = BENIGN["dew_margin_k"]
    return {name: np.full((1, STEPS), value) for name, value in values.items()}


def driven_by(plan: Plan, array: str, step: int, walk: Walk) -> Iterator[int]:
    """Yield the stages whose clock counts through a quarter hour of an array, or begins there."""
    for index, stage in enumerate(plan.stages):
        if stage.clock and array in (stage.clock.panel, *DRIVING[1:]):
            if step in touched(walk, index):
                yield index
        elif stage.pace and array in DRIVING and array != "rh_pct":
            warm = stage.kind == "warm" and array != "panel_temp_c"
            if step == int(walk.begins[index, 0]) // 15 and not warm:
                yield index


def play(plan: Plan, quantities: dict[str, np.ndarray], level: Level) -> tuple[Status, Walk]:
    """Return status and walk of the start in every row, which must agree."""
    chain = Chain(Tables.of(plan, quantities, clock_rate))
    status = chain.status([START])[level, :, 0]
    walk = chain.walk(START, level)
    np.testing.assert_array_equal(walk.status, status)
    return status, walk


def play_each(plan: Plan, changes: Sequence[Change], level: Level) -> tuple[Status, Walk]:
    """Play benign weather with one change in each row."""
    rows = {name: np.repeat(values, len(changes), axis=0) for name, values in weather(plan).items()}
    for row, (quantity, step, value) in enumerate(changes):
        rows[quantity][row, step] = value
    return play(plan, rows, level)


@cache
def benign(kit: str) -> Walk:
    """Return the walk in benign weather, in which everything fits at both levels."""
    for level in Level:
        status, walk = play(plan_for(kit), weather(plan_for(kit)), level)
        assert status.tolist() == [FIT]
    return walk


def touched(walk: Walk, stage: int) -> range:
    """Return the quarter hours a stage touches; what is over as it begins touches none."""
    begin, end = int(walk.begins[stage, 0]), int(walk.ends[stage, 0])
    return range(begin // 15, -(-end // 15) if end > begin else begin // 15)


def steps_of(walk: Walk, span: Span) -> range:
    """Return the quarter hours a span touches: from its first stage to its last end."""
    stages = [touched(walk, stage) for stage in range(span.first, span.last + 1)]
    return range(stages[0].start, max(steps.stop for steps in stages))


def cools_longer(plan: Plan, walk: Walk, array: str, step: int) -> bool:
    """Return whether a warmer panel in a quarter hour puts off what comes after by itself."""
    cools = [index for index, stage in enumerate(plan.stages) if stage.kind == "cool"]
    begins = [int(walk.begins[index, 0]) // 15 for index in cools]
    return array == "panel_temp_c" and step in begins


def outside(check: Check, level: Level) -> Iterator[float]:
    """Yield a value just outside each bound of a check at a level."""
    low, high = check.bounds(level)
    if low is not None:
        yield low - 0.01
    if high is not None:
        yield high + 0.01


def broken_in(
    plan: Plan, walk: Walk, change: Change, level: Level
) -> tuple[int, set[Check]] | None:
    """Return the first stage in which one changed value breaks checks, and which checks."""
    quantity, step, value = change
    for stage in range(len(plan.stages)):
        broken = set()
        for span in plan.spans:
            low, high = span.check.bounds(level)
            inside = (low is None or value >= low) and (high is None or value <= high)
            asked = (low, high) != (None, None) and span.check.read_from == quantity
            held = span.first <= stage <= span.last and step in touched(walk, stage)
            if asked and held and not inside:
                broken.add(span.check)
        if broken:
            return stage, broken
    return None


def assert_found(kit: str, changes: Sequence[Change], level: Level) -> None:
    """Each change is found in the stage and by a check that the spans say."""
    plan, before = plan_for(kit), benign(kit)
    status, walk = play_each(plan, changes, level)
    for row, change in enumerate(changes):
        expected = broken_in(plan, before, change, level)
        assert expected is not None
        stage, checks = expected
        missing = np.isnan(change[2])
        assert status[row] == (UNKNOWN if missing else FAIL)
        if missing:
            # What counts on the missing value is unknown no later than the check is.
            stage = min([stage, *driven_by(plan, change[0], change[1], before)])
            checks = checks | {FORECAST}
        assert (walk.stage[row], change) == (stage, change)
        assert walk.check[row] in checks


@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("kit", sorted(KITS))
def test_every_bad_quarter_hour_of_every_span_is_found_and_named(kit: str, level: Level) -> None:
    """One value just outside one bound, in each quarter hour of each span in turn."""
    changes = {
        (span.check.read_from, step, value)
        for span in plan_for(kit).spans
        for step in steps_of(benign(kit), span)
        for value in outside(span.check, level)
        if not cools_longer(plan_for(kit), benign(kit), span.check.read_from, step)
    }
    assert len(changes) > 80
    assert_found(kit, sorted(changes), level)


@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("kit", sorted(KITS))
def test_every_missing_quarter_hour_of_every_span_is_found_and_named(
    kit: str, level: Level
) -> None:
    """One value missing, in each quarter hour of each span in turn."""
    places = {
        (span.check.read_from, step)
        for span in plan_for(kit).spans
        for step in steps_of(benign(kit), span)
        if span.check.bounds(level) != (None, None)
    }
    assert len(places) > 60
    assert_found(kit, [(*place, np.nan) for place in sorted(places)], level)


@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("kit", sorted(KITS))
def test_quarter_hours_beside_a_span_change_nothing(kit: str, level: Level) -> None:
    """Just before and just after a span, where no other holds the quantity, all may be bad."""
    plan, before = plan_for(kit), benign(kit)
    changes = {
        (span.check.read_from, step, value)
        for span in plan.spans
        for steps in [steps_of(before, span)]
        for step in (steps.start - 1, steps.stop)
        for value in (*outside(span.check, level), np.nan)
        if not list(driven_by(plan, span.check.read_from, step, before))
    }
    free = [change for change in sorted(changes) if not broken_in(plan, before, change, level)]
    assert len(free) > 20
    status, walk = play_each(plan, free, level)
    assert (status == FIT).all()
    assert (walk.ends == before.ends).all()


def test_weather_missing_from_some_time_on_is_unknown_and_not_out_of_hours() -> None:
    """A clock that runs into missing weather is unknown; the night after it decides nothing."""
    plan, walk = plan_for("lamp"), benign("lamp")
    quantities = weather(plan)
    first = next(i for i, stage in enumerate(plan.stages) if stage.clock)
    missing = int(walk.begins[first, 0]) // 15
    quantities["wind_ms"][0, missing:] = np.nan
    quantities["off_hours"][0, 40:] = 1.0
    for level in Level:
        assert play(plan, quantities, level)[0].tolist() == [UNKNOWN]

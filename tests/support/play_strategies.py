"""Drawn plans and drawn weather for the play, all invented."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from hypothesis import strategies as st

from sprayadvisor.advice.checks import Check
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Block, Clock, Deadline, Pace, Plan, PlanStage, Span
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.tables import PaceFunction, RateFunction
from sprayadvisor.science import lamp
from sprayadvisor.science.drying import cure_rate, flash_rate

HERE = Origin("practice")
NAN = float("nan")
SHARED = "low_sun"  # the quantity that is the same for all rows
HELD = ("panel_temp_c", "rh_pct", "gust_ms", SHARED)
RATES = ("flash_rate", "cure_rate")
PACES = ("warm", "bake")
GOOD = 5.0


def examples(count: int) -> int:
    """Return how many examples to draw; PLAY_EXAMPLES multiplies the usual number."""
    return count * int(os.environ.get("PLAY_EXAMPLES", "1"))


@dataclass(frozen=True)
class Case:
    """A plan, its weather as (row, step) or (1, step) arrays, and starts as steps of the grid."""

    plan: Plan
    weather: dict[str, Floats]
    starts: tuple[int, ...]
    rate: RateFunction
    pace: PaceFunction

    @property
    def rows(self) -> int:
        """Rows of the weather."""
        return max(values.shape[0] for values in self.weather.values())

    def row(self, row: int) -> dict[str, list[float]]:
        """Return one row as lists."""
        return {
            name: values[row if values.shape[0] > 1 else 0].tolist()
            for name, values in self.weather.items()
        }


# -- rates ---------------------------------------------------------------------------------------


def drawn_rate(clock: Clock, quantities: Mapping[str, Floats]) -> Floats:
    """Return a clock's rate from a drawn array instead of from physics."""
    return np.minimum(quantities[f"{clock.kind}_rate"] * clock.boost, clock.cap)


def slow_drawn_rate(clock: Clock, now: Mapping[str, float]) -> float:
    """Return the same for one quarter hour."""
    rate = now[f"{clock.kind}_rate"] * clock.boost
    return min(rate, clock.cap)  # in this order it keeps NaN


def slow_physical_rate(clock: Clock, now: Mapping[str, float]) -> float:
    """Return a clock's rate in one quarter hour, by the scalar functions of the science."""
    names = (clock.panel, "air_temp_c", "rh_pct", "wind_ms")
    rate = _physical(clock, *(now[name] for name in names))
    return min(rate, clock.cap)  # in this order it keeps NaN


@lru_cache(maxsize=4096)
def _physical(clock: Clock, panel: float, air: float, rh_pct: float, wind_ms: float) -> float:
    if clock.kind == "cure":
        return cure_rate(panel, clock.reference_temp_c, clock.activation_kj_mol, clock.stall_temp_c)
    reference = (clock.reference_temp_c, clock.reference_rh_pct)
    return clock.boost * flash_rate(clock.carrier, panel, air, rh_pct, wind_ms, *reference)


def slow_physical_pace(pace: Pace, now: Mapping[str, float]) -> float:
    """Return how long work with the lamp takes, by the scalar functions of the science."""
    return _lamp_minutes(pace, now["panel_temp_c"], now["air_temp_c"], now["wind_ms"])


@lru_cache(maxsize=4096)
def _lamp_minutes(pace: Pace, panel: float, air: float, wind_ms: float) -> float:
    if math.isnan(panel) or (pace.kind == "warm" and panel >= pace.below_c):
        return 0.0 if panel >= pace.below_c else NAN
    if pace.kind == "cool":
        around = air if math.isnan(air) else max(air, panel)
        goal = max(around + 2.0, pace.goal_temp_c)
        minutes = lamp.cool_down_min(around, wind_ms, pace.from_temp_c, goal, pace.heat_j_m2k)
        return _rounded_up(minutes * pace.share)
    minutes = pace.hold_min + lamp.warm_up_min(
        pace.absorbed_wm2, air, wind_ms, panel, pace.goal_temp_c, pace.heat_j_m2k
    )
    minutes += 2.0 if pace.kind == "bake" else 0.0  # four minutes at half power
    return pace.places * _rounded_up(minutes)


def _rounded_up(minutes: float) -> float:
    return float(math.ceil(round(minutes, 6))) if math.isfinite(minutes) else minutes


def drawn_pace(pace: Pace, quantities: Mapping[str, Floats]) -> Floats:
    """Return how long work with the lamp takes from a drawn array instead of from physics."""
    return quantities[pace.kind] * pace.places


def slow_drawn_pace(pace: Pace, now: Mapping[str, float]) -> float:
    """Return the same for one quarter hour."""
    return now[pace.kind] * pace.places


# -- weather -------------------------------------------------------------------------------------

HELD_VALUES = st.sampled_from([GOOD, 1.0, 2.0, 2.9, 3.0, 4.0, 6.0, 7.0, 7.1, 9.0, NAN, NAN])
RATE_VALUES = st.sampled_from([0.0, 0.05, 0.2, 0.37, 0.5, 0.77, 0.9, 1.0, 1.3, 2.0, NAN, NAN])
PACE_VALUES = st.sampled_from([0.0, 0.0, 3.0, 12.0, 15.0, 31.0, 50.0, float("inf"), NAN])


@st.composite
def patched(
    draw: st.DrawFn,
    base: Mapping[str, float],
    values: Mapping[str, st.SearchStrategy[float]],
    rows: int,
    steps: int,
    most: int = 7,
    names: Sequence[str] = (),
) -> dict[str, Floats]:
    """Draw weather that is ``base`` all along but for a few patches.

    The patches fall on ``names``, the oftener the oftener they stand there; otherwise on any.
    """
    weather = {
        name: np.full((1 if name in (SHARED, "off_hours") else rows, steps), value)
        for name, value in base.items()
    }
    for _ in range(draw(st.integers(0, most))):
        name = draw(st.sampled_from(names or sorted(weather)))
        row = draw(st.integers(0, weather[name].shape[0] - 1))
        first = draw(st.integers(0, steps - 1))
        length = draw(st.sampled_from([1, 1, 1, 2, 3, 5, 8, steps]))
        weather[name][row, first : first + length] = draw(values[name])
    return weather


# -- plans drawn as such -------------------------------------------------------------------------


@st.composite
def bounds(draw: st.DrawFn) -> tuple[float | None, ...]:
    """Draw inside and stop bounds, some missing, in any order."""
    low = st.one_of(st.none(), st.sampled_from([2.0, 3.0, 4.0]))
    high = st.one_of(st.none(), st.sampled_from([6.0, 7.0, 8.0]))
    return draw(low), draw(high), draw(low), draw(high)


@st.composite
def checks(draw: st.DrawFn) -> Check:
    """Draw a check on one of the held quantities."""
    return Check(draw(st.sampled_from(HELD)), HERE, *draw(bounds()))


@st.composite
def _clock(draw: st.DrawFn, earlier: list[int]) -> Clock:
    """Draw a clock, some counting from the end of an earlier stage of the block."""
    since = draw(st.one_of(st.none(), st.sampled_from(earlier))) if earlier else None
    kind = draw(st.sampled_from(["flash", "cure"]))
    need = draw(st.sampled_from([0.5, 2.0, 4.0, 7.4, 10.0, 11.1, 15.0, 22.5, 30.0, 45.0]))
    cap = draw(st.sampled_from([1.0, 1.0, 2.0]))
    given_up = draw(st.sampled_from([1440, 60, 130]))
    return Clock(kind, need, cap=cap, since=since, given_up_min=given_up)


@st.composite
def _lamp_work(draw: st.DrawFn, index: int, after: int | None) -> PlanStage:
    """Draw work with the lamp, some of which may be over as it begins."""
    pace = Pace(draw(st.sampled_from(PACES)), 60.0, 9000.0, places=draw(st.integers(1, 2)))
    minutes = draw(st.sampled_from([None, None, 1, 9, 20]))
    return PlanStage(str(index), "", "lamp", after, minutes=minutes, pace=pace)


@st.composite
def _block(draw: st.DrawFn, first: int) -> list[PlanStage]:
    """Draw the stages of one block, the first with index ``first``."""
    stages: list[PlanStage] = []
    for _ in range(draw(st.integers(1, 4))):
        behind = [first + i for i, s in enumerate(stages) if s.alongside is None]
        after = behind[-1] if behind else None
        index = first + len(stages)
        kind = draw(st.sampled_from(["hand", "hand", "flash", "flash", "lamp"]))
        if kind == "lamp":
            stage = draw(_lamp_work(index, after))
        elif kind == "flash":
            stage = PlanStage(
                str(index), "", "flash", after, clock=draw(_clock(behind)), role="base"
            )
        else:
            stage = PlanStage(str(index), "", "hand", after, minutes=draw(st.integers(1, 40)))
        beside = draw(st.lists(st.integers(1, 20), max_size=2)) if draw(st.booleans()) else []
        spare = draw(st.sampled_from([0, 0, 3])) if beside else 0
        stages.append(replace(stage, least_min=sum(beside) + spare))
        if beside and draw(st.booleans()):
            # What follows the host may stand before the work alongside it, as air-drying does.
            clock = draw(_clock([*behind, index]))
            stages.append(PlanStage(str(index + 1), "", "flash", index, clock=clock))
        for number, minutes in enumerate(beside):
            follows = first + len(stages) - 1 if number else None
            own = str(first + len(stages))
            stages.append(PlanStage(own, "", "hand", follows, minutes=minutes, alongside=index))
    return stages


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """Draw a plan of one to four blocks with spans, deadlines and waits."""
    stages: list[PlanStage] = []
    blocks: list[Block] = []
    for number in range(draw(st.integers(1, 4))):
        first = len(stages)
        stages += draw(_block(first))
        wait = draw(st.sampled_from([0, 10, 15, 30, 60])) if number else 0
        within = draw(st.sampled_from([None, None, 5, 20, 40, 90])) if number else None
        before = blocks[-1] if blocks else None
        since = (
            draw(st.integers(before.first, before.stop - 1))
            if before and within is not None
            else None
        )
        blocks.append(Block(first, len(stages), wait, within, since))
    spans = []
    for _ in range(draw(st.integers(0, 7))):
        first = draw(st.integers(0, len(stages) - 1))
        last = min(len(stages) - 1, first + draw(st.sampled_from([0, 0, 1, 2, 5, 20])))
        spans.append(Span(draw(checks()), first, last))
    return Plan("drawn", tuple(stages), tuple(blocks), tuple(spans), draw(_deadlines(blocks)))


@st.composite
def _deadlines(draw: st.DrawFn, blocks: list[Block]) -> tuple[Deadline, ...]:
    found = []
    for block in blocks:
        if block.stop - block.first > 1 and draw(st.booleans()):
            since = draw(st.integers(block.first, block.stop - 2))
            stage = draw(st.integers(since + 1, block.stop - 1))
            minutes = draw(st.sampled_from([0.0, 5.0, 20.0, 45.5]))
            found.append(Deadline(stage, since, minutes, HERE))
    return tuple(found)


@st.composite
def drawn_cases(draw: st.DrawFn, most_patches: int = 7) -> Case:
    """Draw a plan, weather for it and a few starts."""
    plan = draw(plans())
    rows, steps = draw(st.integers(1, 3)), draw(st.integers(12, 96))
    base = dict.fromkeys(HELD, GOOD) | {name: draw(RATE_VALUES) for name in RATES}
    base |= {name: draw(st.sampled_from([0.0, 8.0])) for name in PACES}
    values = dict.fromkeys(HELD, HELD_VALUES) | dict.fromkeys(RATES, RATE_VALUES)
    values |= dict.fromkeys(PACES, PACE_VALUES)
    weather = draw(patched(base, values, rows, steps, most_patches))
    return Case(plan, weather, draw(starts_within(steps)), drawn_rate, drawn_pace)


@st.composite
def starts_within(draw: st.DrawFn, steps: int) -> tuple[int, ...]:
    """Draw a few starts, most of them early enough for the work to end on the grid."""
    early = st.integers(0, max(0, steps // 2))
    anywhere = st.integers(0, steps - 1)
    some = draw(st.lists(st.one_of(early, early, anywhere), min_size=1, max_size=4, unique=True))
    return tuple(some)

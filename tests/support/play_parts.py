"""Small plans and plain weather for tests of the play, all invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from sprayadvisor.advice.chain import Chain, Walk
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Block, Clock, Deadline, Plan, PlanStage, Span
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.tables import Tables

HERE = Origin("practice")
NAN = float("nan")
CALM = Check("gust_ms", HERE, stop_max=6.0)  # plain weather has gusts of 5
DRY = Check("rh_pct", HERE, stop_max=6.0)
NAMES = ("gust_ms", "rh_pct")


def hand(minutes: int, **more: object) -> PlanStage:
    """Return hand work of fixed length."""
    return replace(PlanStage("", "", "hand", None, minutes=minutes), **more)


def flash(
    need_min: float,
    since: int | None = None,
    cap: float = 1.0,
    given_up_min: int = 24 * 60,
    **more: object,
) -> PlanStage:
    """Return a flash-off on its clock."""
    clock = Clock("flash", need_min, cap=cap, since=since, given_up_min=given_up_min)
    return replace(PlanStage("", "", "flash", None, clock=clock), **more)


def plan_of(
    *blocks: Sequence[PlanStage],
    spans: Sequence[Span] = (),
    deadlines: Sequence[Deadline] = (),
    wait: int = 0,
    within: int | None = None,
    since: int | None = None,
) -> Plan:
    """Return a plan of blocks, its stages joined up; every block but the first may wait."""
    stages: list[PlanStage] = []
    cut: list[Block] = []
    for block in blocks:
        first = len(stages)
        for stage in block:
            behind = [i for i in range(first, len(stages)) if stages[i].alongside is None]
            joined = stage.after if stage.alongside is not None else (behind or [None])[-1]
            stages.append(replace(stage, id=str(len(stages)), after=joined))
        bound = (wait, within, since) if first else (0, None, None)
        cut.append(Block(first, len(stages), *bound))
    return Plan("invented", tuple(stages), tuple(cut), tuple(spans), tuple(deadlines))


def sky(steps: int = 12, **changes: Mapping[int, float]) -> dict[str, Floats]:
    """Return one row of plain weather in which clocks run at 1, but for the steps given."""
    weather = dict.fromkeys(NAMES, 5.0) | {"rate": 1.0}
    rows = {name: np.full((1, steps), value) for name, value in weather.items()}
    for name, values in changes.items():
        for step, value in values.items():
            rows[name][0, step] = value
    return rows


def plain_rate(clock: Clock, quantities: Mapping[str, Floats]) -> Floats:
    """Return the rate of a clock from the weather's own ``rate``."""
    return np.minimum(quantities["rate"], clock.cap)


def chain_of(plan: Plan, weather: Mapping[str, Floats]) -> Chain:
    """Return the chain of a plan in some weather."""
    return Chain(Tables.of(plan, weather, plain_rate))


def outcome(
    plan: Plan, weather: Mapping[str, Floats], start: int = 0, level: Level = Level.STOP
) -> tuple[int, Walk]:
    """Return status and walk of one start in the first row."""
    chain = chain_of(plan, weather)
    return int(chain.status([start])[level, 0, 0]), chain.walk(start, level)

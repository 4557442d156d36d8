"""The play at one start, read closely: where it is tightest, and what decides it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.chain import Chain, Walk
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.plan import Plan, Span
from sprayadvisor.advice.play import DRYING, ELAPSED, FAIL, FIT, FORECAST, HEATING, UNKNOWN
from sprayadvisor.advice.readings import Reading, lamp_lit, read_span, readings
from sprayadvisor.advice.tables import Tables
from sprayadvisor.advice.verdict import Word


@dataclass(frozen=True, slots=True)
class Limiting:
    """The check that decides a verdict, or that comes closest to deciding it.

    Attributes:
        check: quantity, bounds and origin.
        stage: index of the stage it concerns.
        minute: when the worst value falls, minutes from the beginning of the grid.
        value: that value; NaN where it is not known.
        margin: distance to the bound that counts here, negative outside it.
        level: which of the two bounds counts here.
        share: share of members this check spoils first, 0 where all fit.
        panel: index of the case concerned.
        lamp_lit: whether it is about metal that the lamp has warmed.
    """

    check: Check
    stage: int
    minute: int
    value: float
    margin: float
    level: Level
    share: float
    panel: int
    lamp_lit: bool = False


@dataclass(frozen=True, slots=True)
class BestPlay:
    """The play at the best start of the arrival window, in one member and for one panel.

    It is played at ``level``: as the sheets want it for *go*, short of their stops for all else.
    ``row`` is the row of the climate it was read in: of the member in the middle by its end, the
    panel nearest to a bound. ``walk`` holds all rows.
    """

    start: int
    level: Level
    row: int
    panel: int
    walk: Walk
    readings: tuple[Reading, ...]


def best_play(chain: Chain, start: int, level: Level, climate: Climate) -> BestPlay:
    """Walk one start and read it where it is typical in time and tightest in place."""
    return read_walk(chain, chain.walk(start, level), start, level, climate)


def read_walk(chain: Chain, walk: Walk, start: int, level: Level, climate: Climate) -> BestPlay:
    """Read a walk, begun in step ``start``, where it is typical in time and tightest in place."""
    member = _member_in_the_middle(walk, climate)
    rows = [panel * climate.n_members + member for panel in range(climate.n_cases)]
    found = [readings(chain.tables.plan, chain.tables.quantities, walk, row) for row in rows]
    tightest = [min((r.scaled(level) for r in of_panel), default=np.inf) for of_panel in found]
    panel = int(np.argmin(tightest))
    return BestPlay(start, level, rows[panel], panel, walk, found[panel])


def _member_in_the_middle(walk: Walk, climate: Climate) -> int:
    """Return the member whose slowest panel ends in the middle of all that fit, or of all."""
    shape = (climate.n_cases, climate.n_members)
    ends = walk.ends.max(axis=0).reshape(shape).max(axis=0)
    fits = (walk.status.reshape(shape) == FIT).all(axis=0)
    among = np.flatnonzero(fits) if fits.any() else np.arange(climate.n_members)
    order = among[np.argsort(ends[among], kind="stable")]
    return int(order[(order.size - 1) // 2])


def limiting(play: BestPlay, tables: Tables, word: Word, climate: Climate) -> Limiting:
    """Return what decides: the event that comes first most often, else the smallest margin.

    An event is read in the middle one of the members that it spoils, on the panel it spoils most.
    """
    bad = UNKNOWN if word is Word.UNKNOWN else FAIL
    walk = play.walk
    hits = [
        (int(row), int(walk.stage[row]), check)
        for row, check in enumerate(walk.check)
        if check is not None and walk.status[row] == bad
    ]
    if word is Word.GO or not hits:
        return _tightest(play, tables.plan)
    kinds = [(stage, check) for _, stage, check in hits]
    stage, check = max(dict.fromkeys(kinds), key=kinds.count)
    by_member: dict[int, list[int]] = {}
    for row, *kind in hits:
        if kind == [stage, check]:
            by_member.setdefault(row % climate.n_members, []).append(row)
    share = len(by_member) / climate.n_members
    events = [
        min((_event(play, tables, stage, check, row, share, climate) for row in rows), key=_badness)
        for rows in by_member.values()
    ]
    # The first member may be an odd one: a care would then show a value beyond its stop.
    return sorted(events, key=_badness)[len(events) // 2]


def _badness(limiting: Limiting) -> float:
    """Return a sort key: the panel farthest outside its bound first, the unknown before all."""
    return -np.inf if np.isnan(limiting.margin) else limiting.margin


def _tightest(play: BestPlay, plan: Plan) -> Limiting:
    """Return the check with the smallest scaled margin of a play that fits."""
    reading = min(play.readings, key=lambda r: r.scaled(play.level))
    return Limiting(
        reading.check,
        reading.stage,
        reading.minute,
        reading.value,
        reading.margin(play.level),
        play.level,
        0.0,
        play.panel,
        lamp_lit(plan, reading.check, play.walk, play.row),
    )


def _event(
    play: BestPlay,
    tables: Tables,
    stage: int,
    check: Check,
    row: int,
    share: float,
    climate: Climate,
) -> Limiting:
    """Return an event of a walk with the value that caused it."""
    panel = row // climate.n_members
    begin = int(play.walk.begins[stage, row])
    if check in (DRYING, FORECAST, HEATING):
        return Limiting(check, stage, begin, np.nan, np.nan, play.level, share, panel)
    if check == ELAPSED:
        return _late(play, tables, stage, row, share, panel)
    reading = read_span(Span(check, stage, stage), tables.quantities, play.walk, row, play.level)
    not_known = play.walk.status[row] == UNKNOWN
    if reading is None or (not_known and not np.isnan(reading.value)):
        # What is not known lies in the wait before the stage.
        return Limiting(check, stage, begin, np.nan, np.nan, play.level, share, panel)
    margin = reading.margin(play.level)
    lit = lamp_lit(tables.plan, check, play.walk, row)
    return Limiting(
        check, stage, reading.minute, reading.value, margin, play.level, share, panel, lit
    )


def _late(
    play: BestPlay, tables: Tables, stage: int, row: int, share: float, panel: int
) -> Limiting:
    """Return the deadline a stage missed, as a check on the minutes elapsed."""
    walk = play.walk
    late = [
        (deadline, int(walk.begins[stage, row] - walk.ends[deadline.since, row]))
        for deadline in tables.plan.deadlines_of(stage)
    ]
    deadline, elapsed = max(late, key=lambda item: item[1] - item[0].minutes)
    check = Check("elapsed_min", deadline.origin, stop_max=deadline.minutes)
    margin = deadline.minutes - elapsed
    begin = int(walk.begins[stage, row])
    return Limiting(check, stage, begin, float(elapsed), margin, play.level, share, panel)

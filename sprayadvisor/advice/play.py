"""Play one block of a plan from many starts in many members at once.

The rules, which a slow reference in the tests follows word for word:

* A stage begins when the one before it ends, or with the stage it runs alongside. It lasts its
  minutes, or until its clock has grown by its need, rounded up to a whole minute.
* A stage touches every quarter hour that it overlaps; a touched quarter hour counts whole.
* A span is broken if its quantity is outside its bounds in any quarter hour touched between the
  beginning of its first and the end of its last stage; NaN there makes it unknown.
* A clock that never ends on the grid breaks its stage. If its rate is NaN anywhere between the
  beginning of its count and its end, or the end of the grid, its stage is unknown instead. A stage
  of fixed length that runs off the grid is unknown. After any of these nothing further is played.
* The first event decides: the earliest stage with something broken or unknown. Broken wins within
  one stage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.plan import Block, Deadline, Plan, PlanStage, Span
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.tables import NONE_AHEAD, Bools, Ints, Tables
from sprayadvisor.science.quantities import STEP_MIN

FAIL, UNKNOWN, FIT = 0, 1, 2  # ordered: the smaller decides for several panels
NO_STAGE = 2**20
Status = NDArray[np.uint8]
PRACTICE = Origin("practice")
# Checks that belong to no span, so that their events can be named like any other.
DRYING = Check("drying", PRACTICE)
FORECAST = Check("forecast", PRACTICE)
ELAPSED = Check("elapsed_min", PRACTICE)


@dataclass(frozen=True, slots=True)
class Played:
    """One block played from n (row, begin) pairs.

    Attributes:
        block: which block.
        rows: (n,) row of the climate.
        begins: (stage, n) minutes from the beginning of the grid, stages of the block only.
        ends: (stage, n) minutes; never beyond the grid's end.
        reached: (stage, n) whether the stage is played at all.
        never: (stage, n) whether its clock never ends.
        off_grid: (stage, n) whether it ends beyond the grid or on a clock that is not known.
        status: (level, n) ``FIT``, ``UNKNOWN`` or ``FAIL``.
    """

    block: Block
    rows: Ints
    begins: Ints
    ends: Ints
    reached: Bools
    never: Bools
    off_grid: Bools
    status: Status

    @property
    def end(self) -> Ints:
        """(n,) minute at which the block's last sequential stage ends."""
        return np.asarray(self.ends.max(axis=0))

    def end_of(self, stage: int) -> Ints:
        """(n,) minute at which a stage of the block, given by its index in the plan, ends."""
        return np.asarray(self.ends[stage - self.block.first])


def play_block(tables: Tables, block: Block, rows: Ints, begin: Ints) -> Played:
    """Play ``block`` from minute ``begin`` in row ``rows``, both (n,)."""
    run = _run_stages(tables, block, rows, begin)
    bad = np.zeros((len(Level), len(rows)), dtype=np.bool_)
    unknown = np.zeros_like(bad)
    bad |= run.never.any(axis=0)
    unknown |= run.off_grid.any(axis=0)
    for deadline in _deadlines_in(tables.plan, block):
        bad |= _missed(run, deadline)
    for span in _spans_in(tables.plan, block):
        for level in Level:
            broken, not_known = _span_events(tables, run, span, level)
            bad[level] |= broken
            unknown[level] |= not_known
    run.status[bad] = FAIL
    run.status[unknown & ~bad] = UNKNOWN
    for level in Level:
        both = np.flatnonzero(bad[level] & unknown[level])
        if both.size:
            events = first_events(tables, _subset(run, both), level)
            run.status[level, both] = np.where(
                events.bad_stage <= events.unknown_stage, FAIL, UNKNOWN
            )
    return run


@dataclass(frozen=True, slots=True)
class Events:
    """The first broken and the first unknown stage of n plays, and the check that says so.

    ``NO_STAGE`` where there is none. ``bad_check`` and ``unknown_check`` index ``checks``.
    """

    bad_stage: Ints
    unknown_stage: Ints
    bad_check: Ints
    unknown_check: Ints
    checks: tuple[Check, ...]


def first_events(tables: Tables, run: Played, level: Level) -> Events:
    """Return stage and check of the first event of each play, spans taken apart by stage."""
    spans = _spans_in(tables.plan, run.block)
    checks = (DRYING, FORECAST, ELAPSED, *(span.check for span in spans))
    size = run.rows.size
    found = Events(
        np.full(size, NO_STAGE),
        np.full(size, NO_STAGE),
        np.zeros(size, dtype=np.int64),
        np.zeros(size, dtype=np.int64),
        checks,
    )
    for stage in range(run.block.first, run.block.stop):
        here = stage - run.block.first
        _note(found.bad_stage, found.bad_check, run.never[here], stage, 0)
        _note(found.unknown_stage, found.unknown_check, run.off_grid[here], stage, 1)
        for deadline in _deadlines_in(tables.plan, run.block):
            if deadline.stage == stage:
                _note(found.bad_stage, found.bad_check, _missed(run, deadline), stage, 2)
        for number, span in enumerate(spans, start=3):
            if span.first <= stage <= span.last:
                part = Span(span.check, stage, stage)
                broken, not_known = _span_events(tables, run, part, level)
                _note(found.bad_stage, found.bad_check, broken, stage, number)
                _note(found.unknown_stage, found.unknown_check, not_known, stage, number)
    return found


def _note(stages: Ints, checks: Ints, happened: Bools, stage: int, check: int) -> None:
    """Write an event down where none was written before."""
    new = happened & (stages == NO_STAGE)
    stages[new] = stage
    checks[new] = check


def _run_stages(tables: Tables, block: Block, rows: Ints, begin: Ints) -> Played:
    """Work out when each stage begins and ends; every play starts out as fitting."""
    shape = (block.stop - block.first, rows.size)
    run = Played(
        block,
        rows,
        np.zeros(shape, dtype=np.int64),
        np.zeros(shape, dtype=np.int64),
        np.ones(shape, dtype=np.bool_),
        np.zeros(shape, dtype=np.bool_),
        np.zeros(shape, dtype=np.bool_),
        np.full((len(Level), rows.size), FIT, dtype=np.uint8),
    )
    for here, stage in enumerate(tables.plan.stages[block.first : block.stop]):
        _run_stage(tables, run, here, stage, begin)
    return run


def _run_stage(tables: Tables, run: Played, here: int, stage: PlanStage, begin: Ints) -> None:
    horizon = tables.horizon_min
    if stage.alongside is not None:
        host = stage.alongside - run.block.first
        before = host if stage.after is None else stage.after - run.block.first
        run.begins[here] = run.begins[host] if stage.after is None else run.ends[before]
        run.reached[here] = run.reached[host]
    elif stage.after is None:
        run.begins[here] = begin
    else:
        before = stage.after - run.block.first
        run.begins[here] = run.ends[before]
        run.reached[here] = run.reached[before] & ~run.never[before] & ~run.off_grid[before]
    if stage.clock is None:
        end = run.begins[here] + max(stage.minutes or 0, stage.least_min)
        off = end > horizon
    else:
        end, off = _clock_end(tables, run, here, stage)
    if stage.alongside is None:
        run.off_grid[here] = off & run.reached[here]
    run.ends[here] = np.minimum(end, horizon)


def _clock_end(tables: Tables, run: Played, here: int, stage: PlanStage) -> tuple[Ints, Bools]:
    """Return when a clock stage ends and whether that is not known; notes clocks that never end."""
    clock = stage.clock
    assert clock is not None  # noqa: S101 - narrows the type for the caller's branch
    table = tables.clock(clock)
    begins = run.begins[here]
    since = begins if clock.since is None else run.ends[clock.since - run.block.first]
    ends = table.ends(run.rows, since, clock.need_min)
    last_step = np.minimum((ends - 1) // STEP_MIN, tables.n_steps - 1)
    not_known = table.unknown(run.rows, since // STEP_MIN) <= last_step
    never = ends == NONE_AHEAD
    run.never[here] = never & ~not_known & run.reached[here]
    ends = np.maximum(np.maximum(ends, begins), begins + stage.least_min)
    return ends, not_known | (~never & (ends > tables.horizon_min))


def _span_events(tables: Tables, run: Played, span: Span, level: Level) -> tuple[Bools, Bools]:
    """Return where a span lying in the block is broken, and where it is not known."""
    table = tables.check(span.check, level)
    first, last = span.first - run.block.first, span.last - run.block.first
    if table is None:
        nowhere = np.zeros(run.rows.size, dtype=np.bool_)
        return nowhere, nowhere
    begin_step = run.begins[first] // STEP_MIN
    last_step = (run.ends[last] - 1) // STEP_MIN
    reached = run.reached[first]
    broken = (table.bad(run.rows, begin_step) <= last_step) & reached
    not_known = (table.unknown(run.rows, begin_step) <= last_step) & reached
    return broken, not_known


def _missed(run: Played, deadline: Deadline) -> Bools:
    """Return where a stage begins too late after another of the same block."""
    stage, since = deadline.stage - run.block.first, deadline.since - run.block.first
    late = run.begins[stage] - run.ends[since] > deadline.minutes
    return np.asarray(late & run.reached[stage])


def _spans_in(plan: Plan, block: Block) -> tuple[Span, ...]:
    """Return the spans of a plan as far as they lie in a block."""
    return tuple(
        Span(span.check, max(span.first, block.first), min(span.last, block.stop - 1))
        for span in plan.spans
        if span.first < block.stop and span.last >= block.first
    )


def _deadlines_in(plan: Plan, block: Block) -> tuple[Deadline, ...]:
    return tuple(d for d in plan.deadlines if block.first <= d.stage < block.stop)


def _subset(run: Played, chosen: Ints) -> Played:
    """Return the chosen plays of a run."""
    return Played(
        run.block,
        run.rows[chosen],
        run.begins[:, chosen],
        run.ends[:, chosen],
        run.reached[:, chosen],
        run.never[:, chosen],
        run.off_grid[:, chosen],
        run.status[:, chosen],
    )

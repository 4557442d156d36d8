"""Play one block of a plan from many starts in many members at once.

The rules, which a slow reference in the tests follows word for word:

* A stage begins when the one before it ends, or with the stage it runs alongside. It lasts its
  minutes, or until its clock has grown by its need, rounded up to a whole minute.
* A stage touches every quarter hour that it overlaps; a touched quarter hour counts whole.
* A span is broken if its quantity is outside its bounds in any quarter hour touched between the
  beginning of its first stage and the latest end of its stages; NaN there makes it unknown.
* A clock that has not ended when it is given up, a day after its count began, breaks its stage. If
  its rate is NaN anywhere between the beginning of its count and its end, or that day, its stage is
  unknown instead, and touches nothing later than the first such quarter hour: nobody knows whether
  it lasts longer. A clock still running when the grid ends is unknown too.
* A stage with a pace lasts its minutes at least, and as many as its pace says for the quarter hour
  it begins in, which may be none. If that is infinite its stage is broken; if it is NaN, or the
  grid is over, its stage is unknown; either way it touches what its minutes touch.
* A stage of fixed length, or with a pace, that runs off the grid is unknown. After any of these
  nothing further is played.
* The first event decides: the earliest stage with something broken or unknown. Broken wins within
  one stage.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.lengths import length_of
from sprayadvisor.advice.looks import Looks, mark
from sprayadvisor.advice.parts import Held
from sprayadvisor.advice.plan import Block, Deadline, Plan, PlanStage
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.tables import Bools, Ints, Tables
from sprayadvisor.science.quantities import STEP_MIN

FAIL, UNKNOWN, FIT = 0, 1, 2  # ordered: the smaller decides for several panels
NO_STAGE = 2**20
Status = NDArray[np.uint8]
PRACTICE = Origin("practice")
# Checks that belong to no span, so that their events can be named like any other.
DRYING = Check("drying", PRACTICE)
FORECAST = Check("forecast", PRACTICE)
ELAPSED = Check("elapsed_min", PRACTICE)
HEATING = Check("heating", PRACTICE)


@dataclass(frozen=True, slots=True)
class Played:
    """One block played from n (row, begin) pairs.

    Attributes:
        block: which block.
        rows: (n,) row of the climate.
        begins: (stage, n) minutes from the beginning of the grid, stages of the block only.
        ends: (stage, n) minutes; never beyond the grid's end.
        last: which of these stages the block ends with; hand work alongside it ends no later.
        reached: (stage, n) whether the stage is played at all; if not, it begins and ends where
            the play stopped.
        never: (stage, n) whether its clock is given up, or the lamp never gets that far.
        off_grid: (stage, n) whether it ends beyond the grid or when is not known.
        status: (level, n) ``FIT``, ``UNKNOWN`` or ``FAIL``.
    """

    block: Block
    rows: Ints
    begins: Ints
    ends: Ints
    last: int
    reached: Bools
    never: Bools
    off_grid: Bools
    status: Status

    @property
    def end(self) -> Ints:
        """(n,) minute at which the block ends."""
        return np.asarray(self.ends[self.last])

    def end_of(self, stage: int) -> Ints:
        """(n,) minute at which a stage of the block, given by its index in the plan, ends."""
        return np.asarray(self.ends[stage - self.block.first])

    def subset(self, chosen: Ints | Bools) -> Played:
        """Return the chosen plays."""
        return Played(
            self.block,
            self.rows[chosen],
            self.begins[:, chosen],
            self.ends[:, chosen],
            self.last,
            self.reached[:, chosen],
            self.never[:, chosen],
            self.off_grid[:, chosen],
            self.status[:, chosen],
        )


def play_block(tables: Tables, block: Block, rows: Ints, begin: Ints) -> Played:
    """Play ``block`` from minute ``begin`` in row ``rows``, both (n,)."""
    run = _run_stages(tables, block, rows, begin)
    bad, unknown = np.zeros((2, len(Level), rows.size), dtype=np.bool_)
    for here in range(block.stop - block.first):
        bad |= run.never[here]
        unknown |= run.off_grid[here]
    for deadline in _deadlines_in(tables.plan, block):
        bad |= _missed(run, deadline)
    looks = Looks(tables, run)
    for held in tables.held[block]:
        touched = looks.touched(held.part)
        found = [tables.checks(held.checks, level) for level in Level]
        mark(bad, touched, [table.bad for table in found])
        mark(unknown, touched, [table.unknown for table in found])
    run.status[unknown] = UNKNOWN
    run.status[bad] = FAIL
    for level in Level:
        both = np.flatnonzero(bad[level] & unknown[level])
        if both.size:
            bad_stage, unknown_stage = first_stages(tables, run.subset(both), level)
            run.status[level, both] = np.where(bad_stage <= unknown_stage, FAIL, UNKNOWN)
    return run


def can_begin(tables: Tables, block: Block, rows: Ints, begins: Ints) -> Bools:
    """Return (n,) False where a block fails in the quarter hour it begins in, at either level.

    A check of its first stage that is past its stop there breaks that stage, and nothing comes
    before it. Most quarter hours are such: at night, in rain.
    """
    may = np.ones(rows.size, dtype=np.bool_)
    steps = begins // STEP_MIN
    places = tables.places(rows, steps)
    for held in tables.in_stage[block.first]:
        bad = tables.checks(held.checks, Level.STOP).bad
        if bad is not None and not held.part.may_be_empty:
            may &= bad(places) != steps
    return may


def first_stages(tables: Tables, run: Played, level: Level) -> tuple[Ints, Ints]:
    """Return (n,) first stage with something broken, and first with something unknown.

    ``NO_STAGE`` where there is none.
    """
    first_bad = np.full(run.rows.size, NO_STAGE, dtype=np.int64)
    first_unknown = first_bad.copy()
    looks = Looks(tables, run)
    for stage in reversed(range(run.block.first, run.block.stop)):
        bad, unknown = np.zeros((2, run.rows.size), dtype=np.bool_)
        holds = tables.in_stage[stage]
        for _, is_broken, happened in _events(tables, run, looks, level, stage, holds):
            (bad if is_broken else unknown)[happened] = True
        first_bad[bad] = stage
        first_unknown[unknown] = stage
    return first_bad, first_unknown


def name_events(tables: Tables, run: Played, level: Level) -> Iterator[tuple[int, int, int, Check]]:
    """Yield index, status, stage and check of the first event of each play that does not fit."""
    status = run.status[level]
    nameless = status != FIT
    looks = Looks(tables, run)
    for stage in range(run.block.first, run.block.stop):
        if not nameless.any():
            return
        holds = list(_with_events(tables, looks, level, stage, nameless))
        for check, is_broken, happened in _events(tables, run, looks, level, stage, holds):
            how = FAIL if is_broken else UNKNOWN
            named = happened & nameless & (status == how)
            nameless[named] = False
            yield from ((int(i), how, stage, check) for i in np.flatnonzero(named))


def _with_events(
    tables: Tables, looks: Looks, level: Level, stage: int, among: Bools
) -> Iterator[Held]:
    """Yield the checks of a stage one by one, but for those that together spoil none of ``among``.

    Most are such, and then need no tables of their own.
    """
    for held in tables.in_stage[stage]:
        touched, table = looks.touched(held.part), tables.checks(held.checks, level)
        tables_of_events = [ahead for ahead in (table.bad, table.unknown) if ahead is not None]
        if any((touched.where(ahead) & among).any() for ahead in tables_of_events):
            yield from (Held(held.part, (check,)) for check in held.checks)


def _events(
    tables: Tables, run: Played, looks: Looks, level: Level, stage: int, holds: Iterable[Held]
) -> Iterator[tuple[Check, bool, Bools]]:
    """Yield check, whether it is broken or else unknown, and (n,) where, for one stage.

    A lamp too weak comes last: where the metal it can hold is a check, that says by how much.
    """
    here = stage - run.block.first
    by_lamp = tables.plan.stages[stage].pace is not None
    if not by_lamp:
        yield DRYING, True, run.never[here]
    yield FORECAST, False, run.off_grid[here]
    for deadline in _deadlines_in(tables.plan, run.block):
        if deadline.stage == stage:
            yield ELAPSED, True, _missed(run, deadline)
    for held in holds:
        touched = looks.touched(held.part)
        table = tables.checks(held.checks, level)
        for is_broken, ahead in ((True, table.bad), (False, table.unknown)):
            if ahead is not None:
                yield held.checks[0], is_broken, touched.where(ahead)
    if by_lamp:
        yield HEATING, True, run.never[here]


def _run_stages(tables: Tables, block: Block, rows: Ints, begin: Ints) -> Played:
    """Work out when each stage begins and ends; every play starts out as fitting."""
    shape = (block.stop - block.first, rows.size)
    run = Played(
        block,
        rows,
        np.empty(shape, dtype=np.int64),
        np.empty(shape, dtype=np.int64),
        max(i for i in range(shape[0]) if tables.plan.stages[block.first + i].alongside is None),
        np.ones(shape, dtype=np.bool_),
        np.zeros(shape, dtype=np.bool_),
        np.zeros(shape, dtype=np.bool_),
        np.full((len(Level), rows.size), FIT, dtype=np.uint8),
    )
    for here, stage in enumerate(tables.plan.stages[block.first : block.stop]):
        _begin_stage(run, here, stage, begin)
        _end_stage(tables, run, here, stage)
    return run


def _begin_stage(run: Played, here: int, stage: PlanStage, begin: Ints) -> None:
    """Write down when a stage begins, and whether it is reached."""
    host, after = stage.alongside, stage.after
    if after is not None:
        run.begins[here] = run.end_of(after)
    elif host is not None:
        run.begins[here] = run.begins[host - run.block.first]
    else:
        run.begins[here] = begin
    if host is not None:
        run.reached[here] = run.reached[host - run.block.first]
    elif after is not None:
        before = after - run.block.first
        run.reached[here] = run.reached[before] & ~run.never[before] & ~run.off_grid[before]


def _end_stage(tables: Tables, run: Played, here: int, stage: PlanStage) -> None:
    """Write down when a stage ends, and whether it runs off the grid or into the unknown."""
    reached, begins = run.reached[here], run.begins[here]
    since = begins
    if stage.clock is not None and stage.clock.since is not None:
        since = run.end_of(stage.clock.since)
    length = length_of(tables, stage, run.rows, begins, since)
    run.never[here] = length.never & reached
    if stage.alongside is None:
        run.off_grid[here] = length.off_grid & reached
    np.minimum(length.ends, tables.horizon_min, out=run.ends[here])
    if not reached.all():
        np.copyto(run.ends[here], begins, where=~reached)


def _missed(run: Played, deadline: Deadline) -> Bools:
    """Return where a stage begins too late after another of the same block."""
    stage, since = deadline.stage - run.block.first, deadline.since - run.block.first
    late = run.begins[stage] - run.ends[since] > deadline.minutes
    return np.asarray(late & run.reached[stage])


def _deadlines_in(plan: Plan, block: Block) -> tuple[Deadline, ...]:
    return tuple(d for d in plan.deadlines if block.first <= d.stage < block.stop)

"""Chain the blocks of a plan, from the last to the first.

Work goes on at once, or waits and begins again on a quarter hour of the grid: no later than
``may_wait_min`` after the block before, and only while every span that reaches across the wait
holds; if one is not known there, what follows is at best unknown. Either way it goes on no later
than ``within_min`` after the stage that binds it, or the block's first stage is too late.
A block fits at a start if it is ok and what follows fits at once or after some such wait. Unlike a
greedy wait this is monotone: a stricter limit never opens a window. Its small print is "if you wait
well". Where several ways are equally good, the earliest counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.play import (
    ELAPSED,
    FAIL,
    FIT,
    NO_STAGE,
    UNKNOWN,
    Played,
    Status,
    can_begin,
    name_events,
    play_block,
)
from sprayadvisor.advice.tables import NONE_AHEAD, Bools, Ints, NextStep, Places, Tables
from sprayadvisor.science.quantities import STEP_MIN


@dataclass(frozen=True, slots=True)
class Walk:
    """One start played through, block by block, in every row.

    Attributes:
        begins: (stage, row) minutes from the beginning of the grid; -1 where not reached.
        ends: (stage, row) likewise.
        status: (row,) how it ends at the level it was walked for.
        stage: (row,) index of the stage with the first event, ``NO_STAGE`` where it fits.
        check: (row,) check of that event, None where it fits. What a wait spoils is an event of
            the stage it leads to.
    """

    begins: Ints
    ends: Ints
    status: Status
    stage: Ints
    check: list[Check | None]

    def note(self, row: int, status: int, stage: int, check: Check) -> None:
        """Write down how a row ends, unless that is written down already."""
        if self.status[row] == FIT:
            self.status[row], self.stage[row], self.check[row] = status, stage, check


@dataclass(frozen=True, slots=True)
class _Leaving:
    """Plays that leave a block: row, when it ends, and when the next one begins at the latest."""

    rows: Ints
    end: Ints
    latest: Ints

    def subset(self, chosen: Bools) -> _Leaving:
        """Return the chosen plays."""
        return _Leaving(self.rows[chosen], self.end[chosen], self.latest[chosen])


@dataclass(slots=True)
class Chain:
    """Plays of one plan over one climate, each block on the quarter hours worked out once.

    Attributes:
        tables: what is played, and where.
        first_step: nothing is ever begun before it, so that nothing before it is worked out.
    """

    tables: Tables
    first_step: int = 0
    _quarters: dict[int, Status] = field(default_factory=dict)
    _next: dict[tuple[int, Level, int], NextStep] = field(default_factory=dict)

    def status(self, start_steps: Sequence[int] | Ints) -> Status:
        """Return (level, row, start) status of starts given as steps of the grid."""
        return self.status_at(np.asarray(start_steps, dtype=np.int64) * STEP_MIN)

    def status_at(self, minutes: Ints) -> Status:
        """Return (level, row, start) status of (start,) minutes from the grid's beginning."""
        rows = np.repeat(np.arange(self.tables.n_rows), minutes.size)
        begins = np.tile(minutes, self.tables.n_rows)
        flat = self._evaluate(0, rows, begins)
        return flat.reshape(len(Level), self.tables.n_rows, minutes.size)

    def _evaluate(self, number: int, rows: Ints, begins: Ints) -> Status:
        """Return (level, n) status of block ``number`` and all that follows it."""
        may_begin = can_begin(self.tables, self.tables.plan.blocks[number], rows, begins)
        if may_begin.all():
            return self._evaluate_all(number, rows, begins)
        status = np.full((len(Level), rows.size), FAIL, dtype=np.uint8)
        if may_begin.any():
            status[:, may_begin] = self._evaluate_all(number, rows[may_begin], begins[may_begin])
        return status

    def _evaluate_all(self, number: int, rows: Ints, begins: Ints) -> Status:
        """Return the same of plays that need not fail as they begin."""
        played = play_block(self.tables, self.tables.plan.blocks[number], rows, begins)
        if number + 1 == len(self.tables.plan.blocks):
            return played.status
        fits = (played.status == FIT).any(axis=0)
        if not fits.any():
            return played.status
        leaving = self._leaving(number, played, fits)
        mine = played.status[:, fits]
        waited = np.stack([self._after_wait(number + 1, level, leaving)[0] for level in Level])
        after = waited
        # Where waiting fits, nothing is better; the others are tried at once too.
        open_ = ((mine == FIT) & (waited != FIT)).any(axis=0)
        if open_.any():
            at_once = self._at_once(number + 1, leaving.subset(open_))
            after[:, open_] = np.maximum(after[:, open_], at_once)
        result = played.status.copy()
        result[:, fits] = np.where(mine == FIT, after, mine)
        return result

    def _leaving(self, number: int, played: Played, chosen: Bools) -> _Leaving:
        """Return the chosen plays of block ``number`` as they leave it."""
        block = self.tables.plan.blocks[number + 1]
        end = played.end[chosen]
        latest = end + block.may_wait_min
        if block.within_min is not None and block.within_since is not None:
            bound = played.end_of(block.within_since)[chosen] + block.within_min
            latest = np.minimum(latest, bound)
        return _Leaving(played.rows[chosen], end, latest)

    def _at_once(self, number: int, leaving: _Leaving) -> Status:
        """Return (level, n) status of going on with block ``number`` without waiting."""
        status = self._evaluate(number, leaving.rows, leaving.end)
        status[:, leaving.end > leaving.latest] = FAIL
        return status

    def _after_wait(self, number: int, level: Level, leaving: _Leaving) -> tuple[Status, Ints]:
        """Return the best status that waiting can reach, and the quarter hour it begins on."""
        sure, maybe = self._gap_limits(number, level, leaving)
        first = self.tables.places(leaving.rows, -(-leaving.end // STEP_MIN))
        status = np.full(leaving.rows.size, FAIL, dtype=np.uint8)
        begin = np.full(leaving.rows.size, NONE_AHEAD, dtype=np.int64)
        for goal, limit in ((UNKNOWN, maybe), (FIT, sure)):
            minute = self._next_with(number, level, goal)(first).astype(np.int64) * STEP_MIN
            reached = minute <= limit
            status[reached] = goal
            begin[reached] = minute[reached]
        return status, begin

    def _gap_limits(self, number: int, level: Level, leaving: _Leaving) -> tuple[Ints, Ints]:
        """Return until when spans across a wait are known to hold, and are not broken."""
        checks = self.tables.across[self.tables.plan.blocks[number]]
        table = self.tables.checks(checks, level)
        places = self.tables.places(leaving.rows, leaving.end // STEP_MIN)
        maybe = np.minimum(leaving.latest, _wait_until(table.bad, places, leaving.end))
        return np.minimum(maybe, _wait_until(table.unknown, places, leaving.end)), maybe

    def _next_with(self, number: int, level: Level, goal: int) -> NextStep:
        """Return the table of the next quarter hour with a status of at least ``goal``."""
        key = (number, level, goal)
        if key not in self._next:
            if number not in self._quarters:
                self._quarters[number] = self._on_quarters(number)
            self._next[key] = NextStep.of(self._quarters[number][level] >= goal)
        return self._next[key]

    def _on_quarters(self, number: int) -> Status:
        """Return (level, row, step) status of a block begun on every quarter hour of the grid."""
        rows, steps = self.tables.n_rows, np.arange(self.first_step, self.tables.n_steps)
        flat_rows = np.repeat(np.arange(rows), steps.size)
        begins = np.tile(steps * STEP_MIN, rows)
        status = np.full((len(Level), rows, self.tables.n_steps), FAIL, dtype=np.uint8)
        flat = self._evaluate(number, flat_rows, begins)
        status[..., self.first_step :] = flat.reshape(len(Level), rows, steps.size)
        return status

    def walk(self, start_step: int, level: Level) -> Walk:
        """Play one start in every row, waiting only where that is better than going on."""
        return self.walk_at(start_step * STEP_MIN, level)

    def walk_at(self, minute: int, level: Level) -> Walk:
        """Play one start, given in minutes from the grid's beginning, in every row."""
        plan, n_rows = self.tables.plan, self.tables.n_rows
        walk = Walk(
            np.full((len(plan.stages), n_rows), -1, dtype=np.int64),
            np.full((len(plan.stages), n_rows), -1, dtype=np.int64),
            np.full(n_rows, FIT, dtype=np.uint8),
            np.full(n_rows, NO_STAGE, dtype=np.int64),
            [None] * n_rows,
        )
        alive = np.arange(n_rows)
        now = np.full(n_rows, minute, dtype=np.int64)
        for number, block in enumerate(plan.blocks):
            played = play_block(self.tables, block, alive, now)
            walk.begins[block.first : block.stop, alive] = np.where(
                played.reached, played.begins, -1
            )
            walk.ends[block.first : block.stop, alive] = np.where(played.reached, played.ends, -1)
            for here, status, stage, check in name_events(self.tables, played, level):
                walk.note(alive[here], status, stage, check)
            fits = walk.status[alive] == FIT
            alive = alive[fits]
            if number + 1 < len(plan.blocks):
                now = self._go_on(number + 1, level, self._leaving(number, played, fits), walk)
        return walk

    def _go_on(self, number: int, level: Level, leaving: _Leaving, walk: Walk) -> Ints:
        """Return when the next block best begins: at once unless waiting is better.

        What the wait itself spoils is written down as an event of the stage it leads to.
        """
        block = self.tables.plan.blocks[number]
        at_once = self._at_once(number, leaving)[level]
        waited, begin = self._after_wait(number, level, leaving)
        begin = np.where(waited > at_once, begin, leaving.end)
        for row in leaving.rows[begin > leaving.latest]:
            walk.note(row, FAIL, block.first, ELAPSED)
        for check in self.tables.across[block]:
            ahead = self.tables.checks((check,), level).unknown
            places = self.tables.places(leaving.rows, leaving.end // STEP_MIN)
            for row in leaving.rows[begin > _wait_until(ahead, places, leaving.end)]:
                walk.note(row, UNKNOWN, block.first, check)
        return begin


def _wait_until(ahead: NextStep | None, places: Places, end: Ints) -> Ints:
    """Return until which minute a wait that begins at ``end`` stays clear of marked steps."""
    if ahead is None:
        return np.full(end.shape, NONE_AHEAD * STEP_MIN)
    return np.maximum(ahead(places).astype(np.int64) * STEP_MIN, end)

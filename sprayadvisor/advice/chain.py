"""Chain the blocks of a plan, from the last to the first.

Work goes on at once, or waits and begins again on a quarter hour: no later than ``may_wait_min``
after the block before, no later than ``within_min`` after the stage that binds it, and only while
every span that reaches across the wait holds. A block fits at a start if it is ok and what follows
fits at once or after some such wait. Unlike a greedy wait this is monotone: a stricter limit never
opens a window. Its small print is "if you wait well".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.play import (
    FAIL,
    FIT,
    NO_STAGE,
    UNKNOWN,
    Played,
    Status,
    first_events,
    play_block,
)
from sprayadvisor.advice.tables import NONE_AHEAD, Ints, NextStep, Tables
from sprayadvisor.science.quantities import STEP_MIN


@dataclass(frozen=True, slots=True)
class Walk:
    """One start played through, block by block, in every row.

    Attributes:
        begins: (stage, row) minutes from the beginning of the grid; -1 where not reached.
        ends: (stage, row) likewise.
        status: (row,) how it ends at the level it was walked for.
        stage: (row,) index of the stage with the first event, ``NO_STAGE`` where it fits.
        check: for each row the check of that event, None where it fits.
    """

    begins: Ints
    ends: Ints
    status: Status
    stage: Ints
    check: tuple[Check | None, ...]


@dataclass(slots=True)
class Chain:
    """Plays of one plan over one climate, each block on the quarter hours worked out once."""

    tables: Tables
    _quarters: dict[int, Status] = field(default_factory=dict)
    _next: dict[tuple[int, Level, int], NextStep] = field(default_factory=dict)

    def status(self, start_steps: Sequence[int] | Ints) -> Status:
        """Return (level, row, start) status of starts given as steps of the grid."""
        steps = np.asarray(start_steps, dtype=np.int64)
        rows = np.repeat(np.arange(self.tables.n_rows), steps.size)
        begins = np.tile(steps * STEP_MIN, self.tables.n_rows)
        flat = self._evaluate(0, rows, begins)
        return flat.reshape(len(Level), self.tables.n_rows, steps.size)

    def _evaluate(self, number: int, rows: Ints, begins: Ints) -> Status:
        """Return (level, n) status of block ``number`` and all that follows it."""
        played = play_block(self.tables, self.tables.plan.blocks[number], rows, begins)
        if number + 1 == len(self.tables.plan.blocks):
            return played.status
        going_on = np.flatnonzero((played.status == FIT).any(axis=0))
        if not going_on.size:
            return played.status
        end = played.end[going_on]
        at_once = self._evaluate(number + 1, rows[going_on], end)
        latest = self._latest(number + 1, played)[going_on]
        result = played.status.copy()
        for level in Level:
            waited, _ = self._after_wait(number + 1, level, rows[going_on], end, latest)
            follows = np.maximum(at_once[level], waited)
            mine = played.status[level, going_on]
            result[level, going_on] = np.where(mine == FIT, follows, mine)
        return result

    def _latest(self, number: int, before: Played) -> Ints:
        """Return the latest minute block ``number`` may begin at after a play of the one before."""
        block = self.tables.plan.blocks[number]
        latest = before.end + block.may_wait_min
        if block.within_min is not None and block.within_since is not None:
            latest = np.minimum(latest, before.end_of(block.within_since) + block.within_min)
        return np.asarray(latest)

    def _after_wait(
        self, number: int, level: Level, rows: Ints, end: Ints, latest: Ints
    ) -> tuple[Status, Ints]:
        """Return the best status that waiting can reach, and the quarter hour it begins on."""
        sure, maybe = self._gap_limits(number, level, rows, end, latest)
        first = -(-end // STEP_MIN)
        status = np.full(rows.size, FAIL, dtype=np.uint8)
        begin = np.full(rows.size, NONE_AHEAD, dtype=np.int64)
        for goal, limit in ((UNKNOWN, maybe), (FIT, sure)):
            step = self._next_with(number, level, goal)(rows, first).astype(np.int64)
            reached = (step < NONE_AHEAD) & (step * STEP_MIN <= limit)
            status[reached] = goal
            begin[reached] = step[reached] * STEP_MIN
        return status, begin

    def _gap_limits(
        self, number: int, level: Level, rows: Ints, end: Ints, latest: Ints
    ) -> tuple[Ints, Ints]:
        """Return until when spans across a wait are known to hold, and are not broken."""
        boundary = self.tables.plan.blocks[number].first
        maybe = latest.copy()
        sure = latest.copy()
        for span in self.tables.plan.spans:
            table = self.tables.check(span.check, level)
            if table is None or not span.first < boundary <= span.last:
                continue
            step = end // STEP_MIN
            maybe = np.minimum(maybe, _wait_until(table.bad(rows, step), end))
            sure = np.minimum(sure, _wait_until(table.unknown(rows, step), end))
        return np.minimum(sure, maybe), maybe

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
        rows, steps = self.tables.n_rows, self.tables.n_steps
        flat_rows = np.repeat(np.arange(rows), steps)
        begins = np.tile(np.arange(steps) * STEP_MIN, rows)
        flat = self._evaluate(number, flat_rows, begins)
        return flat.reshape(len(Level), rows, steps)

    def walk(self, start_step: int, level: Level) -> Walk:
        """Play one start in every row, waiting only where that is better than going on."""
        plan, n_rows = self.tables.plan, self.tables.n_rows
        begins = np.full((len(plan.stages), n_rows), -1, dtype=np.int64)
        ends = begins.copy()
        status = np.full(n_rows, FIT, dtype=np.uint8)
        stage = np.full(n_rows, NO_STAGE, dtype=np.int64)
        checks: list[Check | None] = [None] * n_rows
        alive = np.arange(n_rows)
        now = np.full(n_rows, start_step * STEP_MIN, dtype=np.int64)
        for number, block in enumerate(plan.blocks):
            played = play_block(self.tables, block, alive, now)
            begins[block.first : block.stop, alive] = np.where(played.reached, played.begins, -1)
            ends[block.first : block.stop, alive] = np.where(played.reached, played.ends, -1)
            mine = played.status[level]
            status[alive] = mine
            self._name_events(played, level, alive, stage, checks)
            going_on = mine == FIT
            if number + 1 < len(plan.blocks):
                now = self._next_begin(number + 1, level, played)[going_on]
            alive = alive[going_on]
        return Walk(begins, ends, status, stage, tuple(checks))

    def _next_begin(self, number: int, level: Level, played: Played) -> Ints:
        """Return when the next block best begins: at once unless waiting is better."""
        at_once = self._evaluate(number, played.rows, played.end)[level]
        latest = self._latest(number, played)
        waited, begin = self._after_wait(number, level, played.rows, played.end, latest)
        return np.where(waited > at_once, begin, played.end)

    def _name_events(
        self, played: Played, level: Level, alive: Ints, stage: Ints, checks: list[Check | None]
    ) -> None:
        """Write down stage and check of the first event of each play that does not fit."""
        events = first_events(self.tables, played, level)
        for here in np.flatnonzero(played.status[level] != FIT):
            failed = played.status[level, here] == FAIL
            row = alive[here]
            stage[row] = (events.bad_stage if failed else events.unknown_stage)[here]
            which = (events.bad_check if failed else events.unknown_check)[here]
            checks[row] = events.checks[which]


def _wait_until(step: NDArray[np.int32], end: Ints) -> Ints:
    """Return until which minute a wait that begins at ``end`` stays clear of ``step``."""
    return np.maximum(step.astype(np.int64) * STEP_MIN, end)

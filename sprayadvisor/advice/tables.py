"""Look-up tables over the weather, so that a span or a clock costs the same however long it is.

For the checks of a span: the next quarter hour, from any quarter hour on, in which one of them is
broken or not known. For each drying rate: how far drying has grown by the beginning of each quarter
hour. Tables are flat, one row after another; a quantity that is the same for all rows has one row.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache, reduce

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.parts import Held, held_across, held_in, held_in_stage
from sprayadvisor.advice.plan import Block, Clock, Pace, Plan
from sprayadvisor.advice.rates import pace_minutes
from sprayadvisor.science.quantities import STEP_MIN

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
NONE_AHEAD = 2**30  # a step no grid reaches: nothing of the kind lies ahead
_DONE_WITHIN = 1e-6  # drying that falls short of its need by no more than this is done
RateFunction = Callable[[Clock, Mapping[str, Floats]], Floats]
PaceFunction = Callable[[Pace, Mapping[str, Floats]], Floats]


@dataclass(frozen=True, slots=True)
class Places:
    """Where n plays look into the tables: a row of the climate and a step of the grid for each."""

    step: Ints
    flat: Ints

    @classmethod
    def of(cls, rows: Ints, steps: Ints, n_steps: int) -> Places:
        """Place (n,) ``steps`` in (n,) ``rows``; a table has one more step than the grid."""
        return cls(steps, rows * (n_steps + 1) + steps)


@dataclass(frozen=True, slots=True)
class NextStep:
    """For every row and step, the first step from there on with some property."""

    flat: NDArray[np.int32]
    same_for_all_rows: bool

    @classmethod
    def of(cls, marked: Bools) -> NextStep:
        """Build the table from (row, step) marks."""
        rows, steps = marked.shape
        # A mark behind the end of each row stands for "none ahead"; every place then gets what the
        # next mark says. This is quicker than a running minimum from the end.
        fenced = np.ones((rows, steps + 1), dtype=np.bool_)
        fenced[:, :-1] = marked
        at = np.flatnonzero(fenced)
        gaps = at.copy()
        gaps[0] += 1
        gaps[1:] -= at[:-1]
        return cls(_said(rows, steps).take(at).repeat(gaps), rows == 1)

    def __call__(self, places: Places) -> NDArray[np.int32]:
        """Return the first marked step at or after each place."""
        return self.flat.take(places.step if self.same_for_all_rows else places.flat)


@lru_cache(maxsize=8)
def _said(rows: int, steps: int) -> NDArray[np.int32]:
    """Return what a mark at each flat place of a fenced table says: its step."""
    step = np.arange(steps + 1, dtype=np.int32)
    step[-1] = NONE_AHEAD
    said = np.tile(step, rows)
    said.flags.writeable = False
    return said


@dataclass(frozen=True, slots=True)
class CheckTable:
    """Where one of some checks is broken, and where one is not known; None for nowhere."""

    bad: NextStep | None
    unknown: NextStep | None


@dataclass(frozen=True, slots=True)
class ClockTable:
    """How far one drying rate has grown.

    ``grown`` is (row, step + 1) flattened, minutes at the reference conditions, each row lifted by
    more than it can grow over the one before so that a single sorted search serves all rows.
    """

    grown: Floats
    rate: Floats
    unknown: NextStep | None
    width: int

    @classmethod
    def of(cls, rate: Floats, need_min: float) -> ClockTable:
        """Build the table from (row, step) rates; NaN counts as no progress and as not known."""
        rows, steps = rate.shape
        not_known = np.isnan(rate)
        known = np.zeros((rows, steps + 1))
        np.copyto(known[:, :-1], rate, where=~not_known)
        grown = np.zeros((rows, steps + 1))
        np.cumsum(known[:, :-1] * STEP_MIN, axis=1, out=grown[:, 1:])
        grown += np.ceil(grown.max() + need_min + 1.0) * np.arange(rows)[:, None]
        return cls(grown.ravel(), known.ravel(), _next_step(_any([not_known])), steps + 1)

    def at(self, rows: Ints, minutes: Ints) -> Floats:
        """Return how far drying has grown (lifted) at ``minutes`` of the grid."""
        steps = minutes // STEP_MIN
        flat = rows * self.width + steps
        within = minutes - steps * STEP_MIN
        return np.asarray(self.grown.take(flat) + self.rate.take(flat) * within)

    def ends(self, rows: Ints, since: Ints, need_min: float) -> Ints:
        """Return the first whole minute by which ``need_min`` has grown since ``since``.

        A drying that does not end on the grid gives ``NONE_AHEAD``.
        """
        target = self.at(rows, since) + max(need_min - _DONE_WITHIN, 0.0)
        row_begins = rows * self.width
        found = np.searchsorted(self.grown, target, side="left")
        never = found >= row_begins + self.width
        before = np.where(never, row_begins, np.maximum(found - 1, row_begins))
        rate = self.rate.take(before)
        minute = (target - self.grown.take(before)) / np.where(rate > 0, rate, 1.0)
        whole = (before - row_begins) * STEP_MIN + np.ceil(minute).astype(np.int64)
        return np.where(never, NONE_AHEAD, whole)


@dataclass(frozen=True, slots=True)
class PaceTable:
    """How long some work lasts, by the quarter hour it begins in.

    ``minutes`` is (row, step + 1) flattened, 0 where it is not known or would never end; ``never``
    and ``unknown`` mark these. Behind the end of the grid nothing is known.
    """

    minutes: Ints
    never: Bools
    unknown: Bools

    @classmethod
    def of(cls, minutes: Floats) -> PaceTable:
        """Build the table from (row, step) whole minutes; infinite means never."""
        lasts = np.full((minutes.shape[0], minutes.shape[1] + 1), np.nan)
        lasts[:, :-1] = minutes
        flat = lasts.ravel()
        known = np.where(np.isfinite(flat), flat, 0.0).astype(np.int64)
        return cls(known, np.isinf(flat), np.isnan(flat))


@dataclass(slots=True)
class Tables:
    """All tables one plan needs over one climate.

    Attributes:
        plan: what is played.
        quantities: (row, step) or (1, step) arrays by name.
        n_rows: rows of the climate.
        n_steps: quarter hours on the grid.
        held: for each block, which checks hold over which of its stages.
        in_stage: for each stage, which checks hold in it.
        across: for each block, which checks hold across a wait before it.
    """

    plan: Plan
    quantities: Mapping[str, Floats]
    n_rows: int
    n_steps: int
    held: dict[Block, tuple[Held, ...]]
    in_stage: tuple[tuple[Held, ...], ...]
    across: dict[Block, tuple[Check, ...]]
    _broken: dict[tuple[Check, Level], Bools | None] = field(default_factory=dict)
    _unknown: dict[str, Bools | None] = field(default_factory=dict)
    _checks: dict[tuple[tuple[Check, ...], Level], CheckTable] = field(default_factory=dict)
    _clocks: dict[tuple[object, ...], ClockTable] = field(default_factory=dict)
    _paces: dict[Pace, PaceTable] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        plan: Plan,
        quantities: Mapping[str, Floats],
        rate: RateFunction,
        pace: PaceFunction = pace_minutes,
    ) -> Tables:
        """Build the tables of ``plan``; those of checks follow when they are first asked for.

        Args:
            plan: what is played.
            quantities: (row, step) or (1, step) arrays by name.
            rate: gives the capped drying rate of a clock.
            pace: gives the whole minutes of work with the lamp, by the step it begins in.
        """
        rows = max(values.shape[0] for values in quantities.values())
        steps = next(iter(quantities.values())).shape[1]
        held = {block: held_in(plan, block) for block in plan.blocks}
        in_stage = tuple(held_in_stage(plan, stage) for stage in range(len(plan.stages)))
        across = {block: held_across(plan, block) for block in plan.blocks}
        tables = cls(plan, quantities, rows, steps, held, in_stage, across)
        longest = max((s.clock.need_min for s in plan.stages if s.clock), default=0.0)
        for stage in plan.stages:
            if stage.clock and stage.clock.rate_key not in tables._clocks:
                values = np.broadcast_to(rate(stage.clock, quantities), (rows, steps))
                tables._clocks[stage.clock.rate_key] = ClockTable.of(values, longest)
            if stage.pace and stage.pace not in tables._paces:
                values = np.broadcast_to(pace(stage.pace, quantities), (rows, steps))
                tables._paces[stage.pace] = PaceTable.of(values)
        return tables

    def places(self, rows: Ints, steps: Ints) -> Places:
        """Return where to look for ``steps`` of ``rows``."""
        return Places.of(rows, steps, self.n_steps)

    def checks(self, checks: tuple[Check, ...], level: Level) -> CheckTable:
        """Return where any of ``checks`` is broken or not known at ``level``."""
        key = checks, level
        if key not in self._checks:
            if level is Level.INSIDE and all(check.stops_where_inside_ends for check in checks):
                # The very same table, so that the play sees at once that both levels agree.
                self._checks[key] = self.checks(checks, Level.STOP)
                return self._checks[key]
            bad = _any([self._broken_where(check, level) for check in checks])
            unknown = _any([self._unknown_where(check, level) for check in checks])
            self._checks[key] = CheckTable(_next_step(bad), _next_step(unknown))
        return self._checks[key]

    def _broken_where(self, check: Check, level: Level) -> Bools | None:
        """Return (row, step) marks of where a check is broken, None for nowhere."""
        key = check, level
        if key not in self._broken:
            low, high = check.bounds(level)
            value = self.quantities[check.read_from]
            below = None if low is None else value < low
            above = None if high is None else value > high
            self._broken[key] = _any([below, above])
        return self._broken[key]

    def _unknown_where(self, check: Check, level: Level) -> Bools | None:
        """Return (row, step) marks of where a check with bounds is not known, None for nowhere."""
        if check.bounds(level) == (None, None):
            return None
        name = check.read_from
        if name not in self._unknown:
            self._unknown[name] = _any([np.isnan(self.quantities[name])])
        return self._unknown[name]

    def clock(self, clock: Clock) -> ClockTable:
        """Return the table of a clock."""
        return self._clocks[clock.rate_key]

    def pace(self, pace: Pace) -> PaceTable:
        """Return the table of work with the lamp."""
        return self._paces[pace]

    @property
    def horizon_min(self) -> int:
        """Minutes from the beginning of the grid to its end."""
        return self.n_steps * STEP_MIN


def _any(marks: list[Bools | None]) -> Bools | None:
    """Return where any of the marks is set, None for nowhere; one row holds for all rows."""
    set_somewhere = [mark for mark in marks if mark is not None and mark.any()]
    return reduce(np.logical_or, set_somewhere) if set_somewhere else None


def _next_step(marked: Bools | None) -> NextStep | None:
    """Return the table of marks, None where nothing is marked."""
    return None if marked is None else NextStep.of(marked)

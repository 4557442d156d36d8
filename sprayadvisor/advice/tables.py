"""Look-up tables over the weather, so that a span or a clock costs the same however long it is.

For each check: the next quarter hour, from any quarter hour on, in which it is broken or not known.
For each drying rate: how far drying has grown by the beginning of each quarter hour.
Tables are flat with one row after another; a quantity that is the same for all rows has one row
and a row stride of zero.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Clock, Plan
from sprayadvisor.science.quantities import STEP_MIN

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
NONE_AHEAD = 2**30  # a step no grid reaches: nothing of the kind lies ahead
_SAME_MINUTE = 1e-6  # a drying time this close above a whole minute is that minute
RateFunction = Callable[[Clock, Mapping[str, Floats]], Floats]


@dataclass(frozen=True, slots=True)
class NextStep:
    """For every row and step, the first step from there on with some property."""

    flat: NDArray[np.int32]
    stride: int

    @classmethod
    def of(cls, marked: Bools) -> NextStep:
        """Build the table from (row, step) marks."""
        rows, steps = marked.shape
        ahead = np.full((rows, steps + 1), NONE_AHEAD, dtype=np.int32)
        ahead[:, :-1][marked] = np.broadcast_to(np.arange(steps, dtype=np.int32), marked.shape)[
            marked
        ]
        ahead = np.minimum.accumulate(ahead[:, ::-1], axis=1)[:, ::-1]
        return cls(np.ascontiguousarray(ahead).ravel(), 0 if rows == 1 else steps + 1)

    def __call__(self, rows: Ints, steps: Ints) -> NDArray[np.int32]:
        """Return the first marked step at or after ``steps`` in ``rows``."""
        return np.asarray(self.flat[rows * self.stride + steps])


@dataclass(frozen=True, slots=True)
class CheckTable:
    """Where one check is broken, and where it is not known, at one level."""

    bad: NextStep
    unknown: NextStep


@dataclass(frozen=True, slots=True)
class ClockTable:
    """How far one drying rate has grown.

    ``grown`` is (row, step + 1) flattened, minutes at the reference conditions, each row lifted by
    ``lift`` over the one before so that a single sorted search serves all rows.
    """

    grown: Floats
    rate: Floats
    unknown: NextStep
    lift: float
    width: int

    @classmethod
    def of(cls, rate: Floats, need_min: float) -> ClockTable:
        """Build the table from (row, step) rates; NaN counts as no progress and as not known."""
        rows, steps = rate.shape
        not_known = np.isnan(rate)
        known = np.where(not_known, 0.0, rate)
        grown = np.zeros((rows, steps + 1))
        np.cumsum(known * STEP_MIN, axis=1, out=grown[:, 1:])
        lift = float(np.ceil(grown.max() + need_min + 1.0))
        grown += lift * np.arange(rows)[:, None]
        padded = np.concatenate([known, np.zeros((rows, 1))], axis=1)
        return cls(grown.ravel(), padded.ravel(), NextStep.of(not_known), lift, steps + 1)

    def at(self, rows: Ints, minutes: Ints) -> Floats:
        """Return how far drying has grown (lifted) at ``minutes`` of the grid."""
        flat = rows * self.width + minutes // STEP_MIN
        return np.asarray(self.grown[flat] + self.rate[flat] * (minutes % STEP_MIN))

    def ends(self, rows: Ints, since: Ints, need_min: float) -> Ints:
        """Return the whole minute at which ``need_min`` has grown since ``since``.

        A drying that does not end on the grid gives ``NONE_AHEAD``.
        """
        target = self.at(rows, since) + need_min
        found = np.searchsorted(self.grown, target, side="left")
        never = found >= (rows + 1) * self.width
        before = np.where(never, rows * self.width, found - 1)
        rate = np.where(self.rate[before] > 0, self.rate[before], 1.0)
        minute = (before - rows * self.width) * STEP_MIN + (target - self.grown[before]) / rate
        whole = np.ceil(minute - _SAME_MINUTE).astype(np.int64)
        return np.where(never, NONE_AHEAD, whole)


@dataclass(slots=True)
class Tables:
    """All tables one plan needs over one climate.

    Attributes:
        plan: what is played.
        quantities: (row, step) or (1, step) arrays by name.
        n_rows: rows of the climate.
        n_steps: quarter hours on the grid.
    """

    plan: Plan
    quantities: Mapping[str, Floats]
    n_rows: int
    n_steps: int
    _checks: dict[tuple[Check, Level], CheckTable] = field(default_factory=dict)
    _clocks: dict[tuple[object, ...], ClockTable] = field(default_factory=dict)

    @classmethod
    def of(cls, plan: Plan, quantities: Mapping[str, Floats], rate: RateFunction) -> Tables:
        """Build every table of ``plan``; ``rate`` gives the capped drying rate of a clock."""
        rows = max(values.shape[0] for values in quantities.values())
        steps = next(iter(quantities.values())).shape[1]
        tables = cls(plan, quantities, rows, steps)
        for span in plan.spans:
            for level in Level:
                tables._add_check(span.check, level)
        longest = max((s.clock.need_min for s in plan.stages if s.clock), default=0.0)
        for stage in plan.stages:
            if stage.clock and stage.clock.rate_key not in tables._clocks:
                values = np.broadcast_to(rate(stage.clock, quantities), (rows, steps))
                tables._clocks[stage.clock.rate_key] = ClockTable.of(values, longest)
        return tables

    def _add_check(self, check: Check, level: Level) -> None:
        low, high = check.bounds(level)
        if (check, level) in self._checks or (low is None and high is None):
            return
        value = self.quantities[check.quantity]
        bad = np.zeros(value.shape, dtype=np.bool_)
        if low is not None:
            bad |= value < low
        if high is not None:
            bad |= value > high
        self._checks[check, level] = CheckTable(NextStep.of(bad), NextStep.of(np.isnan(value)))

    def check(self, check: Check, level: Level) -> CheckTable | None:
        """Return the table of a check, None where it has no bound at ``level``."""
        return self._checks.get((check, level))

    def clock(self, clock: Clock) -> ClockTable:
        """Return the table of a clock."""
        return self._clocks[clock.rate_key]

    @property
    def horizon_min(self) -> int:
        """Minutes from the beginning of the grid to its end."""
        return self.n_steps * STEP_MIN

"""How long stages last: their own minutes, until a clock is done, or as the lamp's pace says."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sprayadvisor.advice.plan import Clock, Pace, PlanStage
from sprayadvisor.advice.tables import Bools, Ints, Tables
from sprayadvisor.science.quantities import STEP_MIN


class Length(NamedTuple):
    """How n plays of one stage end.

    Attributes:
        ends: (n,) minutes from the beginning of the grid, beyond its end too.
        never: (n,) whether it never ends, or so late that nobody waits for it.
        off_grid: (n,) whether it ends beyond the grid, or when it ends is not known.
    """

    ends: Ints
    never: Bools
    off_grid: Bools


def length_of(tables: Tables, stage: PlanStage, rows: Ints, begins: Ints, since: Ints) -> Length:
    """Return how a stage ends that begins at ``begins`` and whose clock counts from ``since``."""
    least = begins + max(stage.minutes or 0, stage.least_min)
    if stage.clock is not None:
        return _by_clock(tables, stage.clock, rows, np.maximum(begins, least), since)
    if stage.pace is not None:
        return _by_pace(tables, stage.pace, rows, begins, least)
    return Length(least, np.zeros(rows.size, dtype=np.bool_), least > tables.horizon_min)


def _by_clock(tables: Tables, clock: Clock, rows: Ints, least: Ints, since: Ints) -> Length:
    """Return when a clock is done, no sooner than ``least``."""
    table = tables.clock(clock)
    given_up = since + clock.given_up_min
    ends = table.ends(rows, since, clock.need_min)
    never = (ends > given_up) & (given_up <= tables.horizon_min)
    lasts = np.where(never, given_up, ends)
    not_known = np.zeros_like(never)
    if table.unknown is not None:
        first_unknown = table.unknown(tables.places(rows, since // STEP_MIN))
        last_step = np.minimum((lasts - 1) // STEP_MIN, tables.n_steps - 1)
        not_known = first_unknown <= last_step
        # At the first minute of that quarter hour it was certainly still drying.
        drying_at = np.maximum(first_unknown.astype(np.int64) * STEP_MIN, since)
        lasts = np.where(not_known, drying_at + 1, lasts)
    lasts = np.maximum(lasts, least)
    return Length(lasts, never & ~not_known, not_known | (~never & (lasts > tables.horizon_min)))


def _by_pace(tables: Tables, pace: Pace, rows: Ints, begins: Ints, least: Ints) -> Length:
    """Return when work with the lamp ends, no sooner than ``least``."""
    table = tables.pace(pace)
    at = tables.places(rows, begins // STEP_MIN).flat
    ends = np.maximum(begins + table.minutes.take(at), least)
    return Length(ends, table.never.take(at), table.unknown.take(at) | (ends > tables.horizon_min))

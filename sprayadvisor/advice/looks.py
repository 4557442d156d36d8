"""Where the plays of a block look into the tables of checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.parts import Part
from sprayadvisor.advice.tables import Bools, NextStep, Places, Tables
from sprayadvisor.science.quantities import STEP_MIN

if TYPE_CHECKING:
    from sprayadvisor.advice.play import Played


@dataclass(frozen=True, slots=True)
class Touched:
    """The quarter hours that n plays touch during a part of their block."""

    places: Places
    last_step: NDArray[np.int32]
    some: Bools

    def where(self, ahead: NextStep) -> Bools:
        """Return which plays touch a quarter hour that is marked in a table."""
        return np.asarray((ahead(self.places) <= self.last_step) & self.some)


def mark(marks: Bools, touched: Touched, ahead: list[NextStep | None]) -> None:
    """Mark the plays that touch a marked quarter hour, (level, n), with a table for each level."""
    inside, stop = ahead
    if inside is stop:
        if stop is not None:
            marks |= touched.where(stop)
        return
    for level, table in zip(Level, ahead, strict=True):
        if table is not None:
            marks[level] |= touched.where(table)


class Looks:
    """Where the plays of a block look into the tables; each stage's place is worked out once."""

    def __init__(self, tables: Tables, run: Played) -> None:
        self._tables, self._run = tables, run
        self._places: dict[int, Places] = {}
        self._last_steps: dict[int, NDArray[np.int32]] = {}

    def touched(self, part: Part) -> Touched:
        """Return the quarter hours touched during ``part``."""
        run, first = self._run, part.first - self._run.block.first
        if first not in self._places:
            steps = run.begins[first] // STEP_MIN
            self._places[first] = self._tables.places(run.rows, steps)
        if part.until not in self._last_steps:
            last_step = (run.end_of(part.until) - 1) // STEP_MIN
            self._last_steps[part.until] = last_step.astype(np.int32)
        some = run.reached[first]
        if part.may_be_empty:
            some = some & (run.end_of(part.until) > run.begins[first])
        return Touched(self._places[first], self._last_steps[part.until], some)

"""What each check of a play came to: its worst value, where and when, and its margins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.chain import Walk
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Plan, Span
from sprayadvisor.science.quantities import STEP_MIN


@dataclass(frozen=True, slots=True)
class Reading:
    """The worst value a check met in one play.

    Attributes:
        check: quantity, bounds and origin.
        stage: index of the stage in which the worst value fell.
        minute: beginning of that quarter hour, or of the stage where it begins within it, minutes
            from the beginning of the grid.
        value: the worst value, NaN if any in the span is not known.
        inside_margin: distance to the bound inside the sheet, negative outside; ∞ without one.
        stop_margin: distance to the stop; ∞ without one.
    """

    check: Check
    stage: int
    minute: int
    value: float
    inside_margin: float
    stop_margin: float

    def margin(self, level: Level) -> float:
        """Return the margin at ``level``."""
        return self.inside_margin if level is Level.INSIDE else self.stop_margin

    def scaled(self, level: Level) -> float:
        """Return the margin in units of the quantity's scale; NaN counts as the smallest."""
        margin = self.margin(level) / self.check.words.scale
        return -np.inf if np.isnan(margin) else margin


def readings(
    plan: Plan, quantities: Mapping[str, Floats], walk: Walk, row: int
) -> tuple[Reading, ...]:
    """Return a reading for every span that row ``row`` of a walk reached."""
    found = []
    for span in plan.spans:
        reading = read_span(span, quantities, walk, row)
        if reading is not None:
            found.append(reading)
    return tuple(found)


def read_span(
    span: Span,
    quantities: Mapping[str, Floats],
    walk: Walk,
    row: int,
    level: Level = Level.INSIDE,
) -> Reading | None:
    """Return the reading of one span, None where the play never got there or touched nothing.

    The worst value is the one with the smallest margin at ``level``.
    """
    stages = [j for j in range(span.first, span.last + 1) if walk.ends[j, row] >= 0]
    steps = [_touched(walk, stage, row) for stage in stages]
    touched = [(stage, step) for stage, some in zip(stages, steps, strict=True) for step in some]
    if not touched:
        return None
    values = quantities[span.check.read_from]
    series = values[row if values.shape[0] > 1 else 0]
    met = series[[step for _, step in touched]]
    margins = span.check.margin(met, level)
    worst = int(np.argmax(np.isnan(margins))) if np.isnan(met).any() else int(np.argmin(margins))
    stage, step = touched[worst]
    value = np.asarray(met[worst])
    inside, stop = (float(span.check.margin(value, each)) for each in Level)
    minute = max(int(step) * STEP_MIN, int(walk.begins[stage, row]))
    return Reading(span.check, stage, minute, float(value), inside, stop)


def lamp_lit(plan: Plan, check: Check, walk: Walk, row: int) -> bool:
    """Return whether a check is of metal that the lamp has warmed in row ``row`` of a walk.

    Metal that was warm enough is left as it is, and the lamp is never lit.
    """
    stages = {
        array: warmth.stage
        for warmth in plan.warmths
        for array in (warmth.panel, warmth.hottest, warmth.dew_margin)
    }
    if check.array not in stages:
        return False
    ids = [one.id for one in plan.stages]
    if stages[check.array] not in ids:
        return True  # of a job under way that is over, and counts as it was planned
    stage = ids.index(stages[check.array])
    return bool(walk.ends[stage, row] > walk.begins[stage, row])


def _touched(walk: Walk, stage: int, row: int) -> range:
    """Return the steps that a stage touches."""
    begin, end = int(walk.begins[stage, row]), int(walk.ends[stage, row])
    return range(begin // STEP_MIN, (end - 1) // STEP_MIN + 1) if end > begin else range(0)

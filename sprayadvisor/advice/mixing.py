"""How much of each product is mixed for a job, and whether it stays sprayable long enough."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.best import BestPlay
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.advice.sheet_mixing import PotLife

# Marks of a mixing cup that can be hit, up to an amount, ml: common practice, no source.
_MARKS = ((100.0, 10.0), (500.0, 25.0), (math.inf, 50.0))


@dataclass(frozen=True, slots=True)
class Mix:
    """One cup of a product: the coats sprayed of it before any of them is baked or left to dry.

    Attributes:
        coats: how many.
        ml: ready mixed, what stays in cup and gun included; None where the sheet says no amount.
        minutes: from the beginning of the first coat to the end of the last, as in the best play;
            None where that is not reached.
    """

    coats: int
    ml: float | None
    minutes: int | None

    def outlasts(self, pot_life_min: float | None) -> bool:
        """Return whether the coats take longer than the paint can be sprayed."""
        return None not in (self.minutes, pot_life_min) and (self.minutes or 0) > (
            pot_life_min or 0
        )


def mixes(plan: Plan, play: BestPlay, role: str, area_m2: float) -> tuple[Mix, ...]:
    """Return the cups of one product in the best play.

    Args:
        plan: the stages.
        play: when they are done.
        role: of the product.
        area_m2: of the whole repair.
    """
    return tuple(
        Mix(len(cup), _amount_ml(plan, cup, area_m2), _minutes(play, cup))
        for cup in _cups(plan, role)
    )


def _cups(plan: Plan, role: str) -> Iterator[list[int]]:
    """Yield the coats of each cup; a bake or a wait to dry ends it."""
    cup: list[int] = []
    for index, stage in enumerate(plan.stages):
        dries = stage.kind == "lamp" or (stage.clock is not None and stage.clock.kind == "cure")
        if dries and cup:
            yield cup
            cup = []
        if stage.kind == "coat" and stage.role == role:
            cup.append(index)
    if cup:
        yield cup


def _amount_ml(plan: Plan, cup: list[int], area_m2: float) -> float | None:
    sheet: Sheet = plan.sheets[plan.stages[cup[0]].role or ""]
    if sheet.spread is None:
        return None
    areas = [plan.stages[index].area_share * area_m2 for index in cup]
    wanted = sheet.spread.ml_m2_coat * sum(areas) + sheet.spread.left_ml
    return to_mark_ml(max(wanted, sheet.spread.least_ml))


def to_mark_ml(ml: float) -> float:
    """Return an amount rounded up to the next mark of a mixing cup."""
    mark = next(mark for below, mark in _MARKS if ml <= below)
    return math.ceil(round(ml / mark, 6)) * mark


def _minutes(play: BestPlay, cup: list[int]) -> int | None:
    begin, end = (int(play.walk.begins[cup[0], play.row]), int(play.walk.ends[cup[-1], play.row]))
    return end - begin if 0 <= begin <= end else None


def pot_life_min(printed: PotLife | None, paint_temp_c: float) -> float | None:
    """Return the pot life at a temperature, minutes: it falls by the same factor for each kelvin.

    Drawn through the two printed values; None without them or for NaN. Not stretched beyond 5 and
    40 °C.
    """
    if printed is None or np.isnan(paint_temp_c):
        return None
    warm = (float(np.clip(paint_temp_c, 5.0, 40.0)) - 20.0) / 10.0
    return float(printed.at_20_c_min * (printed.at_30_c_min / printed.at_20_c_min) ** warm)

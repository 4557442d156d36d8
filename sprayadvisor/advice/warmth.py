"""A panel warmed before its coats: what is left of the warmth as each of them flashes off.

The lamp goes off, and the warmth goes with the wind. To keep the play independent of when exactly
that was, each coat meets in every quarter hour what would be left at the end of its flash-off. This
is cautious in that the coat itself meets more, and in that nothing is counted on where the panel
was warm enough by itself at any time since the warming may have begun: then perhaps it was not
warmed. It is not cautious where a flash-off takes more than ``SLOWER`` times its printed minutes,
on metal near 12 °C all the same; what follows then meets a panel up to a few kelvin colder than
thought. The sheet's upper bound is held against the panel at its hottest, as the lamp goes off.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Pace, Plan, PlanStage, Warmth
from sprayadvisor.advice.tables import Bools
from sprayadvisor.science.lamp import lamp_temp_c, lift_left_k, soaked_heat_j_m2k
from sprayadvisor.science.quantities import STEP_MIN

LONGEST_MIN = 20.0  # after the lamp; then nine tenths of the warmth are gone in a light wind
SLOWER = 1.5  # a flash-off may take so many times its printed minutes
PLACE_MIN = 5.0  # to heat one place, for how long the first has cooled (engineering estimate)


class Warmed(NamedTuple):
    """Stages ``first``, a coat, to ``last`` of a plan meet a panel that was warmed for them."""

    first: int
    last: int
    warmth: Warmth


def warmed_stages(stages: Sequence[PlanStage], skin_j_m2k: float) -> tuple[Warmed, ...]:
    """Return which stages of a plan meet a warmed panel, one item for each coat.

    Args:
        stages: the compiled stages.
        skin_j_m2k: heat capacity of the panel's skin.
    """
    return tuple(
        warmed
        for index, stage in enumerate(stages)
        if stage.kind == "warm" and stage.pace is not None
        for warmed in _warmed(stages, index, stage.pace, skin_j_m2k)
    )


def _warmed(
    stages: Sequence[PlanStage], at: int, pace: Pace, skin_j_m2k: float
) -> Iterator[Warmed]:
    """Yield the coats that count on one warming, each with its flash-off if over in time."""
    heat = soaked_heat_j_m2k(skin_j_m2k, pace.hold_min)
    for first, last, minutes in _coats_in_time(stages, at, pace):
        window_min = pace.hold_min + PLACE_MIN + minutes
        yield Warmed(
            first, last, Warmth(stages[at].id, stages[first].id, pace, heat, minutes, window_min)
        )


def _coats_in_time(
    stages: Sequence[PlanStage], at: int, pace: Pace
) -> Iterator[tuple[int, int, float]]:
    """Yield each coat, its last stage that counts, and the minutes since the lamp went off then."""
    minutes = (pace.places - 1) * (pace.hold_min + PLACE_MIN)
    coat: tuple[int, int, float] | None = None
    for index in range(at + 1, len(stages)):
        stage = stages[index]
        if stage.alongside is not None:
            continue
        minutes += _at_most_min(stage)
        by_hand = stage.kind in ("hand", "check")
        if minutes > LONGEST_MIN or (coat and by_hand):
            break
        if stage.kind == "coat":
            if coat:
                yield coat
            coat = index, index, minutes
        elif coat:
            coat = coat[0], index, minutes
    if coat:
        yield coat


def _at_most_min(stage: PlanStage) -> float:
    """Return how long a stage takes, a slow flash-off included; infinite for lamp and drying."""
    own = max(stage.minutes or 0, stage.least_min)
    if stage.pace is not None or (stage.clock is not None and stage.clock.kind == "cure"):
        return math.inf
    if stage.clock is None:
        return own
    return max(own, SLOWER * stage.clock.need_min / stage.clock.boost)


def lamp_quantities(plan: Plan, values: Mapping[str, Floats]) -> dict[str, Floats]:
    """Return (row, step) what the lamp of a plan can hold, and what is left of its warmth.

    Args:
        plan: its lamp and its warmings.
        values: needs ``panel_temp_c``, ``dew_margin_k``, ``air_temp_c`` and ``wind_ms``.
    """
    paces = [stage.pace for stage in plan.stages if stage.pace is not None]
    absorbed = max((pace.absorbed_wm2 for pace in paces), default=0.0)
    found: dict[str, Floats] = {}
    if absorbed > 0:
        found["lamp_temp_c"] = lamp_temp_c(absorbed, values["air_temp_c"], values["wind_ms"])
    for warmth in plan.warmths:
        found |= _after(warmth, values)
    return found


def _after(warmth: Warmth, values: Mapping[str, Floats]) -> dict[str, Floats]:
    """Return the panel and its dew margin after one warming."""
    panel = values["panel_temp_c"]
    pace = warmth.pace
    back = math.ceil(warmth.window_min / STEP_MIN)
    was_warm = _any_of_last(~(panel < pace.below_c), back, before=True)
    may_be_cold = _any_of_last(~(panel >= pace.below_c), back, before=False)
    lift = np.where(was_warm, 0.0, np.maximum(pace.goal_temp_c - panel, 0.0))
    left = lift_left_k(
        lift, warmth.minutes, values["air_temp_c"], values["wind_ms"], warmth.heat_j_m2k
    )
    left = np.where(was_warm, 0.0, left)
    return {
        warmth.panel: panel + left,
        warmth.hottest: np.where(may_be_cold, np.maximum(panel, pace.goal_temp_c), panel),
        warmth.dew_margin: values["dew_margin_k"] + left,
    }


def _any_of_last(marked: Bools, back: int, *, before: bool) -> Bools:
    """Return (row, step) whether a step or one of the ``back`` before it is marked.

    Args:
        marked: (row, step) marks.
        back: steps to look back.
        before: what is taken to be before the beginning of the grid.
    """
    rows, steps = marked.shape
    padded = np.concatenate([np.full((rows, back), before), marked], axis=1)
    found = np.zeros_like(marked)
    for shift in range(back + 1):
        found |= padded[:, shift : shift + steps]
    return found

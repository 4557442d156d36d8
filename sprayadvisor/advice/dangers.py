"""What would break a bound next, whether the work is over by then or not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.best import BestPlay
from sprayadvisor.advice.chain import Chain
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.from_now import Rest
from sprayadvisor.advice.onsite import Danger
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.plan import Plan
from sprayadvisor.science.quantities import STEP_MIN

# Trade judgements: what a third of the members shows is a danger to be told; beyond so many hours
# nobody at the car asks.
DANGER_SHARE, DANGER_H = 1.0 / 3.0, 8.0
_NO_DANGER = ("light_lx", "diffuse_lx", "low_sun", "lamp_temp_c")


def danger(rest: Rest, chain: Chain, play: BestPlay) -> Danger | None:
    """Return what breaks a bound next; an inside bound broken as its work begins is no news.

    A bound counts from when its work begins in the play, and on after it is over.
    """

    def order(one: _Broken) -> tuple[bool, int, bool]:
        inside = one.level is Level.INSIDE
        return inside and one.at_once, one.minute, inside

    first = min(_dangers(rest, chain.tables.quantities, play), key=order, default=None)
    if first is None:
        return None
    at = rest.at(first.minute)
    return Danger(first.check, first.level, at, first.share, first.too_low)


@dataclass(frozen=True, slots=True)
class _Broken:
    check: Check
    level: Level
    minute: int
    share: float
    too_low: bool
    at_once: bool


def _dangers(rest: Rest, quantities: Mapping[str, Floats], play: BestPlay) -> Iterator[_Broken]:
    """Yield for each bound of a wet stage the first quarter hour in which it breaks."""
    until = rest.now_min // STEP_MIN + round(DANGER_H * 60 / STEP_MIN)
    for check, level, stage in _bounds(rest.plan):
        now = max(int(play.walk.begins[stage, play.row]), rest.now_min) // STEP_MIN
        ahead = slice(now, until)
        values = quantities[check.read_from][:, ahead]
        low, high = check.bounds(level)
        under = values < low if low is not None else np.zeros(values.shape, dtype=np.bool_)
        over = values > high if high is not None else np.zeros(values.shape, dtype=np.bool_)
        broken = _shares(under | over, rest.climate)
        steps = np.flatnonzero(broken >= DANGER_SHARE)
        if steps.size:
            step = int(steps[0])
            minute = max((now + step) * STEP_MIN, rest.now_min)
            too_low = bool(under[:, step].sum() >= over[:, step].sum())
            yield _Broken(check, level, minute, float(broken[step]), too_low, step == 0)


def _bounds(plan: Plan) -> Iterator[tuple[Check, Level, int]]:
    """Yield the checks of wet stages with each level of its own, and their first stage."""
    wet = [i for i, s in enumerate(plan.stages) if s.kind in ("coat", "flash", "lamp")]
    spans = [
        span
        for span in plan.spans
        if any(span.first <= i <= span.last for i in wet) and span.check.quantity not in _NO_DANGER
    ]
    firsts = {span.check: span.first for span in reversed(spans)}
    for check, first in firsts.items():
        for level in Level:
            if check.bounds(level) != (None, None) and (
                level is Level.STOP or check.bounds(level) != check.bounds(Level.STOP)
            ):
                yield check, level, first


def _shares(broken: np.typing.NDArray[np.bool_], climate: Climate) -> Floats:
    """Return (step,) the share of members in which any panel is beyond the bound."""
    if broken.shape[0] == 1:
        return np.asarray(broken[0], dtype=np.float64)
    by_case = broken.reshape(climate.n_cases, climate.n_members, -1)
    found: Floats = np.mean(by_case.any(axis=0).astype(np.float64), axis=0)
    return found

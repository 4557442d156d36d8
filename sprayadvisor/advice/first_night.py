"""The hours after the work in which rain or dew still leaves spots on fresh clear."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.outlook import minute_of, time_of
from sprayadvisor.science.quantities import STEP_MIN

# How long rain and dew still spot fresh clear: common practice, no source.
AFTER_LAMP, IN_AIR = timedelta(hours=3), timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class Wetting:
    """Water that falls on the clear too soon.

    Attributes:
        share: of the members in which it certainly does.
        at: when it has begun in half of these, UTC; None where it begins in none.
        known: whether all of that time is known.
    """

    share: float
    at: datetime | None
    known: bool = True


@dataclass(frozen=True, slots=True)
class FirstNight:
    """Until when the clear must be kept dry, UTC, and how likely it gets wet where it stands."""

    until: datetime
    rain: Wetting
    dew: Wetting


def first_night(found: Judgement, done: datetime | None) -> FirstNight | None:
    """Return what threatens the clear of a job after its best play.

    Args:
        found: the judgement.
        done: when the last of it is baked or dry, UTC; None where nothing is without return.
    """
    if found.plan is None or found.climate is None or done is None:
        return None
    bounds = found.plan.commitment()
    stages = found.plan.stages[bounds[0] : bounds[1] + 1] if bounds else ()
    baked = any(stage.kind == "lamp" for stage in stages)
    until = done + (AFTER_LAMP if baked else IN_AIR)
    rain = _wetting(found.climate, "wet_hour_mm", done, until)
    return FirstNight(until, rain, _wetting(found.climate, "panel_wet", done, until))


def _wetting(met: Climate, quantity: str, begin: datetime, end: datetime) -> Wetting:
    """Return how likely any panel of the job is wetted between two times."""
    first = max(minute_of(met.starts_utc, begin) // STEP_MIN, 0)
    stop = -(-minute_of(met.starts_utc, end) // STEP_MIN)
    ahead = met[quantity][:, first:stop]
    known = stop <= len(met.starts_utc) and bool(np.isfinite(ahead).all())
    wet = _any_panel(met, ahead > 0.0)
    hit = wet.any(axis=1)
    if not hit.any():
        return Wetting(0.0, None, known)
    begins = int(np.median(wet[hit].argmax(axis=1)))
    at = time_of(met.starts_utc, (first + begins) * STEP_MIN)
    return Wetting(float(hit.mean()), at, known)


def _any_panel(met: Climate, wet: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return (member, step) from (case·member, step)."""
    return np.asarray(wet.reshape(met.n_cases, met.n_members, wet.shape[1]).any(axis=0))

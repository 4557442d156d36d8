"""Water on the panels on the morning of a job: how long it stays, and whether wiping is worth it.

What more than half of the members say counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time

import numpy as np

from sprayadvisor.advice.case import Case
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.outlook import minute_of, time_of
from sprayadvisor.advice.tables import Bools
from sprayadvisor.science.quantities import STEP_MIN

# Looked at from and until; a panel still wet then is wet with rain, not with dew.
MORNING, NOON = time(6), time(14)


@dataclass(frozen=True, slots=True)
class Wet:
    """The panel that stays wet longest.

    Attributes:
        panel: its index among the panels of the job.
        until: until when water stands on it, UTC; None where it does not dry that morning.
        white_until: until when it is white with rime, UTC; None where it is not.
        wiped_at: when it could be wiped, UTC: as the painter arrives; None where it is dry then.
        again_at: when it is wet again after that, UTC; None where it stays dry.
    """

    panel: int
    until: datetime | None
    white_until: datetime | None = None
    wiped_at: datetime | None = None
    again_at: datetime | None = None


def wiped_cases(job: Job, cases: Sequence[Case], climate: Climate) -> list[Case]:
    """Return the cases of a job wiped dry on arrival, none where no panel is wet then.

    Args:
        job: the booking.
        cases: its panels, as the climate has them.
        climate: what they meet.
    """
    step = _arrival(job, climate) // STEP_MIN
    morning = _morning(job, climate)
    if step not in range(morning.start, morning.stop):
        return []
    now = slice(step, step + 1)
    wet = [_mostly(climate, "panel_wet", case, now).all() for case in range(climate.n_cases)]
    return [replace(case, wiped_at_min=_arrival(job, climate)) for case in cases if any(wet)]


def wet_morning(job: Job, climate: Climate, wiped: Climate | None = None) -> Wet | None:
    """Return which panel stays wet longest and until when; None where all are dry at six.

    Args:
        job: the booking.
        climate: one case for each of its panels.
        wiped: the same wiped dry on arrival, None where that is not asked.
    """
    morning = _morning(job, climate)
    cases = range(climate.n_cases)
    lasts = [_first_without(climate, "panel_wet", case, morning) for case in cases]
    panel = int(np.argmax(lasts))
    if lasts[panel] == 0:
        return None

    def at(step: int) -> datetime:
        return time_of(climate.starts_utc, (morning.start + step) * STEP_MIN)

    white = _first_without(climate, "panel_white", panel, morning)
    found = Wet(
        panel,
        at(lasts[panel]) if lasts[panel] < morning.stop - morning.start else None,
        at(white) if white else None,
    )
    minute = _arrival(job, climate)
    if wiped is None or minute // STEP_MIN >= morning.start + lasts[panel]:
        return found
    again = _mostly(wiped, "panel_wet", panel, slice(minute // STEP_MIN, morning.stop))
    wiped_at = time_of(climate.starts_utc, minute)
    if not again.any():
        return replace(found, wiped_at=wiped_at)
    wet_from = (minute // STEP_MIN + int(again.argmax())) * STEP_MIN
    again_at = time_of(climate.starts_utc, max(wet_from, minute))
    return replace(found, wiped_at=wiped_at, again_at=again_at)


def _arrival(job: Job, climate: Climate) -> int:
    """Return the minute of the grid at which the painter arrives at the soonest."""
    return minute_of(climate.starts_utc, local_time(job.day, job.arrive_from, job.site.zone))


def _morning(job: Job, climate: Climate) -> slice:
    """Return the steps of the morning that lie on the grid."""
    begin, end = (
        minute_of(climate.starts_utc, local_time(job.day, clock, job.site.zone)) // STEP_MIN
        for clock in (MORNING, NOON)
    )
    steps = len(climate.starts_utc)
    return slice(min(max(begin, 0), steps), min(max(end, 0), steps))


def _mostly(climate: Climate, flag: str, panel: int, steps: slice) -> Bools:
    """Return (step,) whether a flag is set in more than half of the members; unknown is not."""
    return np.asarray((climate.case(flag, panel)[:, steps] > 0.5).mean(axis=0) > 0.5)


def _first_without(climate: Climate, flag: str, panel: int, steps: slice) -> int:
    """Return after how many steps a flag is first not set, or how many there are."""
    without = np.flatnonzero(~_mostly(climate, flag, panel, steps))
    return int(without[0]) if without.size else steps.stop - steps.start

"""Local days on the UTC grid: working hours, when the car is there, when it must be back."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from sprayadvisor.advice.model import Job
from sprayadvisor.advice.outlook import Floats, Times, time_of
from sprayadvisor.advice.policy import Policy
from sprayadvisor.science.quantities import STEP_MIN


def local_time(day: date, clock: time, zone: str) -> datetime:
    """Return a local clock time as an aware UTC time.

    A clock time that a clock change skips is taken as the same instant, an hour later by the wall;
    of one that comes twice the first is meant.
    """
    return datetime.combine(day, clock, tzinfo=ZoneInfo(zone)).astimezone(UTC)


def day_bounds(day: date, zone: str) -> tuple[datetime, datetime]:
    """Return the beginning and the end of a local day, UTC; 23 to 25 hours apart."""
    return local_time(day, time(0), zone), local_time(day + timedelta(days=1), time(0), zone)


def off_hours(starts_utc: Times, job: Job, policy: Policy) -> Floats:
    """Return (1, step) ones where no work may be done on this job, zeros where it may.

    Working hours hold on every day. ``car_there_from`` and ``back_by`` belong to the agreed day.
    """
    off = np.ones((1, len(starts_utc)))
    first = time_of(starts_utc, 0)
    last = time_of(starts_utc, STEP_MIN * (len(starts_utc) - 1)) + timedelta(minutes=STEP_MIN)
    day = first.astimezone(ZoneInfo(job.site.zone)).date()
    while local_time(day, time(0), job.site.zone) < last:
        opens, closes = open_on(day, job, policy)
        begin = local_time(day, opens, job.site.zone)
        end = local_time(day, closes, job.site.zone)
        off[0, _step_at_or_after(begin, first) : _step_before(end, first)] = 0.0
        day += timedelta(days=1)
    return off


def open_on(day: date, job: Job, policy: Policy) -> tuple[time, time]:
    """Return from when to when work may be done on a local day."""
    opens, closes = policy.work_from, policy.work_to
    if day == job.day:
        opens = max(opens, job.car_there_from or opens)
        closes = min(closes, job.back_by or closes)
    return opens, closes


def arrival_steps(starts_utc: Times, job: Job, not_before: datetime) -> np.typing.NDArray[np.int64]:
    """Return the steps of the grid that lie in the agreed arrival window and not in the past."""
    begin = max(local_time(job.day, job.arrive_from, job.site.zone), not_before)
    end = local_time(job.day, job.arrive_to, job.site.zone)
    first = time_of(starts_utc, 0)
    low = _step_at_or_after(begin, first)
    high = int((end - first).total_seconds() // (60 * STEP_MIN)) + 1
    return np.arange(low, max(low, min(high, len(starts_utc))))


def coming_steps(
    starts_utc: Times, not_before: datetime, hours: float
) -> np.typing.NDArray[np.int64]:
    """Return the steps from ``not_before`` on, for so many hours."""
    low = _step_at_or_after(not_before, time_of(starts_utc, 0))
    high = min(low + int(hours * 60 / STEP_MIN), len(starts_utc))
    return np.arange(min(low, high), high)


def _step_at_or_after(when: datetime, first: datetime) -> int:
    return max(0, -int((first - when).total_seconds() // (60 * STEP_MIN)))


def _step_before(when: datetime, first: datetime) -> int:
    """Return the number of whole steps that are over by ``when``."""
    return max(0, int((when - first).total_seconds() // (60 * STEP_MIN)))

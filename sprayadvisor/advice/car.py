"""The car and all that is known of its job, as it stands in the weather that was read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.onsite import Asked
from sprayadvisor.advice.outlook import AirQuality, minute_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.said import Report
from sprayadvisor.advice.setups import Setup


@dataclass(frozen=True, slots=True)
class Car:
    """All that is known of the job beyond what is asked.

    Attributes:
        setup: how the job is done as booked.
        policy: the user's bounds.
        members: the weathers that may come.
        air_quality: pollen and fine dust; None where nothing is known.
        ids: the stage of the process that comes next, and all that follow it.
        begun_at: when that stage was begun, where the painter said so; aware.
        noted: the stage he noted last, with all that follow it, and when; None where he did not.
    """

    setup: Setup
    policy: Policy
    members: Members
    air_quality: AirQuality | None
    ids: tuple[str, ...]
    begun_at: datetime | None = None
    noted: Report | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """The car as it stands: under its shelter, in the weather as read.

    Attributes:
        car: what is known of the job.
        asked: what was asked.
        now: aware.
        setup: how the job is done now: its shelter, its lamp.
        drawn: the weathers, drawn to what was read.
        climate: what its panels meet, as read.
    """

    car: Car
    asked: Asked
    now: datetime
    setup: Setup
    drawn: Members
    climate: Climate

    @property
    def now_min(self) -> int:
        """This minute of the grid."""
        return minute_of(self.drawn.starts_utc, self.now)


def judged_until(plan: Plan, first: int) -> int:
    """Return the stage before which what is judged ends.

    What is wet must come through; polishing can wait for another hour.
    """
    bounds = plan.commitment()
    return bounds[1] + 1 if bounds and first <= bounds[1] else len(plan.stages)


def moment_of(plan: Plan, first: int) -> Moment:
    """Return which thresholds count: once the base is on, those before the clear."""
    bounds = plan.commitment()
    return Moment.BEFORE_CLEAR if bounds and first > bounds[0] else Moment.BEFORE_BASE

"""The car and all that is known of its job, as it stands in the weather that was read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sprayadvisor.advice.case import cases_of
from sprayadvisor.advice.climate import Climate, climate
from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.model import Job, Kit
from sprayadvisor.advice.onsite import Asked
from sprayadvisor.advice.outlook import AirQuality, minute_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.pull import with_panel
from sprayadvisor.advice.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Car:
    """All that is known of the job beyond what is asked.

    Attributes:
        job: the booking.
        process: its process.
        sheets: the sheets of the process, by role.
        kit: what is in the van.
        policy: the user's bounds.
        members: the weathers that may come.
        air_quality: pollen and fine dust; None where nothing is known.
        ids: the stage of the process that comes next, and all that follow it.
        begun_at: when that stage was begun, where the painter said so; aware.
    """

    job: Job
    process: Process
    sheets: Mapping[str, Sheet]
    kit: Kit
    policy: Policy
    members: Members
    air_quality: AirQuality | None
    ids: tuple[str, ...]
    begun_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """The car as it stands: under its shelter, in the weather as read, with its plan.

    Attributes:
        car: what is known of the job.
        asked: what was asked.
        now: aware.
        job: the booking, under the shelter it stands under now.
        kit: what will be used of the van's.
        process: the stages, one put in before the next where that is tried.
        drawn: the weathers, drawn to what was read.
        as_it_stood: the climate under another cover, where it stood there until now.
    """

    car: Car
    asked: Asked
    now: datetime
    job: Job
    kit: Kit
    process: Process
    drawn: Members
    as_it_stood: Climate | None

    def plan(self) -> Plan:
        """Return the plan of the whole job."""
        return compile_plan(self.process, self.car.sheets, self.job, self.kit, self.car.policy)

    def climate(self) -> Climate:
        """Return what its panels meet, as read."""
        cases = cases_of(self.job, self.drawn.starts_utc)
        met = climate(self.drawn, cases, self.car.air_quality)
        return with_panel(met, self.asked.reading, self.as_it_stood)

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

"""Whether a job can be done within the hours of its day at all, whatever the weather."""

from __future__ import annotations

from datetime import date, datetime, time

from sprayadvisor.advice.hours import open_on
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.printed import in_a_row


def too_long(plan: Plan, job: Job, policy: Policy) -> str:
    """Return that a plan is longer than the hours agreed, in words; empty where it is not.

    Args:
        plan: everything that is done in one go.
        job: its day, and from when to when the car is there.
        policy: working hours.
    """
    least = max((end for _, end in in_a_row(plan, rate=float("inf"))), default=0)
    opens, closes = open_on(job.day, job, policy)
    opens = max(opens, job.arrive_from)
    if least <= _minutes(opens, closes):
        return ""
    return (
        f"the work takes {_long(least)} at the least, and from {opens:%H:%M} to {closes:%H:%M} "
        f"there are {_long(_minutes(opens, closes))}: agree on longer hours, or split the job"
    )


def _minutes(opens: time, closes: time) -> int:
    """Return the minutes between two clock times, none where they are the wrong way round."""
    day = date.min
    between = datetime.combine(day, closes) - datetime.combine(day, opens)
    return max(int(between.total_seconds() // 60), 0)


def _long(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"

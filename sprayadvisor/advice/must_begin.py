"""By when a stage must have begun, from what was said of the coat before it."""

from __future__ import annotations

from datetime import datetime, timedelta

from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.printed import in_a_row


def must_begin_by(
    plan: Plan,
    stage: int,
    *,
    matt_at: datetime | None = None,
    noted: int | None = None,
    noted_at: datetime | None = None,
) -> datetime | None:
    """Return the latest a stage may begin; None where nobody said when the coat before went on.

    Args:
        plan: the compiled plan.
        stage: index of the stage that comes next.
        matt_at: when the coat before had turned matt: it was on before, so that is the latest.
        noted: index of the stage that was noted as begun last.
        noted_at: when it was; what lies between takes its printed minutes.
    """
    times, found = in_a_row(plan), []
    for one in plan.deadlines_of(stage):
        allowed = timedelta(minutes=one.minutes)
        if matt_at is not None and plan.stages[one.since].kind in ("coat", "flash"):
            found.append(matt_at + allowed)
        if noted is not None and noted_at is not None and noted <= one.since:
            between = times[one.since][1] - times[noted][0]
            found.append(noted_at + timedelta(minutes=between) + allowed)
    return min(found, default=None)

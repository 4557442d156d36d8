"""Work that can wait for another hour or another day once the paint has come through."""

from __future__ import annotations

from dataclasses import replace

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.plan import Plan, Span


def spare_what_can_wait(plan: Plan) -> Plan:
    """Return a plan in which nothing behind the safe stop after the bake can make a *no-go*.

    Polish that is too warm or rained on is done an hour later; the paint under it is no worse.
    So what stops such work is no more than a reason for *care*. The hours agreed stay as they are.
    """
    first = first_leavable(plan)
    if first is None:
        return plan
    return replace(plan, spans=tuple(_spared(span, first) for span in plan.spans))


def first_leavable(plan: Plan) -> int | None:
    """Return the first stage that can wait; None where there is none."""
    bounds = plan.commitment()
    if bounds is None:
        return None
    behind = range(bounds[1], len(plan.stages) - 1)
    return next((index + 1 for index in behind if plan.stages[index].safe_stop), None)


def _spared(span: Span, first: int) -> Span:
    if span.first < first:
        return span
    return replace(span, check=_as_care(span.check))


def _as_care(check: Check) -> Check:
    """Return a check that asks the same, but stops nothing."""
    low, high = check.bounds(Level.INSIDE)
    return replace(check, inside_min=low, inside_max=high, stop_min=None, stop_max=None)

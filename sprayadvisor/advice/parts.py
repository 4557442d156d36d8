"""How spans fall on the blocks and stages of a plan.

A span holds from the beginning of its first stage to the latest end of its stages: hand work
alongside a flash ends before the flash does. In a block where a span goes on it holds to the
block's end, and across the wait that may follow.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sprayadvisor.advice.checks import Check
from sprayadvisor.advice.plan import Block, Plan, Span


@dataclass(frozen=True, slots=True)
class Part:
    """From the beginning of stage ``first`` to the end of stage ``until``, indices in the plan.

    ``may_be_empty`` where both may fall on the same minute, because all that lies between may be
    over as it begins.
    """

    first: int
    until: int
    may_be_empty: bool = False


@dataclass(frozen=True, slots=True)
class Held:
    """The checks that hold over one part of a block."""

    part: Part
    checks: tuple[Check, ...]


def held_in(plan: Plan, block: Block) -> tuple[Held, ...]:
    """Return the checks that hold in ``block``, those over the same part together."""
    return _together(
        (_part(plan, max(span.first, block.first), _until(plan, block, span)), span.check)
        for span in plan.spans
        if span.first < block.stop and span.last >= block.first
    )


def held_in_stage(plan: Plan, stage: int) -> tuple[Held, ...]:
    """Return the checks that hold in one stage, those over the same part together.

    A span that begins with hand work in mid-flash and goes on after the flash holds in between
    too: that time falls to the hand work.
    """
    return _together(
        (_part(plan, stage, _until_in_stage(plan, span, stage)), span.check)
        for span in plan.spans
        if span.first <= stage <= span.last and not _over_before(plan, span, stage)
    )


def held_across(plan: Plan, block: Block) -> tuple[Check, ...]:
    """Return the checks that hold across a wait before ``block``."""
    return tuple(s.check for s in plan.spans if s.first < block.first <= s.last)


def _until(plan: Plan, block: Block, span: Span) -> int:
    """Return the stage at whose end a span ends in a block."""
    first, last = max(span.first, block.first), min(span.last, block.stop - 1)
    if span.last >= block.stop:
        return _in_sequence(plan, block.first, last)[-1]
    return (_in_sequence(plan, first, last) or [last])[-1]


def _in_sequence(plan: Plan, first: int, last: int) -> list[int]:
    """Return the stages from ``first`` to ``last`` that run alongside no other."""
    return [j for j in range(first, last + 1) if plan.stages[j].alongside is None]


def _over_before(plan: Plan, span: Span, stage: int) -> bool:
    """Return whether hand work in a span was alongside something that ended before the span."""
    host = plan.stages[stage].alongside
    return host is not None and host < span.first and plan.stages[span.first].alongside is None


def _until_in_stage(plan: Plan, span: Span, stage: int) -> int:
    """Return the stage at whose end the time of a span that falls to ``stage`` ends."""
    host = plan.stages[stage].alongside
    if host is None or host >= span.first or not _in_sequence(plan, stage, span.last):
        return stage
    return _in_sequence(plan, host, stage)[-1]


def _together(parts: Iterable[tuple[Part, Check]]) -> tuple[Held, ...]:
    """Return parts and checks with the checks of equal parts joined, each once."""
    found: dict[Part, dict[Check, None]] = {}
    for part, check in parts:
        found.setdefault(part, {})[check] = None
    return tuple(Held(part, tuple(checks)) for part, checks in found.items())


def _part(plan: Plan, first: int, until: int) -> Part:
    stages = plan.stages[first : until + 1]
    return Part(first, until, bool(stages) and all(stage.may_be_nothing for stage in stages))

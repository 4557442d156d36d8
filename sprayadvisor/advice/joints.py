"""Where a plan is cut, and how long after one stage another must begin."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sprayadvisor.advice.plan import Block, Deadline, PlanStage
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.sheet import Origin, Sheet


def cut(
    stages: Sequence[PlanStage], source: Sequence[Stage], sheets: Mapping[str, Sheet]
) -> tuple[Block, ...]:
    """Cut the stages into blocks where the process lets the work wait.

    Nothing waits between a coat and what must cover or dry it, save the very coat that covers it,
    which then begins in time for both sheet and process.

    Args:
        stages: the compiled stages.
        source: for each of them, the stage of the process it came from.
        sheets: by role.
    """
    bounds = _covered_in_time(stages, sheets)
    firsts = [0] + [
        index
        for index, origin in enumerate(source)
        if index
        and origin is not source[index - 1]
        and origin.may_wait_min
        and not _held_together(stages, bounds, index)
    ]
    return tuple(
        _block(stages, source, bounds, first, stop)
        for first, stop in zip(firsts, [*firsts[1:], len(stages)], strict=True)
    )


def _held_together(stages: Sequence[PlanStage], bounds: Sequence[Deadline], index: int) -> bool:
    """Return whether a stage lies between a coat and what must cover or dry it."""
    work = _last_work_before(stages, index) if index else 0
    bound = any(
        bound.since < index <= bound.stage and (index, work) != (bound.stage, bound.since)
        for bound in bounds
    )
    return bound or any(
        stage.clock is not None and (stage.clock.since or index) < index < at
        for at, stage in enumerate(stages)
    )


def _block(
    stages: Sequence[PlanStage],
    source: Sequence[Stage],
    bounds: Sequence[Deadline],
    first: int,
    stop: int,
) -> Block:
    """Return a block with its wait and the latest it may begin."""
    if not first:
        return Block(first, stop)
    within: list[float] = [bound.minutes for bound in bounds if bound.stage == first]
    own, wait = source[first].within_min, source[first].may_wait_min
    if own is not None:
        within.append(own)
    if not within:
        return Block(first, stop, wait)
    return Block(first, stop, wait, int(min(within)), _last_work_before(stages, first))


def deadlines(
    stages: Sequence[PlanStage],
    source: Sequence[Stage],
    blocks: Sequence[Block],
    process: Process,
    sheets: Mapping[str, Sheet],
) -> tuple[Deadline, ...]:
    """Return every deadline between two stages of the same block."""
    found = [*_covered_in_time(stages, sheets), *_soon_enough(stages, source, blocks, process)]
    return tuple(deadline for deadline in found if _same_block(deadline, blocks))


def _same_block(deadline: Deadline, blocks: Sequence[Block]) -> bool:
    return any(b.first <= deadline.since and deadline.stage < b.stop for b in blocks)


def _last_work_before(stages: Sequence[PlanStage], index: int) -> int:
    """Return the last stage before ``index`` that is work, a bake, or air-drying in its stead.

    The first stage of a process always is: nothing can flash off before a coat.
    """
    return max(
        i
        for i in range(index)
        if stages[i].alongside is None and (stages[i].kind != "flash" or _air_dries(stages[i]))
    )


def _air_dries(stage: PlanStage) -> bool:
    return stage.clock is not None and stage.clock.kind == "cure"


def _soon_enough(
    stages: Sequence[PlanStage],
    source: Sequence[Stage],
    blocks: Sequence[Block],
    process: Process,
) -> list[Deadline]:
    """Return the deadlines that ``within_min`` sets inside blocks."""
    first_of_block = {block.first for block in blocks}
    found = []
    for index, origin in enumerate(source):
        begins = index and origin is not source[index - 1]
        if begins and origin.within_min is not None and index not in first_of_block:
            since = _last_work_before(stages, index)
            found.append(Deadline(index, since, origin.within_min, Origin("process", process.name)))
    return found


def _covered_in_time(stages: Sequence[PlanStage], sheets: Mapping[str, Sheet]) -> list[Deadline]:
    """Return the deadlines that a sheet's longest flash sets for the next paint or the lamp.

    What is sprayed to blend an edge covers nothing: the clear below it stays open, and wet anew, so
    that its minutes count from there. It must follow that clear within the minutes of its own
    sheet. Paint that air-dries instead of being baked is late for nothing.
    """
    found: list[Deadline] = []
    open_coats: dict[str, int] = {}
    for index, stage in enumerate(stages):
        role = stage.role or ""
        if stage.kind == "coat" and sheets[role].kind != "blender":
            open_coats.pop(role, None)
        if stage.kind == "lamp" or (stage.kind == "coat" and sheets[role].kind != "blender"):
            found += _deadlines_of(index, open_coats, sheets)
            open_coats.clear()
        edge = sheets[role].edge if stage.kind == "coat" and role not in open_coats else None
        if edge is not None and open_coats:
            since = max(open_coats.values())
            found.append(Deadline(index, since, edge.within_min, sheets[role].origin(edge)))
        if stage.kind == "coat":
            blends = sheets[role].kind == "blender"
            open_coats |= dict.fromkeys((*open_coats, role) if blends else (role,), index)
        elif stage.dust_free:
            open_coats.clear()
    return found


def _deadlines_of(
    index: int, open_coats: Mapping[str, int], sheets: Mapping[str, Sheet]
) -> Iterator[Deadline]:
    """Yield what the sheets of open coats demand of the stage that covers or bakes them."""
    for role, since in open_coats.items():
        flash = sheets[role].flash
        if flash.latest_min is not None:
            yield Deadline(index, since, flash.latest_min, sheets[role].origin(flash))

"""Where a plan is cut, and how long after one stage another must begin."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sprayadvisor.advice.plan import Block, Deadline, PlanStage
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.sheet import Origin, Sheet


def cut(stages: Sequence[PlanStage], source: Sequence[Stage]) -> tuple[Block, ...]:
    """Cut the stages into blocks where the process lets the work wait.

    ``source`` is, for each compiled stage, the stage of the process it came from.
    """
    firsts = [0] + [
        index
        for index, origin in enumerate(source)
        if index and origin is not source[index - 1] and origin.may_wait_min
    ]
    blocks = []
    for first, stop in zip(firsts, [*firsts[1:], len(stages)], strict=True):
        bound = source[first].within_min if first else None
        since = _last_work_before(stages, first) if bound is not None else None
        blocks.append(Block(first, stop, source[first].may_wait_min if first else 0, bound, since))
    return tuple(blocks)


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
    """Return the last stage before ``index`` that is work and not waiting for something to dry."""
    work = [i for i in range(index) if stages[i].kind != "flash" and stages[i].alongside is None]
    return work[-1] if work else index - 1


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
    """Return the deadlines that a sheet's longest flash sets for the next paint or the lamp."""
    found: list[Deadline] = []
    last_coat: int | None = None
    for index, stage in enumerate(stages):
        if stage.kind not in ("coat", "lamp"):
            continue
        if last_coat is not None:
            role = stages[last_coat].role or ""
            flash = sheets[role].flash
            covers = stage.kind == "lamp" or stage.role != role
            if covers and flash.latest_min is not None:
                origin = sheets[role].origin(flash)
                found.append(Deadline(index, last_coat, flash.latest_min, origin))
        last_coat = index if stage.kind == "coat" else None
    return found

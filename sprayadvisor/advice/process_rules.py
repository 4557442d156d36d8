"""What the stages of a process may not do to each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from sprayadvisor.advice.flaw import Flaw, mend_name

# How long hands may take between lamp and coat; by then a third of the warmth is gone.
LONGEST_AFTER_LAMP_MIN = 5

if TYPE_CHECKING:
    from sprayadvisor.advice.process import Stage


def process_flaws(stages: Sequence[Stage], roles: Mapping[str, str]) -> Iterator[Flaw]:
    """Yield everything wrong in the order and the names of the stages.

    Args:
        stages: in the order of the work.
        roles: id of a sheet by its role.
    """
    for index, stage in enumerate(stages):
        for problem, remedy in _in_its_place(stage, stages[:index], roles):
            yield Flaw(("stages", index), f"stage “{stage.id}” {problem}", remedy)
    yield from _commitment_flaws(stages)
    yield from _warmth_flaws(stages)
    used = {stage.sheet for stage in stages}
    for role in roles:
        if role not in used:
            yield Flaw(("sheets", role), "is used by no stage", "remove it")


def _in_its_place(
    stage: Stage, before: Sequence[Stage], roles: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    """Yield problem and remedy where a stage contradicts the stages before it."""
    yield from _name_clash(stage, before)
    if stage.sheet is not None and stage.sheet not in roles:
        yield (
            f"uses the sheet role “{stage.sheet}”",
            mend_name(stage.sheet, roles, "add it to [sheets]"),
        )
    if (stage.kind == "flash" or stage.bakes) and not any(
        other.kind == "coat" and other.sheet == stage.sheet for other in before
    ):
        yield f"comes before any coat of “{stage.sheet}”", "move it behind one"
    hands = [other for other in before if other.alongside is None]
    if stage.kind == "cool" and not _is_hot(hands):
        yield "cools what no lamp has heated", "move it behind the lamp"
    if stage.film_down and not any(other.film_up for other in before):
        yield "takes masking film down before any is up", "set film_up where it is put up"
    for name in ("within_min", "may_wait_min"):
        if getattr(stage, name) and not before:
            yield "is first and follows nothing", f"remove {name}"
    if stage.alongside is not None:
        yield from _beside(stage, before)


def _is_hot(before: Sequence[Stage]) -> bool:
    """Return whether the last thing done to the paint, hand work apart, was a bake."""
    done = [stage for stage in before if stage.kind not in ("hand", "check", "cool")]
    return bool(done) and done[-1].bakes


def _name_clash(stage: Stage, before: Sequence[Stage]) -> Iterator[tuple[str, str]]:
    """Yield a name that another stage has, as written or once its coats are counted."""
    for other in before:
        if stage.id == other.id:
            yield "stands twice", "give each stage its own id"
        elif shared := set(stage.compiled_ids) & set(other.compiled_ids):
            name = min(shared)
            yield f"is called like “{name}”, which stage “{other.id}” makes", "give it another id"


def _beside(stage: Stage, before: Sequence[Stage]) -> Iterator[tuple[str, str]]:
    """Yield why hand work cannot be done alongside what it names."""
    runs = f"runs alongside “{stage.alongside}”"
    at = next((i for i, other in enumerate(before) if other.id == stage.alongside), None)
    if at is None:
        remedy = mend_name(stage.alongside or "", [s.id for s in before], "move it behind it")
        yield f"{runs}, which does not come before it", remedy
    elif before[at].kind not in ("flash", "lamp", "cool"):
        yield f"{runs}, where no hands are free", "choose a flash, lamp or cool stage"
    elif any(other.alongside != stage.alongside for other in before[at + 1 :]):
        yield f"{runs} but does not follow it", "move it there"


def _commitment_flaws(stages: Sequence[Stage]) -> Iterator[Flaw]:
    """Yield waiting and leaving between a point of no return and the lamp."""
    committed: Stage | None = None
    for index, stage in enumerate(stages):
        if stage.bakes:
            committed = None
        if committed is not None:
            for name, does in (("may_wait_min", "may wait"), ("safe_stop", "may be left")):
                if getattr(stage, name):
                    problem = f"{does} after “{committed.id}”, the point of no return"
                    place = ("stages", index)
                    yield Flaw(place, f"stage “{stage.id}” {problem}", f"remove {name}")
        if stage.no_return:
            committed = stage


def _warmth_flaws(stages: Sequence[Stage]) -> Iterator[Flaw]:
    """Yield what keeps a coat from the panel that was warmed for it."""
    for index, stage in enumerate(stages):
        if stage.warm_to_c is None:
            continue
        behind = [other for other in stages[index + 1 :] if other.alongside is None]
        coat = next((at for at, o in enumerate(behind) if o.kind not in ("hand", "check")), None)
        if coat is None or behind[coat].kind != "coat":
            remedy = "put it right before a coat"
            yield Flaw(("stages", index), f"stage “{stage.id}” warms metal for no coat", remedy)
            continue
        hands = sum(other.minutes or 0 for other in behind[:coat])
        if hands > LONGEST_AFTER_LAMP_MIN:
            problem = f"stage “{stage.id}” is over {hands} minutes before the coat"
            remedy = f"leave {LONGEST_AFTER_LAMP_MIN} at most between them"
            yield Flaw(("stages", index), problem, remedy)
        for other in behind[: coat + 1]:
            if other.may_wait_min:
                problem = f"stage “{other.id}” may wait while the metal cools"
                yield Flaw(("stages", stages.index(other)), problem, "remove may_wait_min")

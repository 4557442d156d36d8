"""Whether a process goes with its sheets: what each asks of the other, and what none can give."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from sprayadvisor.advice.flaw import Flaw, mend_name
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.printed import example_plan, in_a_row
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.sheet import Sheet


def misfits(process: Process, sheets: Mapping[str, Sheet]) -> list[Flaw]:
    """Return everything a process asks that its sheets do not allow, or that nobody could do.

    Args:
        process: the stages.
        sheets: every usable sheet, by id.
    """
    found = [*_missing_sheets(process, sheets)]
    if found:
        return found
    by_role = {role: sheets[name] for role, name in process.sheets.items()}
    found = [*_coat_flaws(process, by_role), *_lamp_flaws(process, by_role)]
    found += _too_warm(process.stages, by_role)
    found += _drying_flaws(process.stages, by_role)
    return found or [*_time_flaws(process, by_role)]


def _missing_sheets(process: Process, sheets: Mapping[str, Sheet]) -> Iterator[Flaw]:
    """Yield roles whose sheet there is not."""
    for role, name in process.sheets.items():
        if name not in sheets:
            remedy = mend_name(name, sheets, "add the sheet or correct the name")
            yield Flaw(("sheets", role), f"there is no usable sheet “{name}”", remedy)


def _coat_flaws(process: Process, sheets: Mapping[str, Sheet]) -> Iterator[Flaw]:
    """Yield roles sprayed in fewer or more coats than their sheet allows."""
    for role, sheet in sheets.items():
        coats = sum(stage.coats or 0 for stage in process.stages if stage.sheet == role)
        if not sheet.coats.least <= coats <= sheet.coats.most:
            problem = f"{coats} coats are planned"
            remedy = f"“{sheet.id}” allows {sheet.coats.least} to {sheet.coats.most}"
            yield Flaw(("sheets", role), problem, remedy)


def _lamp_flaws(process: Process, sheets: Mapping[str, Sheet]) -> Iterator[Flaw]:
    """Yield stages that bake or air-dry what has no numbers for it."""
    for index, stage in enumerate(process.stages):
        wanted: tuple[str, ...] = ("lamp", "cure") if stage.bakes else ()
        for name in ("lamp",) if stage.until == "lamp" else wanted:
            sheet = sheets[stage.sheet or ""]
            if getattr(sheet, name) is None:
                problem = f"stage “{stage.id}” needs [{name}] of “{sheet.id}”, which has none"
                yield Flaw(("stages", index), problem, "complete the sheet or change the stage")


def _too_warm(stages: Sequence[Stage], sheets: Mapping[str, Sheet]) -> Iterator[Flaw]:
    """Yield metal warmed beyond what the sheet of the coat behind it wants."""
    for index, stage in enumerate(stages):
        coat = next((other for other in stages[index:] if other.kind == "coat"), None)
        if stage.warm_to_c is None or coat is None:
            continue
        sheet = sheets[coat.sheet or ""]
        most = sheet.limits["panel_temp_c"].inside_max
        if most is not None and stage.warm_to_c > most:
            problem = f"stage “{stage.id}” warms to {stage.warm_to_c:g} °C"
            yield Flaw(("stages", index), problem, f"“{sheet.id}” wants {most:g} °C at most")


def _drying_flaws(stages: Sequence[Stage], sheets: Mapping[str, Sheet]) -> Iterator[Flaw]:
    """Yield paint that is covered or baked before it has flashed off, or left wet at the end."""
    wet: Stage | None = None
    flashed: str | None = None
    for index, stage in enumerate(stages):
        if stage.kind == "flash":
            flashed = stage.until
        elif stage.warm_to_c is not None:
            thin = wet is not None and sheets[wet.sheet or ""].kind == "promoter"
            if wet is not None and not (thin and flashed == "next"):
                problem = f"stage “{stage.id}” warms the panel while “{wet.id}” is wet"
                yield Flaw(("stages", index), problem, "bake that first, or warm before it")
        elif stage.kind in ("coat", "lamp"):
            want = _flash_wanted(wet, stage, sheets)
            if wet is not None and want and flashed not in want:
                problem = f"stage “{stage.id}” follows “{wet.id}” before that has flashed off"
                remedy = f'put a flash stage with until = "{want[0]}" between them'
                yield Flaw(("stages", index), problem, remedy)
            wet, flashed = (stage if stage.kind == "coat" else None), None
    if wet is not None:
        problem = f"nothing dries what stage “{wet.id}” sprays"
        remedy = "put a lamp stage behind it; where no lamp can run it air-dries"
        yield Flaw(("stages", stages.index(wet)), problem, remedy)


def _flash_wanted(wet: Stage | None, stage: Stage, sheets: Mapping[str, Sheet]) -> tuple[str, ...]:
    """Return which flash-offs may stand between wet paint and what is done to it."""
    if stage.kind == "lamp":
        return ("lamp",)
    if wet is not None and wet.sheet == stage.sheet:
        return ("coat", "next")
    # An edge is blended while it is wet.
    return () if sheets[stage.sheet or ""].kind == "blender" else ("next",)


def _time_flaws(process: Process, sheets: Mapping[str, Sheet]) -> Iterator[Flaw]:
    """Yield waits that wet paint does not bear, and starts that nobody could be in time for."""
    plans = [example_plan(process, sheets, lamp=lamp) for lamp in (True, False)]
    fastest = [(plan, in_a_row(plan, rate=float("inf"))) for plan in plans]
    for index, stage in enumerate(process.stages):
        place = ("stages", index)
        if stage.may_wait_min and any(_cannot_wait(stage, plan) for plan in plans):
            yield Flaw(place, f"stage “{stage.id}” may wait over wet paint", "remove may_wait_min")
        late = [problem for plan, times in fastest for problem in _late(stage, plan, times)]
        for problem in dict.fromkeys(late):
            yield Flaw(place, problem, "shorten what lies between, or allow more time")


def _first_of(stage: Stage, plan: Plan) -> int | None:
    """Return the first compiled stage of a stage of the process, None where it was left out."""
    return next((i for i, s in enumerate(plan.stages) if s.id in stage.compiled_ids), None)


def _cannot_wait(stage: Stage, plan: Plan) -> bool:
    """Return whether a stage of a plan follows at once whatever the process allows."""
    first = _first_of(stage, plan)
    return first is not None and all(block.first != first for block in plan.blocks)


def _late(stage: Stage, plan: Plan, times: Sequence[tuple[int, int]]) -> Iterator[str]:
    """Yield how a stage comes too late even where everything dries its fastest, at ``times``."""
    first = _first_of(stage, plan)
    for deadline in plan.deadlines_of(first) if first is not None else ():
        least = times[deadline.stage][0] - times[deadline.since][1]
        if least > deadline.minutes:
            yield (
                f"stage “{stage.id}” begins {least} minutes after "
                f"“{plan.stages[deadline.since].name}” at best, "
                f"{deadline.minutes:g} are allowed ({deadline.origin})"
            )

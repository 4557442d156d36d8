"""A process in words: its stages in order, with the printed minutes one behind the other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.printed import example_plan, in_a_row
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.units import Display


@dataclass(frozen=True, slots=True)
class ToldProcess:
    """One process in words.

    Attributes:
        id: name used by bookings.
        name: what the painter calls it.
        summary: what it is for.
        invented: a warning where its timings are invented, else empty.
        sheets: each sheet it uses: role, id, name, revision.
        stages: each stage: id, name, minutes, from, rules.
        notes: what the plan says besides.
        total: how long all of it takes.
    """

    id: str
    name: str
    summary: str
    invented: str
    sheets: tuple[tuple[str, str, str, str], ...]
    stages: tuple[tuple[str, str, str, str, str], ...]
    notes: tuple[str, ...]
    total: str


def tell_process(
    process: Process,
    sheets: Mapping[str, Sheet],
    display: Display,
    *,
    lamp: bool = True,
    plastic: bool = False,
) -> ToldProcess:
    """Return a process in words.

    Args:
        process: the stages.
        sheets: every sheet it names, by role.
        display: how numbers are shown.
        lamp: whether there is a lamp.
        plastic: whether the panel is plastic and not steel.
    """
    plan = example_plan(process, sheets, lamp=lamp, plastic=plastic)
    times = in_a_row(plan)
    total = max(end for _, end in times)
    return ToldProcess(
        id=process.id,
        name=process.name,
        summary=process.summary,
        invented="Invented timings, for trials only." if process.invented else "",
        sheets=tuple((role, s.id, s.name, s.revision) for role, s in sheets.items()),
        stages=tuple(_row(stage, plan, times, display) for stage in process.stages),
        notes=(*plan.notes, *plan.power),
        total=f"In a row at the printed minutes: {total // 60} h {total % 60:02} min.",
    )


def _row(
    stage: Stage, plan: Plan, times: tuple[tuple[int, int], ...], display: Display
) -> tuple[str, str, str, str, str]:
    """Return one stage of a process as a row, with its minutes in the plan."""
    mine = [times[i] for i, other in enumerate(plan.stages) if other.id in stage.compiled_ids]
    rules = "; ".join(_rules(stage, display))
    if not mine:
        return stage.id, stage.name, "", "", "left out here"
    begin, end = mine[0][0], mine[-1][1]
    return stage.id, stage.name, str(end - begin), f"{begin // 60}:{begin % 60:02}", rules


def _rules(stage: Stage, display: Display) -> Iterator[str]:
    """Yield what binds a stage, in words."""
    if stage.coats is not None:
        yield f"{stage.coats} coats" if stage.coats > 1 else "1 coat"
    if stage.needs:
        yield "needs " + ", ".join(need.replace("_", " ") for need in stage.needs)
    if stage.least_air_c is not None:
        yield f"air from {display.temp(stage.least_air_c)}"
    if stage.panel_c is not None:
        bounds = (("from", stage.panel_c.least), ("to", stage.panel_c.most))
        yield " ".join(["panel", *(f"{w} {display.temp(b)}" for w, b in bounds if b is not None)])
    yield from _lamp_rules(stage, display)
    if stage.within_min is not None:
        yield f"within {stage.within_min} min"
    if stage.may_wait_min:
        yield f"may wait {stage.may_wait_min} min"
    if stage.alongside is not None:
        yield f"alongside {stage.alongside}"
    said = {
        "wet cloth": stage.quench,
        "film up": stage.film_up,
        "film down": stage.film_down,
        "wants hard paint": stage.hard,
        "NO WAY BACK from here": stage.no_return,
        "safe stop after it": stage.safe_stop,
    }
    yield from (words for words, holds in said.items() if holds)


def _lamp_rules(stage: Stage, display: Display) -> Iterator[str]:
    """Yield what a stage warms or cools to, in words."""
    if stage.warm_to_c is not None:
        yield f"warms to {display.temp(stage.warm_to_c)}"
        if stage.warm_below_c is not None:
            yield f"where colder than {display.temp(stage.warm_below_c)}"
        if stage.soak_min is not None:
            yield f"{stage.soak_min} min so warm"
    if stage.cool_to_c is not None:
        yield f"to {display.temp(stage.cool_to_c)}"

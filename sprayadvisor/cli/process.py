"""``sprayadvisor process …``: the repairs that can be booked, stage by stage."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from sprayadvisor.cli.catalogue import (
    AsJson,
    Files,
    WriteTo,
    check_files,
    chosen,
    print_grid,
    print_json,
    print_or_write_schema,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sprayadvisor.advice.plan import Plan
    from sprayadvisor.advice.process import Stage
    from sprayadvisor.units import Display

app = typer.Typer(no_args_is_help=True, help="List, show and check repair processes.")


@app.command(name="list")
def list_processes(ctx: typer.Context, as_json: AsJson = False) -> None:
    """List the usable processes."""
    from sprayadvisor.cli.app import services

    processes = sorted(services(ctx).catalogue.processes.values(), key=lambda found: found.id)
    if as_json:
        print_json(processes)
        return
    rows = [(p.id, p.name, ", ".join(p.sheets.values())) for p in processes]
    print_grid(("Process", "Name", "Sheets"), rows)


@app.command()
def show(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="ID", help="Name of the process.")],
    no_lamp: Annotated[
        bool, typer.Option("--no-lamp", help="As it goes without power for a lamp.")
    ] = False,
    plastic: Annotated[bool, typer.Option("--plastic", help="As it goes on plastic.")] = False,
    as_json: AsJson = False,
) -> None:
    """Show the stages in order, with the printed minutes one behind the other."""
    from sprayadvisor.advice.printed import example_plan, in_a_row
    from sprayadvisor.cli.app import services

    built = services(ctx)
    catalogue = built.catalogue
    process = chosen("process", name, catalogue.processes)
    if as_json:
        print_json(process)
        return
    sheets = catalogue.sheets_of(process)
    plan = example_plan(process, sheets, lamp=not no_lamp, plastic=plastic)
    times = in_a_row(plan)
    typer.echo(f"{process.id}: {process.name}")
    if process.summary:
        typer.echo(process.summary)
    if process.invented:
        typer.echo("Invented timings, for trials only.")
    for role, sheet in sheets.items():
        typer.echo(f"{role}: {sheet.id}, {sheet.name}, revision {sheet.revision}")
    rows = (_row(stage, plan, times, built.display) for stage in process.stages)
    print_grid(("Stage", "What", "Min", "From", "Rules"), rows)
    for note in (*plan.notes, *plan.power):
        typer.echo(f"Note: {note}.")
    total = max(end for _, end in times)
    typer.echo(f"In a row at the printed minutes: {total // 60} h {total % 60:02} min.")


@app.command()
def check(ctx: typer.Context, files: Files = None) -> None:
    """Check files, or all that is configured; every fault has a line of its own."""
    from sprayadvisor.cli.app import services

    built = services(ctx)
    check_files(files, built.data_files.process, built.catalogue)


@app.command()
def schema(ctx: typer.Context, write: WriteTo = None) -> None:
    """Print the JSON Schema of a process for your editor, or write it."""
    print_or_write_schema(ctx, "process", write)


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

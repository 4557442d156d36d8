"""``sprayadvisor process …``: the repairs that can be booked, stage by stage."""

from __future__ import annotations

from typing import Annotated

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
    from sprayadvisor.cli.app import services

    built = services(ctx)
    process = chosen("process", name, built.catalogue.processes)
    if as_json:
        print_json(process)
        return
    told = built.library.process(process, lamp=not no_lamp, plastic=plastic)
    typer.echo(f"{told.id}: {told.name}")
    for line in filter(None, (told.summary, told.invented)):
        typer.echo(line)
    for role, sheet, title, revision in told.sheets:
        typer.echo(f"{role}: {sheet}, {title}, revision {revision}")
    print_grid(("Stage", "What", "Min", "From", "Rules"), told.stages)
    for note in told.notes:
        typer.echo(f"Note: {note}.")
    typer.echo(told.total)


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

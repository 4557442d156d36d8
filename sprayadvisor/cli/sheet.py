"""``sprayadvisor sheet …``: the product sheets that verdicts rest on."""

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

app = typer.Typer(no_args_is_help=True, help="List, show and check product sheets.")


@app.command(name="list")
def list_sheets(ctx: typer.Context, as_json: AsJson = False) -> None:
    """List the usable sheets."""
    from sprayadvisor.cli.app import services

    built = services(ctx)
    sheets = sorted(built.catalogue.sheets.values(), key=lambda sheet: sheet.id)
    if as_json:
        print_json(sheets)
        return
    told = [(built.library.sheet(sheet), sheet.kind) for sheet in sheets]
    rows = [(t.id, t.name, kind, f"{t.revision}{_in_brackets(t.invented)}") for t, kind in told]
    print_grid(("Sheet", "Name", "Kind", "Revision"), rows)


@app.command()
def show(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="ID", help="Name of the sheet.")],
    as_json: AsJson = False,
) -> None:
    """Show a sheet, each number with the page and revision it stands on."""
    from sprayadvisor.cli.app import services

    built = services(ctx)
    sheet = chosen("sheet", name, built.catalogue.sheets)
    if as_json:
        print_json(sheet)
        return
    told = built.library.sheet(sheet)
    typer.echo(f"{told.id}: {told.name}{_in_brackets(told.invented)}")
    typer.echo(f"{told.kind}; revision {told.revision}")
    print_grid(("Limit", "Inside the sheet", "Stop", "Stands on"), told.limits)
    print_grid(("Table", "What", "Printed", "Stands on"), told.tables)
    if told.remarks:
        typer.echo(told.remarks)


@app.command()
def check(ctx: typer.Context, files: Files = None) -> None:
    """Check files, or all that is configured; every fault has a line of its own."""
    from sprayadvisor.cli.app import services

    built = services(ctx)
    check_files(files, built.data_files.sheet, built.catalogue)


@app.command()
def schema(ctx: typer.Context, write: WriteTo = None) -> None:
    """Print the JSON Schema of a sheet for your editor, or write it."""
    print_or_write_schema(ctx, "sheet", write)


def _in_brackets(text: str) -> str:
    return f" ({text})" if text else ""

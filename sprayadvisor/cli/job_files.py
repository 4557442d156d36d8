"""``sprayadvisor job import``, ``export`` and ``columns``: bookings as files."""

from __future__ import annotations

import json
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sprayadvisor.cli.plain import plain
from sprayadvisor.errors import InputError

if TYPE_CHECKING:
    from sprayadvisor.services.booking_files import Taken


class Separator(StrEnum):
    """What stands between the cells."""

    COMMA = "comma"
    SEMICOLON = "semicolon"
    TAB = "tab"


def import_jobs(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(help="CSV file; see: job columns.", show_default=False)],
    keep_good: Annotated[
        bool, typer.Option("--keep-good", help="Take the good rows even if others are refused.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Take the jobs of a CSV file: all of them, or none and every fault at once.

    What is booked already is passed over, so the same file may come again. It changes no job.
    """
    from sprayadvisor.cli.app import services

    taken = services(ctx).booking_files().take(file, keep_good=keep_good)
    if as_json:
        typer.echo(json.dumps(plain(taken), indent=2, ensure_ascii=False))
    else:
        _tell(file, taken, keep_good=keep_good)
    if taken.faults:
        raise typer.Exit(1)


def _tell(file: Path, taken: Taken, *, keep_good: bool) -> None:
    """Print what came of a file; what was refused goes to stderr."""
    for fault in taken.faults:
        typer.echo(str(fault), err=True)
    there = f"; {_jobs(len(taken.there))} there already" if taken.there else ""
    shown = ", ".join(taken.added[:10]) + (", …" if len(taken.added) > 10 else "")
    added = f"Added {_jobs(len(taken.added))}{f': {shown}' if shown else ''}{there}."
    typer.echo(f"Read {file} as {taken.read_as}.")
    typer.echo(added if not taken.faults or keep_good else f"Added nothing{there}.")
    if taken.faults:
        one = len(taken.faults) == 1
        many = f"{len(taken.faults)} rows were refused; mend them"
        refused = "1 row was refused; mend it" if one else many
        more = "" if keep_good else ", or take the others with --keep-good"
        typer.echo(f"{refused} and import the file again{more}.", err=True)


def _jobs(number: int) -> str:
    return f"{number} job{'' if number == 1 else 's'}"


def export_jobs(
    ctx: typer.Context,
    out: Annotated[Path | None, typer.Option(help="File to write instead of printing.")] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    separator: Annotated[
        Separator, typer.Option(help="What stands between cells.")
    ] = Separator.COMMA,
    first: Annotated[
        datetime | None, typer.Option("--from", help="First day.", formats=["%Y-%m-%d"])
    ] = None,
    last: Annotated[
        datetime | None, typer.Option("--to", help="Last day.", formats=["%Y-%m-%d"])
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also days gone by, and jobs that are over.")
    ] = False,
) -> None:
    """Write jobs as CSV, from today on unless said otherwise. It holds customers' details."""
    from sprayadvisor.bootstrap import write_private
    from sprayadvisor.cli.app import services

    if out is not None and out.exists() and not force:
        raise InputError(f"{out} is there already; add --force to replace it.")
    built = services(ctx)
    jobs = built.bookings.list(
        first.date() if first else None, last.date() if last else None, everything=everything
    )
    text = built.booking_files(separator).text_of(jobs)
    if out is None:
        typer.echo(text, nl=False)
        return
    # With the mark spreadsheets take it for UTF-8; without, some show umlauts as two letters.
    write_private(out, text.encode("utf-8-sig"))
    typer.echo(f"Wrote {_jobs(len(jobs))} to {out}.")


def columns(as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False) -> None:
    """Explain every column of a CSV file of bookings."""
    from sprayadvisor.services.column_guide import GUIDE, HOW

    if as_json:
        typer.echo(json.dumps(plain(GUIDE), indent=2, ensure_ascii=False))
        return
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in ("Column", "Needed", "Unit", "Meaning", "Example"):
        table.add_column(heading, no_wrap=heading in {"Column", "Needed", "Unit"}, overflow="fold")
    for entry in GUIDE:
        cells = (entry.column, entry.needed, entry.unit, entry.meaning, entry.example)
        table.add_row(*map(Text, cells))
    Console().print(table)
    typer.echo(HOW)

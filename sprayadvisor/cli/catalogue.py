"""What the commands for sheets and for processes share."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, Protocol, TypeVar

import typer

from sprayadvisor.errors import DataFileError, Fault, InputError

if TYPE_CHECKING:
    from pydantic import BaseModel

    from sprayadvisor.advice.process import Process
    from sprayadvisor.advice.sheet import Sheet

T = TypeVar("T")

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for a machine to read.")]
Files = Annotated[list[Path] | None, typer.Argument(help="TOML files. [default: all configured]")]
WriteTo = Annotated[
    Path | None,
    typer.Option("--write", metavar="DIR", help="Folder to write it into.", show_default=False),
]


class Loaded(Protocol):
    """What there is in the configured folders."""

    @property
    def sheets(self) -> Mapping[str, Sheet]:
        """The sheets by id."""

    @property
    def processes(self) -> Mapping[str, Process]:
        """The processes by id."""

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What was wrong with all other files."""


def chosen(what: str, name: str, known: Mapping[str, T]) -> T:
    """Return one of several by its name.

    Raises:
        InputError: there is no such one.
    """
    from sprayadvisor.advice.flaw import mend_name

    if name not in known:
        remedy = mend_name(name, known, f"“sprayadvisor {what} list” names them all")
        raise InputError(
            f"There is no usable {what} “{name}”; {remedy}. "
            f"“sprayadvisor {what} check” tells what is wrong with the others."
        )
    return known[name]


def check_files(files: Sequence[Path] | None, load: Callable[[Path], T], all_of: Loaded) -> None:
    """Check files, or everything configured where none is named.

    Raises:
        DataFileError: with every fault found.
    """
    faults: list[Fault] = []
    for path in files or ():
        try:
            load(path)
        except DataFileError as error:
            faults += error.faults
    if not files:
        faults += all_of.faults
    if faults:
        raise DataFileError(faults)
    for path in files or ():
        typer.echo(f"{path} is fine.")
    if not files:
        sheets, processes = len(all_of.sheets), len(all_of.processes)
        typer.echo(f"All is fine: {sheets} sheets, {processes} processes.")


def print_or_write_schema(
    ctx: typer.Context, kind: Literal["sheet", "process"], folder: Path | None
) -> None:
    """Print a JSON Schema, or write it into a folder."""
    from sprayadvisor.cli.app import services

    files = services(ctx).data_files
    if folder is None:
        typer.echo(files.schema(kind), nl=False)
    else:
        typer.echo(f"Wrote {files.write_schema(kind, folder)}.")


def print_json(value: BaseModel | Sequence[BaseModel]) -> None:
    """Print a sheet or process, or a list of them, as JSON."""
    if isinstance(value, Sequence):
        plain: object = [model.model_dump(mode="json") for model in value]
    else:
        plain = value.model_dump(mode="json")
    typer.echo(json.dumps(plain, indent=2, ensure_ascii=False))


def print_grid(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print rows below headings, folded to the width of the terminal."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False)
    for heading in headings:
        table.add_column(heading, overflow="fold")
    for row in rows:
        table.add_row(*map(Text, row))  # Text: what a file says is no markup
    Console().print(table)

"""``sprayadvisor settings``: check them, show them, or write an example file."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from sprayadvisor.cli.app import config_path, settings
from sprayadvisor.errors import InputError, StoreError

app = typer.Typer(no_args_is_help=True, help="Check or show the settings, or write an example.")


@app.command()
def check(ctx: typer.Context) -> None:
    """Say whether the settings can be used, with every fault at once if not."""
    found = settings(ctx)
    typer.echo(f"The settings are fine ({_source(ctx)}).")
    if found.base is None:
        typer.echo("There is no [base], so days are counted in UTC.")
    if not found.recipients:
        typer.echo("There are no recipients, so no brief is sent to anyone.")
    if found.forecast.effective_plan == "free":
        typer.echo("The forecast plan is free, which is for non-commercial use only.")
    if found.now:
        typer.echo(f"The clock stands still at {found.now.isoformat()}.")


@app.command()
def show(
    ctx: typer.Context,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Show every setting as it is in force. Secrets are never shown."""
    values = settings(ctx).model_dump(mode="json")
    if as_json:
        typer.echo(json.dumps(values, indent=2, ensure_ascii=False))
        return
    typer.echo(f"# {_source(ctx)}")
    for name, value in _flat(values):
        shown = "(left out)" if value is None else json.dumps(value, ensure_ascii=False)
        typer.echo(f"{name} = {shown}")


@app.command()
def example(
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="File to write instead of printing.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
) -> None:
    """Print a settings file with every setting, its meaning and its usual value."""
    from sprayadvisor.settings import example_toml

    if output is None:
        typer.echo(example_toml(), nl=False)
        return
    try:
        with output.open("w" if force else "x", encoding="utf-8", newline="\n") as file:
            file.write(example_toml())
    except FileExistsError as error:
        raise InputError(f"{output} is there already; add --force to replace it.") from error
    except OSError as error:
        raise StoreError(
            f"{output} cannot be written ({error.strerror}); give another --output."
        ) from error
    typer.echo(f"Wrote {output}.")


def _source(ctx: typer.Context) -> str:
    """Return where the settings come from, in words."""
    from sprayadvisor.settings import find_config

    path = find_config(os.environ, config_path(ctx))
    return f"from {path}" if path else "no settings file; defaults and environment"


def _flat(values: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    """Yield dotted names with their values."""
    for name, value in values.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{above}{name}.")
        else:
            yield f"{above}{name}", value

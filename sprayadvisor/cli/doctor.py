"""The ``doctor`` command: everything a brief hangs on, one line each."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated

import typer

from sprayadvisor.cli.app import services

if TYPE_CHECKING:
    from sprayadvisor.services.checkup import Finding


def doctor(
    ctx: typer.Context,
    offline: Annotated[
        bool, typer.Option("--offline", help="Leave out mail, forecast and clock.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Look at everything a brief hangs on: fine, look at, or broken, and what to do about it.

    Sends nothing. Asks the forecast service once. Exit code 1 if anything is broken.
    """
    found = list(_findings(ctx, offline))
    if as_json:
        lines = [{"about": one.about, "state": one.state, "words": one.words} for one in found]
        typer.echo(json.dumps(lines, indent=2, ensure_ascii=False))
    else:
        for one in found:
            typer.echo(f"{one.state:<8}{one.about:<10} {one.words}")
    if any(one.state == "broken" for one in found):
        raise typer.Exit(1)


def _findings(ctx: typer.Context, offline: bool) -> list[Finding]:
    """Return what was found; settings that cannot be used are all that can be looked at."""
    from sprayadvisor.bootstrap import checks
    from sprayadvisor.errors import SettingsError
    from sprayadvisor.services.checkup import Finding, State, examine

    try:
        built = services(ctx)
    except SettingsError as error:
        return [Finding("settings", State.BROKEN, str(fault)) for fault in error.faults]
    return list(examine(checks(built, offline=offline)))

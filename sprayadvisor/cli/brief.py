"""The ``brief`` command: tonight for tomorrow, or this morning for today."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sprayadvisor.cli.app import code_of, services
from sprayadvisor.errors import InputError

if TYPE_CHECKING:
    from sprayadvisor.advice.policy import Moment
    from sprayadvisor.bootstrap import Services


def brief(
    ctx: typer.Context,
    day: Annotated[
        str | None, typer.Option(help="The day it is about: YYYY-MM-DD, today or tomorrow.")
    ] = None,
    evening: Annotated[
        bool | None,
        typer.Option(
            "--evening/--morning",
            help="Made the evening before, or in the morning. Left out: by the clock.",
        ),
    ] = None,
    print_: Annotated[bool, typer.Option("--print", help="Print it.")] = False,
    out: Annotated[
        Path | None, typer.Option(help="Write mail, page and charts into this folder.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print it for a machine.")] = False,
) -> None:
    """Say which jobs go, when, and what must be done about the others.

    Weather only, never permission. Without --print, --out or --json it is printed.
    Exit code: 0 all go or care, 3 a job could not be judged, 4 a no-go, 1 something else is amiss.
    """
    built = services(ctx)
    moment, about = _which(built, evening, day)
    made = built.briefs.make(about, moment)
    if as_json:
        typer.echo(json.dumps(built.brief_texts.as_json(made), indent=2, ensure_ascii=False))
    if print_ or not (out or as_json):
        typer.echo(built.brief_texts.as_text(made))
    if out:
        for path in built.brief_files.put(made, out):
            typer.echo(str(path), err=as_json)
    for problem in (*made.weather_problems, *made.faults):
        typer.echo(problem, err=True)
    code = code_of([entry.judgement.word.value for entry in made.entries])
    if code := code or int(bool(made.weather_problems or made.faults)):
        raise typer.Exit(code)


def _which(built: Services, evening: bool | None, day: str | None) -> tuple[Moment, date]:
    """Return which brief is meant; by the clock it is the evening one from noon on."""
    from sprayadvisor.advice.policy import Moment

    local = built.now().astimezone(built.settings.zone)
    if evening is None:
        evening = local.hour >= 12 if day is None else _day(day, local.date()) > local.date()
    moment = Moment.EVENING if evening else Moment.MORNING
    about = local.date() + timedelta(days=1 if evening else 0)
    return moment, about if day is None else _day(day, local.date())


def _day(typed: str, today: date) -> date:
    """Return the day a person means.

    Raises:
        InputError: it is no day.
    """
    if typed in ("today", "tomorrow"):
        return today + timedelta(days=typed == "tomorrow")
    try:
        return date.fromisoformat(typed)
    except ValueError as error:
        raise InputError(
            f"--day: “{typed}” is no day; write YYYY-MM-DD, today or tomorrow."
        ) from error

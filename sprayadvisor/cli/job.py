"""``sprayadvisor job …``: bookings, and how they go on."""

from __future__ import annotations

import functools
import inspect
import json
from collections.abc import Callable
from datetime import datetime
from types import GenericAlias
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sprayadvisor.cli.job_shown import in_short, lines, print_table
from sprayadvisor.cli.plain import plain
from sprayadvisor.services.ports import JobForm

if TYPE_CHECKING:
    from sprayadvisor.services.bookings import Bookings
    from sprayadvisor.services.progress import Progress

app = typer.Typer(
    no_args_is_help=True,
    help="Add, list, show, change and cancel bookings; say where you are and how a job ended.",
)

_BY = "command line"

AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for a machine to read.")]
Ref = Annotated[str, typer.Argument(help="Reference of the job, such as J7.", show_default=False)]


def _option(flag: str, meaning: str, panel: str, kind: type | GenericAlias = str) -> object:
    """Return the type of one optional option. Nearly all are text: the bookings judge it."""
    return Annotated[
        kind | None, typer.Option(flag, help=meaning, rich_help_panel=panel, show_default=False)
    ]


_SITE = "Where"
_CAR = "Which car"
_WHO = "Customer (kept with the job and nowhere else)"
_WHEN = "What and when"

# One option for every field of a form that both ``add`` and ``change`` take.
_OPTIONS: dict[str, object] = {
    "process": _option("--process", "Name of a process.", _WHEN),
    "day": _option("--day", "Year-month-day, or today, or tomorrow.", _WHEN),
    "arrive": _option("--arrive", "Arrival window, such as 09:00-10:30.", _WHEN),
    "may_move": _option("--may-move/--fixed", "Whether another day would do.", _WHEN, bool),
    "site": _option("--site", "Name; a stored site comes with all it says.", _SITE),
    "latitude": _option("--lat", "Degrees north.", _SITE),
    "longitude": _option("--lon", "Degrees east.", _SITE),
    "zone": _option("--zone", "Time zone, such as Europe/Berlin.", _SITE),
    "elevation_m": _option("--elevation", "Height above the sea, m.", _SITE),
    "surroundings": _option("--surroundings", "open, suburb or dense.", _SITE),
    "ground": _option("--ground", "paved, gravel or grass.", _SITE),
    "cover": _option("--cover", "open_sky, shade, trees, canopy or indoors.", _SITE),
    "power": _option("--power", "none, socket or generator.", _SITE),
    "downwind": _option(
        "--downwind", "What lies on a side: n=neighbour's cars. Repeatable.", _SITE, list[str]
    ),
    "shade_before": _option("--shade-before", "In a house's shade until.", _SITE),
    "shade_after": _option("--shade-after", "In a house's shade from.", _SITE),
    "kerb": _option("--kerb/--drive", "Whether cars pass within a few metres.", _SITE, bool),
    "panels": _option("--panel", "part:colour[:material]. Repeatable.", _CAR, list[str]),
    "heading": _option("--heading", "Where the nose points: degrees, or n, ne, …", _CAR),
    "car_there_from": _option("--car-there-from", "The car is there from.", _CAR),
    "back_by": _option("--back-by", "The car must be back by.", _CAR),
    "repair_area_m2": _option("--area", "Area to be painted, m².", _CAR),
    "customer": _option("--customer", "Name.", _WHO),
    "phone": _option("--phone", "Number.", _WHO),
    "email": _option("--email", "Address for mail.", _WHO),
    "note": _option("--note", "Anything else.", _WHO),
}


def _takes_form(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options above and hand it what was said as ``form``.

    Typer reads a function's signature; this writes it, so that the options stand in one place.
    """

    @functools.wraps(command)
    def with_form(**given: Any) -> None:  # noqa: ANN401 - whatever the command's options give
        said = {name: given.pop(name) for name in _OPTIONS}
        for name in ("downwind", "panels"):
            said[name] = tuple(said[name]) if said[name] else None
        command(form=JobForm(**said), **given)

    own = inspect.signature(command, eval_str=True).parameters.values()
    options = [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=kind)
        for name, kind in _OPTIONS.items()
    ]
    signature = inspect.Signature([*(p for p in own if p.name != "form"), *options])
    with_form.__signature__ = signature  # type: ignore[attr-defined]  # inspect looks for it
    return with_form


@app.command()
@_takes_form
def add(
    ctx: typer.Context,
    form: JobForm,
    ref: Annotated[
        str | None, typer.Option(help="Reference; without it the job is numbered.")
    ] = None,
) -> None:
    """Take a new job."""
    from dataclasses import replace

    job = _bookings(ctx).add(replace(form, ref=ref), by=_BY)
    typer.echo(f"Added {in_short(job)}.")


@app.command(name="list")
def list_jobs(
    ctx: typer.Context,
    first: Annotated[
        datetime | None, typer.Option("--from", help="First day.", formats=["%Y-%m-%d"])
    ] = None,
    last: Annotated[
        datetime | None, typer.Option("--to", help="Last day.", formats=["%Y-%m-%d"])
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also days gone by, and jobs that are over.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """List jobs, from today on unless said otherwise."""
    jobs = _bookings(ctx).list(
        first.date() if first else None, last.date() if last else None, everything=everything
    )
    if as_json:
        _print_json(jobs)
    elif jobs:
        print_table(jobs)
    else:
        typer.echo("No jobs.")


@app.command()
def show(ctx: typer.Context, ref: Ref, as_json: AsJson = False) -> None:
    """Show one job with its history."""
    bookings = _bookings(ctx)
    job, history = bookings.get(ref), bookings.history(ref)
    if as_json:
        _print_json({**plain(job), "history": plain(history)})
        return
    for name, text in lines(job):
        typer.echo(f"{name:<12} {text}")
    for entry in history:
        words = [f"{entry.at:%Y-%m-%d %H:%M} UTC", entry.event.value, entry.note, entry.by]
        typer.echo(f"{'':<12} {', '.join(word for word in words if word)}")


@app.command()
@_takes_form
def change(ctx: typer.Context, ref: Ref, form: JobForm) -> None:
    """Change what is given and leave the rest. Another day counts as a move."""
    job = _bookings(ctx).change(ref, form, by=_BY)
    typer.echo(f"Changed {in_short(job)}.")


@app.command()
def cancel(
    ctx: typer.Context,
    ref: Ref,
    why: Annotated[str, typer.Option(help="A few words for the history; no names.")] = "",
) -> None:
    """Cancel a job. It stays in the list of all jobs."""
    job = _bookings(ctx).cancel(ref, why, by=_BY)
    typer.echo(f"Cancelled {in_short(job)}.")


@app.command()
def at(
    ctx: typer.Context,
    ref: Ref,
    stage: Annotated[
        str, typer.Argument(help="Stage of its process, such as base.", show_default=False)
    ],
) -> None:
    """Say which stage you begin. Notices then go by it, not by the plan."""
    job, begun = _progress(ctx).at(ref, stage, by=_BY)
    typer.echo(f"{job.ref}, {job.site.name}: {begun.name}.")


@app.command()
def done(ctx: typer.Context, ref: Ref) -> None:
    """Say that a job is done. It is looked at no more."""
    job = _progress(ctx).done(ref, by=_BY)
    typer.echo(f"Done {in_short(job)}.")


@app.command()
def spoiled(
    ctx: typer.Context,
    ref: Ref,
    why: Annotated[
        str, typer.Option(help="A few words for the history; no names.", show_default=False)
    ],
) -> None:
    """Say that a job was spoiled, and why. It is looked at no more."""
    job = _progress(ctx).spoiled(ref, why, by=_BY)
    typer.echo(f"Spoiled {in_short(job)}.")


def _progress(ctx: typer.Context) -> Progress:
    """Return what keeps how jobs go on."""
    from sprayadvisor.cli.app import services

    return services(ctx).progress


def _bookings(ctx: typer.Context) -> Bookings:
    """Return the bookings; this is where the database is opened."""
    from sprayadvisor.cli.app import services

    return services(ctx).bookings


def _print_json(value: object) -> None:
    """Print a value as JSON."""
    typer.echo(json.dumps(plain(value), indent=2, ensure_ascii=False))

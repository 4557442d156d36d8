"""``sprayadvisor job …``: bookings, and how they go on."""

from __future__ import annotations

import functools
import inspect
import json
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sprayadvisor.cli import job_files
from sprayadvisor.cli.job_shown import in_short, lines, print_table
from sprayadvisor.cli.plain import plain
from sprayadvisor.services.job_fields import FORM_FIELDS, JobField, Kind
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


def _option(field: JobField) -> object:
    """Return the type of one optional option. Nearly all are text: the bookings judge it."""
    kind = {Kind.YES_NO: bool, Kind.SEVERAL: list[str]}.get(field.kind, str)
    meaning = f"{field.meaning} Repeatable." if field.kind is Kind.SEVERAL else field.meaning
    return Annotated[
        kind | None,
        typer.Option(field.flag, help=meaning, rich_help_panel=field.group, show_default=False),
    ]


# One option for every field of a form that both ``add`` and ``change`` take.
_OPTIONS = {field.name: _option(field) for field in FORM_FIELDS if field.name != "ref"}
_SEVERAL = tuple(field.name for field in FORM_FIELDS if field.kind is Kind.SEVERAL)


def _takes_form(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options above and hand it what was said as ``form``.

    Typer reads a function's signature; this writes it, so that the options stand in one place.
    """

    @functools.wraps(command)
    def with_form(**given: Any) -> None:  # noqa: ANN401 - whatever the command's options give
        said = {name: given.pop(name) for name in _OPTIONS}
        for name in _SEVERAL:
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
def show(
    ctx: typer.Context,
    ref: Ref,
    why: Annotated[
        bool, typer.Option("--why", help="Judge it now and lay the best play open.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Show one job with its history."""
    from sprayadvisor.cli.app import services

    built = services(ctx)
    job, history = built.bookings.get(ref), built.bookings.history(ref)
    judged = built.briefs.entry_of(job) if why else None
    if as_json:
        now = {"judged_now": built.brief_texts.explained_json(judged)} if judged else {}
        _print_json({**plain(job), "history": plain(history), **now})
        return
    for name, text in lines(job):
        typer.echo(f"{name:<12} {text}")
    for entry in history:
        words = [f"{entry.at:%Y-%m-%d %H:%M} UTC", entry.event.value, entry.note, entry.by]
        typer.echo(f"{'':<12} {', '.join(word for word in words if word)}")
    if judged:
        typer.echo("\n" + "\n".join(built.brief_texts.explained(judged)))


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


app.command(name="import")(job_files.import_jobs)
app.command(name="export")(job_files.export_jobs)
app.command()(job_files.columns)


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

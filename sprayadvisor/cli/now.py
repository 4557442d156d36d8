"""``sprayadvisor now``: at the car, may the next stage begin?"""

from __future__ import annotations

import json
from typing import Annotated

import typer


def now(
    ctx: typer.Context,
    ref: Annotated[str, typer.Argument(help="Reference of the job.", show_default=False)],
    next_: Annotated[
        str, typer.Option("--next", help="Stage that comes next; else what `job at` said last.")
    ] = "",
    panel: Annotated[str, typer.Option(help="Panel temperature, such as 14.5 or 58F.")] = "",
    air: Annotated[str, typer.Option(help="Air temperature, in the shade.")] = "",
    humidity: Annotated[str, typer.Option(help="Humidity of the air, %.")] = "",
    wind: Annotated[str, typer.Option(help="Wind at the gun, such as 2 or 5mph.")] = "",
    wind_from: Annotated[
        str, typer.Option(help="Where the wind comes from at the car: degrees, or n, ne, …")
    ] = "",
    all_clear: Annotated[
        bool,
        typer.Option("--all-clear", help="Nobody is downwind, and what stands there is covered."),
    ] = False,
    at: Annotated[str, typer.Option(help="When it was read, such as 14:05; else now.")] = "",
    part: Annotated[str, typer.Option(help="Which panel was read, where there are several.")] = "",
    matt: Annotated[
        str, typer.Option("--matt", help="When the last coat was matt all over, such as 14:05.")
    ] = "",
    matt_now: Annotated[
        bool, typer.Option("--matt-now", help="The last coat is matt all over now.")
    ] = False,
    lamp: Annotated[
        bool | None,
        typer.Option("--lamp/--no-lamp", help="Whether a lamp is used; else as the kit allows."),
    ] = None,
    shelter: Annotated[
        str, typer.Option(help="What is above it now: open-sky, shade, trees, canopy, indoors.")
    ] = "",
    mist: Annotated[str, typer.Option(help="Seconds that breath mist stayed on the panel.")] = "",
    stripe: Annotated[str, typer.Option(help="Minutes a wiped damp stripe took to dry.")] = "",
    sure: Annotated[
        bool, typer.Option("--sure", help="Use readings that look odd all the same.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print it for a machine.")] = False,
) -> None:
    """Say at the car whether the weather fits for the next stage now. Never permission.

    Every reading may be left out; it is then taken from the forecast, which is said.
    Exit code: 0 go or care, 3 it could not be judged, 4 a no-go.
    """
    from sprayadvisor.cli.app import code_of, services
    from sprayadvisor.services.onsite_form import OnSiteForm

    onsite = services(ctx).onsite
    form = OnSiteForm(
        next=next_,
        panel=panel,
        air=air,
        humidity=humidity,
        wind=wind,
        wind_from=wind_from,
        all_clear=all_clear,
        at=at,
        matt="now" if matt_now else matt,
        shelter=shelter,
        lamp=lamp,
        mist=mist,
        stripe=stripe,
        part=part,
        sure=sure,
    )
    answer = onsite.ask(ref, onsite.asked(ref, form))
    if as_json:
        typer.echo(json.dumps(onsite.as_json(answer), indent=2, ensure_ascii=False))
    else:
        typer.echo(onsite.as_text(answer))
    if code := code_of([answer.word.value]):
        raise typer.Exit(code)

"""The ``backup`` and ``purge`` commands."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Annotated

import typer

from sprayadvisor.cli.app import services
from sprayadvisor.services.tidy import WEATHER_KEPT


def backup(
    ctx: typer.Context, file: Annotated[Path, typer.Argument(help="Where the copy goes.")]
) -> None:
    """Copy the database while everything goes on running."""
    services(ctx).upkeep.backup(file)
    typer.echo(f"Copied to {file}.")


def purge(
    ctx: typer.Context,
    older_than_days: Annotated[
        int, typer.Option(min=0, help="Contact data of jobs older than this goes.")
    ] = 365,
) -> None:
    """Forget who the customers of old jobs were, and weather that is no longer needed.

    The jobs themselves and their history stay.
    """
    built = services(ctx)
    now = built.now()
    today = now.astimezone(built.settings.zone).date()
    jobs = built.upkeep.forget_customers(today - timedelta(days=older_than_days))
    answers = built.upkeep.forget_weather(now - WEATHER_KEPT)
    typer.echo(f"Forgot the customers of {jobs} jobs and {answers} old weather answers.")

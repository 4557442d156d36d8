"""The ``serve`` command: the clock that sends briefs and notices by itself, and the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from sprayadvisor.cli.app import services
from sprayadvisor.errors import Fault, SettingsError

if TYPE_CHECKING:
    from sprayadvisor.settings import Settings


def serve(
    ctx: typer.Context,
    no_web: Annotated[bool, typer.Option("--no-web", help="The clock alone, no page.")] = False,
    log_json: Annotated[
        bool, typer.Option("--log-json", help="Log JSON objects instead of lines.")
    ] = False,
) -> None:
    """Run until stopped: briefs at their times, a look at open jobs each hour, and the page."""
    from sprayadvisor.cli import running
    from sprayadvisor.cli.logs import set_up_logging

    built = services(ctx)
    set_up_logging(as_json=log_json)
    refuse_what_keeps_silent(built.settings)
    if no_web:
        running.alone(built)
    else:
        running.with_page(built)


def refuse_what_keeps_silent(settings: Settings) -> None:
    """Refuse settings with which nobody would ever hear anything, or at the wrong hour.

    Raises:
        SettingsError: with every such fault.
    """
    faults = []
    if not settings.recipients:
        why = "there are no recipients, so no brief would reach anyone"
        faults.append(Fault("settings", "recipients", why, "name at least one address"))
    if settings.base is None:
        why = "there is no [base], so nobody knows when your evening is"
        faults.append(Fault("settings", "base.zone", why, "add [base] with place and time zone"))
    if faults:
        raise SettingsError(faults)

"""The ``web`` commands: what there is to do about the page without opening it."""

from __future__ import annotations

from typing import Annotated

import typer

from sprayadvisor.cli.app import services

app = typer.Typer(no_args_is_help=True, help="The page: the keys that sign its links and logins.")


@app.command("new-key")
def new_key(
    ctx: typer.Context,
    revoke: Annotated[
        bool,
        typer.Option("--revoke", help="End every login and every link made before, at once."),
    ] = False,
) -> None:
    """Sign links and logins with a new key from now on; a page that runs takes it up by itself."""
    services(ctx).keys.renew(revoke=revoke)
    ended = " Every login and every link made before has ended." if revoke else ""
    typer.echo(f"Links and logins are signed with a new key from now on.{ended}")

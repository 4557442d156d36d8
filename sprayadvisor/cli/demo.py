"""The ``demo`` command: an invented painter's two days, offline, on the true path."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def demo(
    out: Annotated[Path, typer.Option(help="Folder for the files it makes.")] = Path(
        "sprayadvisor-demo"
    ),
) -> None:
    """Play two invented days by Galway Bay, print the briefs and write them as files.

    Nothing leaves this computer: the forecast comes from a server that the demo starts on the
    loopback address, with weather that is made up.
    """
    from sprayadvisor.demo.play import play_story

    played = play_story(out)
    for text in played.texts:
        typer.echo(text)
        typer.echo("")
    typer.echo("Written:")
    for path in played.files:
        typer.echo(f"  {path}")
    typer.echo(
        "\nYour own jobs: sprayadvisor settings example > sprayadvisor.toml, fill it in, then\n"
        "sprayadvisor job add --help and sprayadvisor brief. The README walks through a first day."
    )

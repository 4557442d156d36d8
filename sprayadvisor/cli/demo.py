"""The ``demo`` command: an invented painter's two days, offline, on the true path."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
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

    # One place of the story has no weather, which its brief says; ahead of it, it would read as if
    # the demo were broken.
    with _quiet("sprayadvisor.services.answers"):
        played = play_story(out)
    for text in played.texts:
        typer.echo(text)
        typer.echo("")
    typer.echo("Written:")
    for path in played.files:
        typer.echo(f"  {path}")
    typer.echo(
        "\nYour own jobs, as the README walks through a first day:\n"
        "  sprayadvisor init\n"
        "  sprayadvisor job add --help\n"
        "  sprayadvisor brief"
    )


@contextmanager
def _quiet(name: str) -> Iterator[None]:
    """Log nothing less than errors under a name for a while."""
    logger = logging.getLogger(name)
    before = logger.level
    logger.setLevel(logging.ERROR)
    try:
        yield
    finally:
        logger.setLevel(before)

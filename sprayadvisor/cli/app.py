"""The frame of the command line: global options, exit codes, and the way to the services.

Exit codes: 0 done, 1 could not (said in a sentence on stderr), 2 wrong usage. What ends with
verdicts has two more, so that no script takes a doubt or a no for a go: see ``code_of``. An error
nobody foresaw is a defect and shows its traceback.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

from sprayadvisor.cli.plain_help import say_in_plain_words
from sprayadvisor.errors import SprayadvisorError

if TYPE_CHECKING:
    from sprayadvisor.bootstrap import Services
    from sprayadvisor.settings import Settings


NOT_JUDGED, NO_GO = 3, 4


def code_of(words: Collection[str]) -> int:
    """Return the exit code of some verdicts; what is not known comes before a no.

    Args:
        words: verdicts as JSON names them.
    """
    if {"unknown", "not judged"} & set(words):
        return NOT_JUDGED
    return NO_GO if "no-go" in words else 0


@dataclass(frozen=True, slots=True)
class Options:
    """What was said ahead of the command."""

    config: Path | None = None


class Commands(TyperGroup):
    """The commands; what they could not do is said in sentences, not in a traceback."""

    def make_context(self, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401 - as below
        """Begin to run, with help in plain words."""
        say_in_plain_words(self)
        return super().make_context(*args, **kwargs)

    def invoke(self, ctx: Any) -> Any:  # noqa: ANN401 - the base class is typed by its own click
        """Run a command."""
        try:
            return super().invoke(ctx)
        except SprayadvisorError as error:
            typer.echo(str(error), err=True)
            raise typer.Exit(1) from error


app = typer.Typer(
    cls=Commands,
    no_args_is_help=True,
    pretty_exceptions_enable=False,  # a boxed traceback may show the values of variables
    help="Spray or wait: briefs for mobile vehicle-bodywork painters from forecast and panel "
    "physics. A go is advice and never permission: product sheets and local rules come first.",
)


def _print_version(wanted: bool) -> None:
    """Print the version and stop."""
    if wanted:
        typer.echo(f"sprayadvisor {version('sprayadvisor')}")
        raise typer.Exit


@app.callback()
def frame(
    ctx: typer.Context,
    config: Annotated[
        Path | None,
        typer.Option(help="Settings file, instead of the one SPRAYADVISOR_CONFIG names."),
    ] = None,
    _version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_print_version, is_eager=True, help="Print the version."
        ),
    ] = False,
) -> None:
    """Keep what was said ahead of the command."""
    ctx.obj = Options(config)


def config_path(ctx: typer.Context) -> Path | None:
    """Return the settings file given by ``--config``, if one was."""
    options = ctx.find_object(Options)
    return options.config if options else None


def settings(ctx: typer.Context) -> Settings:
    """Return the settings.

    Raises:
        SettingsError: they cannot be used.
    """
    from sprayadvisor.settings import load_settings

    return load_settings(path=config_path(ctx))


def services(ctx: typer.Context) -> Services:
    """Return the services; what they open is closed when the command ends.

    Raises:
        SettingsError: the settings cannot be used.
    """
    from sprayadvisor.bootstrap import build

    built = build(settings(ctx))
    ctx.call_on_close(built.close)
    return built

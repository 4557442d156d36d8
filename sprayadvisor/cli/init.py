"""The ``init`` command: a few questions, a mail on trial, and a settings file that loads."""

from __future__ import annotations

import functools
import inspect
import os
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from sprayadvisor.cli import questions
from sprayadvisor.cli.app import config_path
from sprayadvisor.cli.asking import Asker, ask_for_base, loaded
from sprayadvisor.cli.questions import Question
from sprayadvisor.errors import DeliveryError, InputError

_KEPT = ("SPRAYADVISOR_DATA_DIR", "STATE_DIRECTORY", "SPRAYADVISOR_FORECAST__GEOCODING_URL")
_AFTER = """\
Next:
  sprayadvisor job add --help      book a job
  sprayadvisor brief               what can be painted, and when
  sprayadvisor serve               let briefs come by themselves"""


def _takes_answers(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command an option for every question and hand it what was said as ``given``.

    Typer reads a function's signature; this writes it, so that the questions stand in one place.
    """
    by_name = {question.option.strip("-").replace("-", "_"): question for question in questions.ALL}

    @functools.wraps(command)
    def with_answers(**said: Any) -> None:  # noqa: ANN401 - whatever the command's options give
        given = {q.setting: _said(q, said.pop(name)) for name, q in by_name.items()}
        command(given={name: text for name, text in given.items() if text is not None}, **said)

    own = inspect.signature(command, eval_str=True).parameters.values()
    options = [
        inspect.Parameter(name, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=_kind(q))
        for name, q in by_name.items()
    ]
    signature = inspect.Signature([*(p for p in own if p.name != "given"), *options])
    with_answers.__signature__ = signature  # type: ignore[attr-defined]  # inspect looks for it
    return with_answers


def _kind(question: Question) -> object:
    """Return the type of the option that answers a question."""
    text = question.text.rstrip("?")
    if question.hidden:
        text = f"File that holds the {text[0].lower()}{text[1:].partition(';')[0]}"
    kind = Path if question.hidden else str
    return Annotated[kind | None, typer.Option(question.option, help=f"{text}.")]


def _said(question: Question, given: str | Path | None) -> str | None:
    """Return an answer that came as an option; a secret is in a file."""
    if isinstance(given, Path):
        return _secret(given, question.option)
    return given


@_takes_answers
def init(
    ctx: typer.Context,
    given: dict[str, str],
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="File to write.", show_default=False)
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    yes: Annotated[
        bool, typer.Option("--yes", help="Ask nothing: what is not given has its usual answer.")
    ] = False,
    trial: Annotated[
        bool, typer.Option("--trial-mail/--no-trial-mail", help="Send a mail to see it arrive.")
    ] = True,
) -> None:
    """Ask a few questions, try the mail, and write a settings file.

    Every question can be answered by an option. Nothing is written before all answers can stand.
    """
    target = output or config_path(ctx) or Path("sprayadvisor.toml")
    if target.exists() and not force:
        raise InputError(f"{target} is there already; add --force to replace it.")
    if yes:
        _refuse_gaps(given)
    asker = Asker(given, silent=yes)
    _ask(asker)
    if trial:
        _try_mail(asker)
    _write(asker, target)


def _refuse_gaps(given: dict[str, str]) -> None:
    """Refuse to go on in silence without what has no usual answer.

    Raises:
        InputError: naming every option that is missing.
    """
    needed = [question for question in questions.ALL if question.setting in questions.NEEDED]
    missing = [question.option for question in needed if question.setting not in given]
    if missing:
        raise InputError(f"--yes needs {' and '.join(missing)}; add that, or leave --yes out.")


def _secret(path: Path, option: str) -> str:
    """Return what a file holds, so that no secret stands on the command line.

    Raises:
        InputError: it cannot be read.
    """
    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "not UTF-8 text"
        raise InputError(f"{option}: {path} cannot be read ({why}); correct the path.") from error


def _ask(asker: Asker) -> None:
    """Go through all questions."""
    from sprayadvisor.bootstrap import build

    if not asker.silent:
        typer.echo("Press Enter to take the answer in brackets.")
    asker.group(questions.ABOUT_YOU)
    built = build(loaded(asker.values, _surroundings()))
    try:
        ask_for_base(asker, built.places)
    finally:
        built.close()
    for group in (questions.MAIL, questions.WEATHER, questions.VAN, questions.DAY):
        asker.group(group)


def _surroundings() -> dict[str, str]:
    """Return those variables that nobody is asked for: where data lie, and who knows places."""
    return {name: os.environ[name] for name in _KEPT if name in os.environ}


def _try_mail(asker: Asker) -> None:
    """Send a mail on trial; if it fails, let the way be mended or kept as it is.

    Raises:
        DeliveryError: it failed, and nothing may be asked.
    """
    from sprayadvisor.bootstrap import build
    from sprayadvisor.services.trial_mail import trial_mail

    while True:
        built = build(loaded(asker.values, _surroundings()))
        recipient = built.settings.recipients[0]
        mail = trial_mail(recipient, built.settings.mail.sender_address, built.now())
        try:
            built.transport.send(mail)
        except DeliveryError as error:
            asker.complain(error)
        else:
            typer.echo(_sent(built.settings.eml_folder, recipient))
            return
        if typer.confirm("Keep these answers about mail all the same?", default=False):
            return
        asker.group(questions.MAIL)


def _sent(folder: Path | None, recipient: str) -> str:
    if folder is not None:
        return f"Mails are written as files into {folder}; one on trial lies there now."
    return f"The mail server took a mail on trial for {recipient}; look whether it arrives."


def _write(asker: Asker, target: Path) -> None:
    """Write the file, for its owner's eyes only, as it may hold secrets."""
    from sprayadvisor.bootstrap import write_private
    from sprayadvisor.settings import settings_toml

    settings = loaded(asker.values, _surroundings())
    write_private(target, settings_toml(asker.values).encode())
    typer.echo(f"Wrote {target}; only you can read it.")
    # Where it is a server's, its address may hold a password and is shown nowhere.
    if settings.database_url is None:
        folder = settings.data_dir.resolve()
        typer.echo(f"Bookings, with your customers' names, are kept in {folder}.")
    if settings.forecast.effective_plan == "free":
        typer.echo("The forecast plan is free, which is for non-commercial use only.")
    if str(target) != "sprayadvisor.toml":
        typer.echo(f"Name it with SPRAYADVISOR_CONFIG={target}, or with --config.")
    typer.echo(_AFTER)

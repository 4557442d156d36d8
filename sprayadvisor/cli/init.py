"""The ``init`` command: a few questions, a mail on trial, and a settings file that loads."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

import typer

from sprayadvisor.cli import questions
from sprayadvisor.cli.app import config_path
from sprayadvisor.cli.asking import Asker, ask_for_base, loaded
from sprayadvisor.errors import DeliveryError, InputError

_Text = Annotated[str | None, typer.Option()]
_SecretFile = Annotated[Path | None, typer.Option(help="File that holds it.")]
_KEPT = ("SPRAYADVISOR_DATA_DIR", "STATE_DIRECTORY", "SPRAYADVISOR_FORECAST__GEOCODING_URL")
_AFTER = """\
Next:
  sprayadvisor job add --help      book a job
  sprayadvisor brief               what can be painted, and when
  sprayadvisor serve               let briefs come by themselves"""


def init(
    ctx: typer.Context,
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
    business: _Text = None,
    recipients: _Text = None,
    place: Annotated[
        str | None, typer.Option(help="Where the van sleeps: coordinates, map link, or a town.")
    ] = None,
    place_name: _Text = None,
    zone: _Text = None,
    mail_host: _Text = None,
    mail_security: _Text = None,
    mail_port: _Text = None,
    mail_username: _Text = None,
    mail_password_file: _SecretFile = None,
    mail_sender: _Text = None,
    forecast_key_file: _SecretFile = None,
    lamp_kw: _Text = None,
    lamp_area_m2: _Text = None,
    blower: _Text = None,
    canopy: _Text = None,
    work_light: _Text = None,
    compressor_kw: _Text = None,
    evening_brief: _Text = None,
    morning_brief: _Text = None,
) -> None:
    """Ask a few questions, try the mail, and write a settings file.

    Every question can be answered by an option. Nothing is written before all answers can stand.
    """
    target = output or config_path(ctx) or Path("sprayadvisor.toml")
    if target.exists() and not force:
        raise InputError(f"{target} is there already; add --force to replace it.")
    given = {
        "business": business,
        "recipients": recipients,
        "base.place": place,
        "base.name": place_name,
        "base.zone": zone,
        "mail.host": mail_host,
        "mail.security": mail_security,
        "mail.port": mail_port,
        "mail.username": mail_username,
        "mail.password": _secret(mail_password_file, "--mail-password-file"),
        "mail.sender": mail_sender,
        "forecast.api_key": _secret(forecast_key_file, "--forecast-key-file"),
        "kit.lamp_kw": lamp_kw,
        "kit.lamp_area_m2": lamp_area_m2,
        "kit.blower": blower,
        "kit.canopy": canopy,
        "kit.work_light": work_light,
        "kit.compressor_kw": compressor_kw,
        "hours.evening_brief": evening_brief,
        "hours.morning_brief": morning_brief,
    }
    asker = Asker({name: text for name, text in given.items() if text is not None}, silent=yes)
    _ask(asker)
    if trial:
        _try_mail(asker)
    _write(asker, target)


def _secret(path: Path | None, option: str) -> str | None:
    """Return what a file holds, so that no secret stands on the command line.

    Raises:
        InputError: it cannot be read.
    """
    if path is None:
        return None
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
    if settings.forecast.effective_plan == "free":
        typer.echo("The forecast plan is free, which is for non-commercial use only.")
    if str(target) != "sprayadvisor.toml":
        typer.echo(f"Name it with SPRAYADVISOR_CONFIG={target}, or with --config.")
    typer.echo(_AFTER)

"""The command line: every command is a module here and one line below.

A command imports heavy libraries inside its functions, so that ``--help`` stays quick; a test looks
at what it loads.
"""

from __future__ import annotations

from sprayadvisor.cli import (
    brief,
    demo,
    doctor,
    init,
    job,
    now,
    process,
    serve,
    settings_command,
    sheet,
    upkeep,
    web,
)
from sprayadvisor.cli.app import app as _app

_app.command()(demo.demo)
_app.command()(init.init)
_app.command()(doctor.doctor)
_app.command()(brief.brief)
_app.command()(now.now)
_app.command()(serve.serve)
_app.add_typer(settings_command.app, name="settings")
_app.add_typer(web.app, name="web")
_app.add_typer(job.app, name="job")
_app.add_typer(sheet.app, name="sheet")
_app.add_typer(process.app, name="process")
_app.command()(upkeep.backup)
_app.command()(upkeep.purge)


def main() -> None:
    """Run the command line; this is what the installed ``sprayadvisor`` calls."""
    _app(prog_name="sprayadvisor")

"""The frame of the command line: quick help, exit codes, sentences on stderr, settings commands."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import platformdirs
import pytest
import typer
from typer.testing import CliRunner

from sprayadvisor.cli.app import Commands, app, code_of, services
from sprayadvisor.errors import Fault, FaultsError, InputError
from sprayadvisor.settings import example_toml, load_settings

HEAVY = ("pandas", "pvlib", "matplotlib", "sqlalchemy", "alembic")
SECRET = "s3cr3t-of-mine"


@pytest.fixture(autouse=True)
def empty_place(tmp_path, monkeypatch):
    """Work where neither folder, user nor environment has settings."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(platformdirs, "user_config_path", lambda _: tmp_path / "user-config")
    monkeypatch.setattr(platformdirs, "user_data_path", lambda _: tmp_path / "user-data")
    for name in [*os.environ]:
        if name.startswith("SPRAYADVISOR_"):
            monkeypatch.delenv(name)


def run(*words: str, env: dict[str, str] | None = None):
    """Return what a command did."""
    return CliRunner().invoke(app, list(words), env=env)


def run_process(*words: str) -> subprocess.CompletedProcess[str]:
    """Run the command in a process of its own."""
    return subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, check=False, timeout=60
    )


@pytest.mark.parametrize("words", [["--help"], ["settings", "--help"], ["settings", "check"]])
def test_light_commands_load_nothing_heavy(words):
    """Help and settings come without pandas, pvlib, matplotlib, SQLAlchemy and Alembic."""
    program = (
        "import sys\n"
        f"sys.argv = ['sprayadvisor', *{words!r}]\n"
        "from sprayadvisor.cli import main\n"
        "try:\n    main()\n"
        f"finally:\n    print('loaded:', [n for n in {HEAVY!r} if n in sys.modules])\n"
    )
    done = run_process("-c", program)
    assert done.returncode == 0, done.stderr
    assert "loaded: []" in done.stdout


def test_every_command_has_help():
    """Help lists the commands, and each command's own help says what it is for."""
    done = run("--help")
    assert done.exit_code == 0
    for group in app.registered_groups:
        assert group.name in done.stdout
        own = run(group.name, "--help")
        assert own.exit_code == 0
        assert "Usage" in own.stdout


def test_version_is_that_of_the_installed_package():
    """``--version`` prints the version, and ``python -m sprayadvisor`` is the same program."""
    expected = f"sprayadvisor {version('sprayadvisor')}"
    assert run("--version").stdout.strip() == expected
    done = run_process("-m", "sprayadvisor", "--version")
    assert (done.returncode, done.stdout.strip()) == (0, expected)


@pytest.mark.parametrize(
    "words", [["nothing"], ["settings", "chek"], ["--nothing"], ["settings", "show", "extra"]]
)
def test_wrong_usage_ends_in_2(words):
    """A command, option or word that is not known is wrong usage."""
    assert run(*words).exit_code == 2


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (InputError("No such day."), "No such day.\n"),
        (
            FaultsError([Fault("a.toml", "x", "bad", "mend", 3), Fault("b.toml", "", "bad", "go")]),
            "a.toml:3: x: bad; mend.\nb.toml: bad; go.\n",
        ),
    ],
)
def test_what_could_not_be_done_is_a_sentence_and_ends_in_1(error, told):
    """An error of ours is told on stderr, a fault a line, without a traceback."""
    one = typer.Typer(cls=Commands)

    @one.callback()
    def nothing() -> None:
        """Make commands of the one below."""

    @one.command()
    def fail() -> None:
        raise error

    done = CliRunner().invoke(one, ["fail"])
    assert done.exit_code == 1
    assert done.stderr == told
    assert done.stdout == ""


def test_unforeseen_errors_stay_loud():
    """A defect is not made into a polite sentence."""
    one = typer.Typer(cls=Commands)

    @one.callback()
    def nothing() -> None:
        """Make commands of the one below."""

    @one.command()
    def fail() -> None:
        raise KeyError("defect")

    with pytest.raises(KeyError, match="defect"):
        CliRunner().invoke(one, ["fail"], catch_exceptions=False)


def test_services_are_closed_when_the_command_ends(monkeypatch):
    """A command gets services with the settings of ``--config``; they are closed behind it."""
    Path("own.toml").write_text('business = "Own"\n', encoding="utf-8")
    closed = []
    monkeypatch.setattr(
        "sprayadvisor.bootstrap.Services.close",
        lambda self: closed.append(self.settings.business),
    )
    probe = typer.Typer()

    @probe.command()
    def look(ctx: typer.Context) -> None:
        """Print the business."""
        typer.echo(services(ctx).settings.business)
        assert closed == []

    groups = list(app.registered_groups)
    app.add_typer(probe, name="probe")
    try:
        done = run("--config", "own.toml", "probe", "look")
    finally:
        app.registered_groups[:] = groups
    assert (done.exit_code, done.stdout) == (0, "Own\n")
    assert closed == ["Own"]


def test_check_says_where_the_settings_come_from_and_what_follows():
    """Good settings are confirmed with their source and with what is left open."""
    done = run("settings", "check")
    assert done.exit_code == 0
    assert "The settings are fine (no settings file; defaults and environment)." in done.stdout
    assert "There is no [base]" in done.stdout
    assert "There are no recipients" in done.stdout
    assert "non-commercial" in done.stdout


def test_check_of_a_full_file_has_nothing_to_add():
    """With base, recipients and an own server there is nothing left to say."""
    Path("full.toml").write_text(example_toml(), encoding="utf-8")
    env = {
        "SPRAYADVISOR_CONFIG": "full.toml",
        "SPRAYADVISOR_FORECAST__BASE_URL": "http://127.0.0.1:1",
    }
    assert run("settings", "check", env=env).stdout == "The settings are fine (from full.toml).\n"
    fixed = env | {"SPRAYADVISOR_NOW": "2026-03-09T18:00:00Z"}
    assert "The clock stands still at 2026-03-09T18:00:00+00:00" in (
        run("settings", "check", env=fixed).stdout
    )


def test_check_tells_every_fault_on_its_own_line():
    """Bad settings end in 1 with one line a fault on stderr."""
    env = {"SPRAYADVISOR_MAIL__HOSTS": "x", "SPRAYADVISOR_UNITS__WIND": "bft"}
    done = run("settings", "check", env=env)
    assert done.exit_code == 1
    assert done.stdout == ""
    assert [line.split(":")[0] for line in done.stderr.splitlines()] == sorted(env)


@pytest.mark.parametrize("words", [["show"], ["show", "--json"], ["check"]])
def test_secrets_are_never_printed(words):
    """Neither show nor check prints a secret."""
    env = {
        "SPRAYADVISOR_DATABASE_URL": f"postgresql+psycopg://u:{SECRET}@h/d",
        "SPRAYADVISOR_FORECAST__API_KEY": SECRET,
        "SPRAYADVISOR_MAIL__USERNAME": "u",
        "SPRAYADVISOR_MAIL__PASSWORD": SECRET,
        "SPRAYADVISOR_WEB__PASSPHRASE": SECRET,
    }
    done = run("settings", *words, env=env)
    assert done.exit_code == 0
    assert SECRET not in done.output


def test_show_prints_what_is_in_force():
    """Show prints every setting, as lines or as JSON, with the environment's word counted."""
    env = {"SPRAYADVISOR_UNITS__WIND": "kn"}
    lines = run("settings", "show", env=env).stdout.splitlines()
    assert 'units.wind = "kn"' in lines
    assert "base = (left out)" in lines
    values = json.loads(run("settings", "show", "--json", env=env).stdout)
    assert values["units"] == {"temperature": "c", "wind": "kn"}
    assert values["hours"]["work_from"] == "08:00"


def test_example_is_printed_or_written_and_loads():
    """The example is the same on screen and in a file; a file that is there is kept."""
    assert run("settings", "example").stdout == example_toml()
    assert run("settings", "example", "--output", "new.toml").stdout == "Wrote new.toml.\n"
    assert load_settings({}, Path("new.toml")).business
    Path("new.toml").write_text("mine", encoding="utf-8")
    refused = run("settings", "example", "--output", "new.toml")
    assert (refused.exit_code, refused.stderr) == (
        1,
        "new.toml is there already; add --force to replace it.\n",
    )
    assert Path("new.toml").read_text(encoding="utf-8") == "mine"
    assert run("settings", "example", "--output", "new.toml", "--force").exit_code == 0
    assert Path("new.toml").read_text(encoding="utf-8") == example_toml()
    gone = run("settings", "example", "--output", "gone/new.toml")
    assert gone.exit_code == 1
    assert "gone/new.toml cannot be written (No such file or directory)" in gone.stderr


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ((), 0),
        (("go", "care"), 0),
        (("go", "no-go"), 4),
        (("no-go", "unknown"), 3),
        (("not judged",), 3),
    ],
)
def test_the_exit_code_of_verdicts_tells_a_no_and_a_doubt_from_a_go(words, code):
    """What is not known comes first: nothing of it may pass for judged."""
    assert code_of(words) == code


COMMANDS = [
    (), ("now",), ("brief",), ("init",), ("backup",), ("job",), ("job", "add"), ("job", "list"),
    ("job", "export"), ("sheet", "check"), ("purge",),
]  # fmt: skip


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_help_is_in_a_painter_s_words(words):
    """No type of a programmer's stands beside any option."""
    done = run(*words, "--help")
    assert done.exit_code == 0
    assert not re.search(r"<[\w%|\[\] -]+>|TEXT|BOOLEAN", done.output)


def test_help_says_the_form_of_days_and_times():
    """As they are typed; a switch takes nothing."""
    text = run("job", "add", "--help").output
    assert re.search(r"--day +YYYY-MM-DD", text)
    assert re.search(r"--back-by +HH:MM", text)
    assert re.search(r"--help +Show", text)

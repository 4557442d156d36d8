"""``init``: questions, a mail on trial, and a file that loads."""

import contextlib
import os
import pty
import stat
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
import responses
from mail_server import MailServer
from typer.testing import CliRunner

from sprayadvisor.cli import _app
from sprayadvisor.cli.questions import ALL
from sprayadvisor.settings import load_settings

PLACES = "https://places.invalid"
SANDQUAY = {
    "name": "Sandquay", "latitude": 53.21, "longitude": -8.87, "elevation": 12.0,
    "timezone": "Europe/Dublin", "country": "Ireland",
}  # fmt: skip
TWIN = SANDQUAY | {"latitude": -41.3, "longitude": 174.8, "timezone": "Pacific/Auckland"}
VAN = ["2,5", "0.4", "no", "yes", "yes", "1.1"]
YARD = ["53.24, -8.98", "Europe/Dublin", "Yard"]
SILENT = ["--yes", "--recipients", "me@example.org", "--place", "53.24 -8.98"]


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    """An empty folder to work in."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SPRAYADVISOR_DATA_DIR", str(tmp_path / "data"))
    monkeypatch.setenv("SPRAYADVISOR_FORECAST__GEOCODING_URL", PLACES)
    monkeypatch.delenv("SPRAYADVISOR_CONFIG", raising=False)


def run(*options, answers=()):
    """Return what came of the command."""
    typed = "".join(f"{answer}\n" for answer in answers)
    return CliRunner().invoke(_app, ["init", *options], input=typed)


def written():
    """Return the values in the file that was written."""
    return tomllib.loads(Path("sprayadvisor.toml").read_text(encoding="utf-8"))


def test_answers_become_a_file_that_loads():
    """What was typed stands in the file, for its owner alone, and a mail on trial was written."""
    answers = [
        "Sandquay Paint",
        "me@example.org; b@example.org",
        *YARD,
        "",
        "",
        "",
        *VAN,
        "19:00",
        "",
    ]
    done = run(answers=answers)
    assert done.exit_code == 0, done.output
    settings = load_settings({}, Path("sprayadvisor.toml"))
    assert settings.business == "Sandquay Paint"
    assert settings.recipients == ("me@example.org", "b@example.org")
    assert (settings.base.latitude, settings.base.zone) == (53.24, "Europe/Dublin")
    assert (settings.kit.lamp_kw, settings.kit.canopy, settings.kit.blower) == (2.5, True, False)
    assert f"{settings.hours.evening_brief:%H:%M} {settings.hours.morning_brief:%H:%M}" == (
        "19:00 06:30"
    )
    assert stat.S_IMODE(Path("sprayadvisor.toml").stat().st_mode) == 0o600
    (mail,) = Path("data/mail").glob("*.eml")
    assert b"Trial: mail from Sprayadvisor arrives" in mail.read_bytes()
    assert "non-commercial use only" in done.output
    assert "sprayadvisor serve" in done.output
    kept = f"Bookings, with your customers' names, are kept in {Path('data').resolve()}."
    assert kept in done.output


def test_bad_answers_are_asked_again():
    """Each answer that cannot stand is told in a sentence, and it alone is asked once more."""
    answers = [
        "Paint", "nobody", "me@example.org",
        "nowhere at all 99", "53.24, -8.98", "Europe/Dublim", "Yard", *YARD,
        "", "", "", "2,5", "0.4", "no", "maybe", "yes", "1.1", "yes", "19:00", "20:00", "06:30",
    ]  # fmt: skip
    done = run(answers=answers)
    assert done.exit_code == 0, done.output
    for sentence in (
        "recipients: 'nobody' is not an e-mail address",
        "place: no coordinates can be read from it",
        "base.zone: 'Europe/Dublim' is not a time zone",
        "kit.canopy: 'maybe' is neither true nor false",
        "hours.morning_brief: the morning brief at 20:00 comes after the evening brief",
    ):
        assert sentence in done.output
    assert written()["hours"] == {"evening_brief": "19:00", "morning_brief": "06:30"}


def test_a_town_is_chosen_by_whoever_asks():
    """Places of one name are listed; the one picked brings its zone and height along."""
    answers = ["", "me@example.org", "Sandquay", "9", "Sandquay", "1", "", "", "", "", *VAN, "", ""]
    with responses.RequestsMock() as service:
        service.get(f"{PLACES}/v1/search", json={"results": [SANDQUAY, TWIN]})
        done = run(answers=answers)
    assert done.exit_code == 0, done.output
    assert "place: none of these" in done.output
    assert "GeoNames" in done.output
    assert written()["base"] == {
        "name": "Sandquay", "latitude": 53.21, "longitude": -8.87, "zone": "Europe/Dublin",
        "elevation_m": 12.0,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("found", "sentence"),
    [([], "'Sandquay' is not known"), ([SANDQUAY, TWIN], "'Sandquay' may be 2 places")],
)
def test_a_town_that_is_not_one_place_is_refused_in_silence(found, sentence):
    """Where nobody can be asked, nothing is chosen for them."""
    with responses.RequestsMock() as service:
        service.get(f"{PLACES}/v1/search", json={"results": found})
        done = run("--yes", "--recipients", "me@example.org", "--place", "Sandquay")
    assert (done.exit_code, Path("sprayadvisor.toml").exists()) == (1, False)
    assert sentence in done.output


def test_options_answer_everything():
    """With options and --yes nothing is asked; a single place of a name is taken."""
    Path("key").write_text("k3y\n")
    with responses.RequestsMock() as service:
        service.get(f"{PLACES}/v1/search", json={"results": [SANDQUAY]})
        done = run(
            "--yes", "--recipients", "me@example.org", "--place", "Sandquay", "--lamp-kw", "2",
            "--lamp-area-m2", "0.5", "--blower", "yes", "--forecast-key-file", "key",
            "--no-trial-mail", "--output", "own.toml",
        )  # fmt: skip
    assert done.exit_code == 0, done.output
    assert "--config" in done.output
    settings = load_settings({}, Path("own.toml"))
    assert settings.forecast.effective_plan == "customer"
    assert (settings.kit.lamp_kw, settings.kit.blower) == (2.0, True)
    assert not Path("data/mail").exists()
    assert "k3y" not in done.output


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--yes", "--place", "53.24 -8.98"], "--yes needs --recipients; add that"),
        (["--yes"], "--yes needs --recipients and --place; add that, or leave --yes out."),
        (
            [*SILENT, "--zone", "UTC", "--mail-host", "h", "--mail-username", "me"],
            "mail.password is not given; add --mail-password-file, or leave --yes out",
        ),
        (["--yes", "--recipients", ",", "--place", "1 2"], "recipients: nothing was given"),
        (["--yes", "--recipients", "me@example.org"], "--yes needs --place; add that"),
        ([*SILENT, "--zone", "Moon"], "base.zone: 'Moon' is not a time zone"),
        ([*SILENT, "--zone", "UTC", "--lamp-kw", "-1"], "kit.lamp_kw"),
        ([*SILENT, "--zone", "UTC", "--mail-port", "x", "--mail-host", "h"], "mail.port"),
        ([*SILENT, "--forecast-key-file", "gone"], "--forecast-key-file: gone cannot be read"),
    ],
)
def test_nothing_is_written_while_an_answer_cannot_stand(options, sentence):
    """One sentence, exit code 1, no file."""
    done = run("--no-trial-mail", *options)
    assert (done.exit_code, Path("sprayadvisor.toml").exists()) == (1, False)
    assert sentence in done.output


def test_a_file_that_is_there_is_kept():
    """It takes --force to replace a settings file."""
    Path("sprayadvisor.toml").write_text('business = "Old"\n')
    done = run(*SILENT, "--zone", "UTC", "--no-trial-mail")
    assert done.exit_code == 1
    assert "sprayadvisor.toml is there already; add --force to replace it." in done.output
    assert written() == {"business": "Old"}
    assert run(*SILENT, "--zone", "UTC", "--no-trial-mail", "--force").exit_code == 0
    assert written()["recipients"] == ["me@example.org"]


def test_mail_is_tried_on_the_real_server():
    """The mail on trial arrives at the recipient, and its login stands in the file."""
    Path("word").write_text("open sesame\n")
    with MailServer(login=("me@example.org", "open sesame")) as server:
        done = run(
            *SILENT, "--zone", "UTC", "--mail-host", "127.0.0.1", "--mail-port", str(server.port),
            "--mail-security", "none", "--mail-username", "me@example.org",
            "--mail-password-file", "word",
        )  # fmt: skip
    assert done.exit_code == 0, done.output
    (mail,) = server.mails
    assert (mail.sender, mail.recipient) == ("me@example.org", "me@example.org")
    assert b"Auto-Submitted: auto-generated" in mail.content
    assert b"No verdict is in this mail" in mail.content
    assert written()["mail"]["password"] == "open sesame"
    assert "open sesame" not in done.output


def test_a_mail_that_fails_is_told_and_the_way_mended():
    """A refused login is told; the answers about mail are asked again, the others kept."""
    with MailServer(login=("me@example.org", "right")) as server:
        way = ["127.0.0.1", "none", str(server.port), "me@example.org"]
        answers = ["Paint", "me@example.org", *YARD, *way, "wrong", "", "", "", *VAN, "", ""]
        done = run(answers=[*answers, "n", *way, "right", ""])
    assert done.exit_code == 0, done.output
    assert "it refuses the login" in done.output
    assert len(server.mails) == 1
    assert written()["business"] == "Paint"
    assert written()["mail"]["password"] == "right"


def test_a_mail_that_fails_can_be_left_for_later_or_stops_a_script():
    """Answers about mail can be kept all the same; with --yes the failure is the end."""
    way = ["127.0.0.1", "none", "1", ""]
    answers = ["", "me@example.org", *YARD, *way, "", "", "", *VAN, "", "", "y"]
    done = run(answers=answers)
    assert done.exit_code == 0, done.output
    assert written()["mail"]["port"] == 1
    Path("sprayadvisor.toml").unlink()
    server = ["--mail-host", "127.0.0.1", "--mail-security", "none", "--mail-port", "1"]
    done = run(*SILENT, "--zone", "UTC", *server)
    assert (done.exit_code, Path("sprayadvisor.toml").exists()) == (1, False)
    assert "lets nobody in" in done.output


def test_answers_at_fault_alone_are_asked_again_and_follow_up_falls_away():
    """A port that is none is asked again; the rest of the group keeps its answers."""
    way = ["localhost", "none", "many", "", ""]
    done = run("--no-trial-mail", answers=["", "me@example.org", *YARD, *way, "25", *[""] * 20])
    assert done.exit_code == 0, done.output
    assert "mail.port: 'many' is not a number" in done.output
    assert done.output.count("Mail server; empty") == 1
    assert written()["mail"]["port"] == 25


def test_a_weather_server_of_ones_own():
    """Its address is the plan; no warning of the free one then."""
    url = ["--forecast-url", "http://127.0.0.1:8080"]
    done = run(*SILENT, "--zone", "UTC", "--no-trial-mail", *url)
    assert done.exit_code == 0, done.output
    assert "non-commercial" not in done.output
    settings = load_settings({}, Path("sprayadvisor.toml"))
    assert settings.forecast.effective_plan == "own"


def test_a_password_is_typed_unseen():
    """On a terminal the password and the key are not shown; all else is."""
    leader, follower = pty.openpty()
    with contextlib.ExitStack() as stop, MailServer(login=("me", "open sesame")) as server:
        way = ["127.0.0.1", "none", str(server.port), "me", "open sesame", "me@example.org"]
        typed = ["Paint", "me@example.org", *YARD, *way, *[""] * 9]
        command = [sys.executable, "-c", "from sprayadvisor.cli import main; main()", "init"]
        child = subprocess.Popen(
            command, stdin=follower, stdout=follower, stderr=follower, start_new_session=True
        )
        os.close(follower)
        stop.callback(child.wait)
        stop.callback(child.kill)
        seen = b""
        for answer in typed:
            while not seen.endswith(b": "):  # only then the echo is off
                seen += os.read(leader, 1000)
            os.write(leader, f"{answer}\n".encode())
            seen += b"\n"
        with contextlib.suppress(OSError):  # the terminal is gone once the child is
            while more := os.read(leader, 1000):
                seen += more
        os.close(leader)
        assert child.wait(30) == 0, seen.decode()
    assert len(server.mails) == 1
    assert b"me@example.org" in seen
    assert b"open sesame" not in seen


@pytest.mark.parametrize("question", ALL, ids=lambda question: question.setting)
def test_every_question_has_an_option_that_explains_itself(question, monkeypatch):
    """The help names the option and says what is asked."""
    monkeypatch.setenv("COLUMNS", "250")
    (line,) = [line for line in run("--help").output.splitlines() if f" {question.option} " in line]
    assert question.text.partition(";")[0].rstrip("?")[1:] in line


def test_the_installed_command_asks_tries_and_writes(tmp_path):
    """A process of its own, in an empty folder, with a real mail server; then the file is used."""
    command = [sys.executable, "-c", "from sprayadvisor.cli import main; main()"]
    environ = {n: v for n, v in os.environ.items() if "SPRAYADVISOR" not in n}
    environ |= {"XDG_DATA_HOME": str(tmp_path / "data"), "XDG_CONFIG_HOME": str(tmp_path / "conf")}

    def process(*words, typed=""):
        return subprocess.run(
            [*command, *words],
            input=typed,
            env=environ,
            capture_output=True,
            text=True,
            check=False,
        )

    with MailServer() as server:
        answers = ["Paint", "me@example.org", *YARD, "127.0.0.1", "none", str(server.port), ""]
        done = process("init", typed="\n".join([*answers, *[""] * 12]))
    assert (done.returncode, done.stderr) == (0, "")
    assert [mail.recipient for mail in server.mails] == ["me@example.org"]
    checked = process("settings", "check")
    assert checked.stdout.startswith("The settings are fine (from sprayadvisor.toml).")
    cut_short = process("init", "--output", "other.toml", typed="Paint\n")
    assert (cut_short.returncode, Path("other.toml").exists()) == (1, False)

"""The ``brief`` and ``demo`` commands, over the true path with a loopback forecast."""

import json
import os

import pytest
from typer.testing import CliRunner

from sprayadvisor.cli import _app
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _near, fixture_answers
from sprayadvisor.demo.weather_server import WeatherServer

RUN = CliRunner()
JOB = [
    "job", "add", "--ref", "K1", "--process", "door-scuff", "--day", "2026-04-17",
    "--arrive", "09:30-11:00", "--site", "Hazel Court", "--lat", "53.14", "--lon", "-8.935",
    "--zone", "Europe/Dublin", "--panel", "right_door:white", "--heading", "290",
]  # fmt: skip


@pytest.fixture
def world(tmp_path, monkeypatch):
    """The story's settings in the environment, its weather on loopback."""
    for name in [name for name in os.environ if name.startswith("SPRAYADVISOR_")]:
        monkeypatch.delenv(name)
    air = _near(fixture_answers("air_quality"))
    with WeatherServer(_near(fixture_answers()), air) as server:
        settings = story.SETTINGS | {
            "SPRAYADVISOR_DATA_DIR": str(tmp_path / "data"),
            "SPRAYADVISOR_FORECAST__BASE_URL": server.url,
        }
        for name, value in settings.items():
            monkeypatch.setenv(name, value)
        yield server


def run(*words):
    """Return the outcome of a command."""
    return RUN.invoke(_app, list(words))


def test_a_job_is_judged_and_laid_open_on_demand(world):
    """Verdict, stages with their checks, cautions; the same for a machine beside the booking."""
    run(*JOB)
    done = run("job", "show", "K1", "--why")
    assert done.exit_code == 0, done.output
    assert "● GO: start " in done.output
    assert "Last safe to stop at" in done.output
    assert "A go is not permission" in done.output
    found = json.loads(run("job", "show", "K1", "--why", "--json").stdout)
    assert found["ref"] == "K1"
    assert found["judged_now"]["verdict"] == "go"
    assert found["judged_now"]["best_play"]["stages"]
    assert "judged_now" not in json.loads(run("job", "show", "K1", "--json").stdout)


def test_a_booked_job_is_in_the_brief(world):
    """Book, then read: the verdict is printed with its cautions."""
    assert run(*JOB).exit_code == 0
    done = run("brief", "--day", "2026-04-17")
    assert done.exit_code == 0, done.output
    assert "● GO  K1, Hazel Court" in done.output
    assert "never permission" in done.output


def test_json_is_for_machines(world):
    """Units stand in the names, times carry their zone, and it parses."""
    run(*JOB)
    made = json.loads(run("brief", "--day", "2026-04-17", "--json").stdout)
    job = made["jobs"][0]
    assert job["verdict"] == "go"
    assert job["limiting"]["quantity"] in ("panel_temp_c", "rh_pct")
    assert job["best_start"].endswith("+01:00")
    assert made["kind"] == "evening"


def test_files_are_written(world, tmp_path):
    """Mail, page and chart go where they are asked to."""
    run(*JOB)
    done = run("brief", "--day", "2026-04-17", "--out", str(tmp_path / "briefs"))
    assert done.exit_code == 0, done.output
    names = sorted(path.name for path in (tmp_path / "briefs").iterdir())
    stem = "2026-04-17-evening"
    assert names == [f"{stem}-K1.png", f"{stem}.eml", f"{stem}.html"]


def test_no_weather_still_makes_a_brief_and_says_so(world, caplog):
    """The brief comes out with an unknown; the exit code and stderr tell of it."""
    far = [("-9.9" if word == "-8.935" else word) for word in JOB]
    run(*far)
    done = run("brief", "--day", "2026-04-17")
    assert done.exit_code == 3
    assert "? UNKNOWN  K1" in done.output
    assert "No data is available for this location" in done.stderr
    assert "No data is available for this location" in caplog.text
    assert "53.1" not in caplog.text


def test_an_unreachable_service_still_makes_a_brief(world, monkeypatch, caplog):
    """With nothing there to ask, every job is unknown and the brief says why."""
    run(*JOB)
    monkeypatch.setenv("SPRAYADVISOR_FORECAST__BASE_URL", "http://127.0.0.1:9")
    # Two tries and no pause: that it is tried again belongs to the log, and not into the answer.
    monkeypatch.setattr("sprayadvisor.adapters.open_meteo.client.TRIES", 2)
    monkeypatch.setattr("sprayadvisor.adapters.open_meteo.client.random.uniform", lambda *_: -0.99)
    done = run("brief", "--day", "2026-04-17")
    assert done.exit_code == 3
    assert "? UNKNOWN  K1" in done.output
    assert "There is no earlier forecast" in done.stderr
    assert "Next try in" in caplog.text
    assert "Next try in" not in done.stdout


@pytest.mark.parametrize(
    ("words", "kind", "day"),
    [
        ((), "evening", "2026-04-16"),
        (("--morning",), "morning", "2026-04-15"),
        (("--evening",), "evening", "2026-04-16"),
        (("--day", "today"), "morning", "2026-04-15"),
        (("--day", "tomorrow"), "evening", "2026-04-16"),
        (("--day", "2026-04-20", "--morning"), "morning", "2026-04-20"),
    ],
)
def test_which_brief_is_meant(world, words, kind, day):
    """Left out, it is the evening's from noon on; a day of its own says which it is."""
    made = json.loads(run("brief", "--json", *words).stdout)
    assert (made["kind"], made["day"]) == (kind, day)
    assert made["jobs"] == []


def test_a_day_that_is_none_is_refused(world):
    """One sentence names the option and the form."""
    done = run("brief", "--day", "friday")
    assert done.exit_code == 1
    assert "“friday” is no day; write YYYY-MM-DD" in done.stderr


def test_a_folder_that_cannot_be_written_is_one_sentence(world, tmp_path):
    """Exit 1, a sentence, no traceback."""
    (tmp_path / "file").write_text("")
    done = run("brief", "--out", str(tmp_path / "file" / "x"))
    assert done.exit_code == 1
    assert "choose another folder" in done.stderr
    assert "Traceback" not in done.output


def test_the_demo_says_where_its_files_are(tmp_path, monkeypatch, caplog):
    """It prints both briefs, the files, and how to go on."""
    monkeypatch.chdir(tmp_path)
    done = run("demo")
    assert done.exit_code == 0, done.output
    for words in ("Evening brief for Thursday 16 April", "Friday 17 April", "Your own jobs"):
        assert words in done.output
    assert "sprayadvisor init\n" in done.output
    assert "settings example" not in done.output
    assert "53.14,-9.90" not in caplog.text + done.output
    assert caplog.text == ""
    assert (tmp_path / "sprayadvisor-demo" / "2026-04-16-evening.eml").exists()

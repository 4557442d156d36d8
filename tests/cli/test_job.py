"""``sprayadvisor job``: from what is typed to what is stored and printed."""

import json
import shlex
import sqlite3
from contextlib import closing

import pytest
from typer.testing import CliRunner

from sprayadvisor.cli import _app as app
from sprayadvisor.cli.job import _OPTIONS
from sprayadvisor.cli.plain import plain
from sprayadvisor.services.ports import JobForm

ADD = shlex.split(
    "job add --process door-scuff --day tomorrow --arrive 09:00-10:30 --site Mill-Lane "
    "--lat 48.1 --lon 11.5 --zone Europe/Berlin --panel left_door:silver"
)

GONE = (
    "There is no job J9; look for it with “sprayadvisor job list --all”, or under Bookings on the "
    "page.\n"
)


@pytest.fixture(autouse=True)
def quiet_place(tmp_path, monkeypatch):
    """Use a database of this test's own on 3 May 2027, and none of the user's settings."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("SPRAYADVISOR_CONFIG", raising=False)
    monkeypatch.setenv("SPRAYADVISOR_DATABASE_URL", f"sqlite:///{tmp_path}/jobs.db")
    monkeypatch.setenv("SPRAYADVISOR_NOW", "2027-05-03T10:00:00+02:00")
    monkeypatch.setenv("COLUMNS", "100")


def run(*words):
    """Return what a command printed, after making sure that it did what it was told."""
    done = CliRunner().invoke(app, list(words))
    assert done.exit_code == 0, done.stderr
    assert done.stderr == ""
    return done.stdout


def refused(*words):
    """Return the exit code and the sentence of a command that could not."""
    done = CliRunner().invoke(app, list(words))
    assert done.stdout == ""
    return done.exit_code, done.stderr


def test_add_numbers_the_job_and_says_when_and_where():
    """Adding prints the new reference; ``tomorrow`` is the day after the clock's at the site."""
    assert run(*ADD) == "Added J1: Mill-Lane, Tue 2027-05-04, 09:00-10:30.\n"
    assert run(*ADD, "--ref", "W-12").startswith("Added W-12: ")
    assert "Added J3" in run(*ADD)


def test_every_option_reaches_the_job():
    """What is typed on the command line is what JSON shows."""
    run(
        *ADD,
        *("--panel", "roof:black:aluminium:bare", "--heading", "ne", "--elevation", "520"),
        *("--surroundings", "open", "--ground", "grass", "--cover", "trees", "--power", "none"),
        *("--downwind", "n=neighbour's cars", "--downwind", "w=pond"),
        *("--shade-before", "09:15", "--shade-after", "17:00", "--kerb"),
        *("--fixed", "--area", "0.4"),
        *("--car-there-from", "08:00", "--back-by", "18:30"),
        *("--driven-until", "07:50", "--washed-until", "07:30"),
        *("--customer", "A. Sample", "--phone", "none", "--email", "a@sample.invalid"),
        *("--note", "rings twice"),
    )
    shown = json.loads(run("job", "show", "J1", "--json"))
    history = shown.pop("history")
    assert shown == {
        "ref": "J1",
        "site": {
            "name": "Mill-Lane",
            "latitude": 48.1,
            "longitude": 11.5,
            "zone": "Europe/Berlin",
            "elevation_m": 520.0,
            "surroundings": "open",
            "ground": "grass",
            "cover": "trees",
            "power": "none",
            "downwind": {"n": "neighbour's cars", "w": "pond"},
            "shade_before": "09:15:00",
            "shade_after": "17:00:00",
            "kerb": True,
        },
        "panels": [
            {"part": "left_door", "colour": "silver", "material": "steel", "surface": "paint"},
            {"part": "roof", "colour": "black", "material": "aluminium", "surface": "bare"},
        ],
        "process": "door-scuff",
        "day": "2027-05-04",
        "arrive_from": "09:00:00",
        "arrive_to": "10:30:00",
        "heading_deg": 45.0,
        "car_there_from": "08:00:00",
        "back_by": "18:30:00",
        "driven_until": "07:50:00",
        "washed_until": "07:30:00",
        "may_move": False,
        "times_moved": 0,
        "repair_area_m2": 0.4,
        "state": "booked",
        "customer": {
            "name": "A. Sample",
            "phone": "none",
            "email": "a@sample.invalid",
            "note": "rings twice",
        },
    }
    assert history == [
        {"at": "2027-05-03T08:00:00+00:00", "event": "added", "by": "command line", "note": ""}
    ]
    assert json.loads(run("job", "list", "--json")) == [shown]
    text = run("job", "show", "J1")
    for words in (
        "J1, booked, fixed",
        "Tuesday 2027-05-04, arrival 09:00-10:30, Europe/Berlin",
        "there from 08:00, back by 18:30, driven until 07:50, washed until 07:30",
        "left_door silver steel, roof black aluminium bare",
        "Mill-Lane (48.1, 11.5, 520 m)",
        "until 09:15, from 17:00",
        "n: neighbour's cars, w: pond",
        "A. Sample, none, a@sample.invalid",
        "rings twice",
        "2027-05-03 08:00 UTC, added, command line",
    ):
        assert words in text


def test_options_cover_the_form():
    """Every field of a form but the reference has its option, and no option has no field."""
    assert {*_OPTIONS, "ref"} == set(JobForm.__dataclass_fields__)


def test_south_and_west_are_negative_numbers():
    """A number with a minus is a value and not another option."""
    words = [*ADD]
    words[words.index("48.1")], words[words.index("11.5")] = "-33.9", "-70.7"
    run(*words)
    site = json.loads(run("job", "list", "--json"))[0]["site"]
    assert (site["latitude"], site["longitude"]) == (-33.9, -70.7)


def test_stored_site_needs_its_name_only():
    """A site once described is used again by name."""
    run(*ADD, "--elevation", "520")
    run(
        *("job", "add", "--process", "door-scuff", "--day", "2027-05-05", "--arrive", "9-10"),
        *("--site", "Mill-Lane", "--panel", "roof:black"),
    )
    first, second = json.loads(run("job", "list", "--json"))
    assert first["site"] == second["site"]


def test_list_shows_what_is_asked_for():
    """From today on; between two days; everything, with what is over."""
    assert run("job", "list") == "No jobs.\n"
    assert json.loads(run("job", "list", "--json")) == []
    run(*ADD)
    run(*ADD, "--day", "2027-05-06", "--site", "Mill-Lane", "--fixed")
    run(*ADD, "--day", "2027-05-05")
    run("job", "cancel", "J3")
    table = run("job", "list")
    assert [line.split()[0] for line in table.splitlines()] == ["Job", "J1", "J2"]
    assert "2027-05-04  09:00-10:30  Mill-Lane  door-scuff  left_door  booked" in table
    assert "booked, fixed" in table
    until = run("job", "list", "--from", "2027-05-01", "--to", "2027-05-05")
    assert [line.split()[0] for line in until.splitlines()] == ["Job", "J1"]
    everything = run("job", "list", "--all")
    assert [line.split()[0] for line in everything.splitlines()] == ["Job", "J1", "J3", "J2"]


def test_site_name_is_no_markup():
    """Square brackets in a name are printed, not obeyed."""
    words = ["[red]Yard[/]" if word == "Mill-Lane" else word for word in ADD]
    run(*words)
    assert "[red]Yard[/]" in run("job", "list")


def test_change_and_cancel_leave_a_history():
    """Only what is given changes; another day counts as a move; a reason is kept."""
    run(*ADD)
    assert run("job", "change", "J1", "--note", "ring first").startswith("Changed J1: ")
    assert "2027-05-06" in run("job", "change", "J1", "--day", "2027-05-06")
    assert "J1, booked, moved once\n" in run("job", "show", "J1")
    run("job", "change", "J1", "--day", "2027-05-07", "--may-move")
    assert run("job", "cancel", "J1", "--why", "rain").startswith("Cancelled J1: ")
    text = run("job", "show", "J1")
    assert "J1, cancelled, moved 2 times" in text
    assert "changed, customer, command line" in text
    assert "moved, 2027-05-06 to 2027-05-07, command line" in text
    assert "cancelled, rain, command line" in text


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["job", "show", "J9"], GONE),
        (["job", "cancel", "J9"], GONE),
        (["job", "change", "J1"], "Nothing about job J1 would change; say what shall.\n"),
        (
            [*ADD, "--zone", "Europe/Berln"],
            "zone 'Europe/Berln' is not a known time zone; did you mean Europe/Berlin?\n",
        ),
        (
            [*ADD, "--process", "door-scuf"],
            "process 'door-scuf' is not known; did you mean 'door-scuff'?\n",
        ),
    ],
)
def test_what_cannot_be_is_one_sentence(words, sentence):
    """One sentence on stderr, exit code 1, nothing on stdout and nothing stored."""
    run(*ADD)
    assert refused(*words) == (1, sentence)
    assert len(json.loads(run("job", "list", "--all", "--json"))) == 1


@pytest.mark.parametrize(
    "words", [["job", "show"], ["job", "list", "--from", "May"], ["job", "add", "--nosuch"]]
)
def test_wrong_usage_is_exit_code_2(words):
    """What the command line itself cannot read is wrong usage."""
    assert refused(*words)[0] == 2


def test_locked_database_is_one_sentence(tmp_path, monkeypatch):
    """Another program in the way: exit code 1 and what to do."""
    from sprayadvisor.adapters.store import engine

    run(*ADD)
    monkeypatch.setattr(engine.open_engine, "__kwdefaults__", {"busy_timeout_s": 0.02})
    with closing(sqlite3.connect(tmp_path / "jobs.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        code, sentence = refused(*ADD)
    assert code == 1
    assert "jobs.db is being written by another program; try again" in sentence
    assert sentence.count("\n") == 1


def test_plain_leaves_what_json_knows():
    """Numbers, texts, truth values and None pass through."""
    assert plain([1, "a", True, None, 1.5]) == [1, "a", True, None, 1.5]


TODAY = [("today" if word == "tomorrow" else word) for word in ADD]


def test_where_you_are_and_how_it_ended():
    """Each stage and the end are in the history; a job that is done is off the list."""
    run(*TODAY)
    assert run("job", "at", "J1", "base") == "J1, Mill-Lane: base.\n"
    assert run("job", "done", "J1") == "Done J1: Mill-Lane, Mon 2027-05-03, 09:00-10:30.\n"
    shown = run("job", "show", "J1")
    assert "at, base, command line" in shown
    assert "done, command line" in shown
    assert run("job", "list") == "No jobs.\n"


def test_spoiled_says_why():
    """The reason is asked for, and kept."""
    run(*TODAY)
    assert refused("job", "spoiled", "J1")[0] == 2
    assert run("job", "spoiled", "J1", "--why", "a shower").startswith("Spoiled J1")
    assert "spoiled, a shower" in run("job", "show", "J1")


def test_a_stage_that_is_none_is_one_sentence():
    """It names the one that was probably meant."""
    run(*TODAY)
    assert refused("job", "at", "J1", "cleer") == (
        1,
        "stage 'cleer' is not known; did you mean 'clear'?\n",
    )

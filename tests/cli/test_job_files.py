"""``sprayadvisor job import``, ``export`` and ``columns``, as typed."""

import json
import stat

import pytest
from typer.testing import CliRunner

from sprayadvisor.cli import _app as app
from sprayadvisor.services.row_form import COLUMNS

HEADER = "ref;process;day;arrive;site;latitude;longitude;zone;panels;customer\r\n"
A1 = 'A1;door-scuff;2027-05-04;9-10;Mühle;48,1;11,5;Europe/Berlin;left_door:red;"=Müller; A"\r\n'
A2 = "A2;door-scuff;2027-05-05;9-10;Mühle;;;;roof:black;\r\n"
BAD = "A3;door-scuff;5/5/2027;9-10;Mühle;;;;roof:black;\r\n"


@pytest.fixture(autouse=True)
def quiet_place(tmp_path, monkeypatch):
    """Use a database of this test's own on 3 May 2027, and none of the user's settings."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("SPRAYADVISOR_CONFIG", raising=False)
    monkeypatch.setenv("SPRAYADVISOR_DATABASE_URL", f"sqlite:///{tmp_path}/jobs.db")
    monkeypatch.setenv("SPRAYADVISOR_NOW", "2027-05-03T10:00:00+02:00")
    monkeypatch.setenv("COLUMNS", "100")


@pytest.fixture
def put(tmp_path):
    """Return what writes jobs.csv in Windows-1252."""
    return lambda *rows: (tmp_path / "jobs.csv").write_bytes(
        "".join([HEADER, *rows]).encode("cp1252")
    )


def run(*words, code=0):
    """Return what a command printed and said."""
    done = CliRunner().invoke(app, ["job", *words])
    assert done.exit_code == code, done.output
    return done.stdout, done.stderr


def test_import_takes_a_file_once(put):
    """What was read and how, what was added; the second time everything is there already."""
    put(A1, A2)
    assert run("import", "jobs.csv") == (
        "Read jobs.csv as Windows-1252, semicolons.\nAdded 2 jobs: A1, A2.\n",
        "",
    )
    assert run("import", "jobs.csv") == (
        "Read jobs.csv as Windows-1252, semicolons.\nAdded 0 jobs; 2 jobs there already.\n",
        "",
    )
    assert len(json.loads(run("list", "--json")[0])) == 2


def test_import_takes_nothing_where_a_row_is_bad(put):
    """Exit code 1, the fault on stderr, and how to take the others."""
    put(A1, BAD)
    said, faults = run("import", "jobs.csv", code=1)
    assert said == "Read jobs.csv as Windows-1252, semicolons.\nAdded nothing.\n"
    assert faults.splitlines() == [
        (
            "jobs.csv, line 3: day is '5/5/2027'; write year-month-day such as 2027-05-04, the "
            "only form a file may have."
        ),
        (
            "1 row was refused; mend it and import the file again, or take the others with "
            "--keep-good."
        ),
    ]
    assert run("list") == ("No jobs.\n", "")


def test_import_keeps_the_good(put):
    """With --keep-good the others are taken; the exit code still says that something was wrong."""
    put(A1, BAD, BAD)
    said, faults = run("import", "jobs.csv", "--keep-good", code=1)
    assert said.endswith("Added 1 job: A1.\n")
    assert faults.endswith("2 rows were refused; mend them and import the file again.\n")
    assert [job["ref"] for job in json.loads(run("list", "--json")[0])] == ["A1"]


def test_import_names_ten_at_most(put):
    """A long list is cut."""
    put(A1, *(A2.replace("A2", f"B{n}") for n in range(11)))
    assert run("import", "jobs.csv")[0].endswith("B7, B8, ….\n")


def test_import_as_json(put):
    """A machine gets the same, with each fault in its parts."""
    put(A1, BAD)
    told = json.loads(run("import", "jobs.csv", "--keep-good", "--json", code=1)[0])
    (fault,) = told.pop("faults")
    assert told == {"read_as": "Windows-1252, semicolons", "added": ["A1"], "there": []}
    assert (fault["line"], fault["field"], fault["where"]) == (3, "day", "jobs.csv")
    assert fault["problem"] == "day is '5/5/2027'"


def test_unusable_file_is_a_sentence():
    """Nothing on stdout, exit code 1."""
    assert run("import", "none.csv", code=1) == (
        "",
        "none.csv: it cannot be read (no such file or directory); correct the path.\n",
    )


def test_export_and_back(put, tmp_path, monkeypatch):
    """A file out of one database makes equal jobs in another; formulas are harmless on the way."""
    put(A1, A2)
    run("import", "jobs.csv")
    before = run("list", "--json")[0]
    assert run("export", "--out", "out.csv") == ("Wrote 2 jobs to out.csv.\n", "")
    content = (tmp_path / "out.csv").read_bytes()
    assert content.startswith(b"\xef\xbb\xbfref,process,")
    assert "'=Müller; A" in content.decode()
    assert stat.S_IMODE((tmp_path / "out.csv").stat().st_mode) == 0o600
    assert run("export", "--out", "out.csv", code=1) == (
        "",
        "out.csv is there already; add --force to replace it.\n",
    )
    run("export", "--out", "out.csv", "--force", "--separator", "tab")
    monkeypatch.setenv("SPRAYADVISOR_DATABASE_URL", f"sqlite:///{tmp_path}/other.db")
    assert "UTF-8 with a byte order mark, tabs" in run("import", "out.csv")[0]
    assert run("list", "--json")[0] == before


def test_export_chooses_like_the_list(put):
    """Days and states are chosen as in the list; printed there is no mark."""
    put(A1, A2)
    run("import", "jobs.csv")
    run("cancel", "A1")
    assert [line[:2] for line in run("export")[0].splitlines()[1:]] == ["A2"]
    assert [line[:2] for line in run("export", "--all")[0].splitlines()[1:]] == ["A1", "A2"]
    assert run("export", "--from", "2027-05-06")[0].splitlines() == [",".join(COLUMNS)]


def test_columns_are_explained():
    """Every column once, with its meaning, its unit, whether it is needed, and an example."""
    text = run("columns")[0]
    told = json.loads(run("columns", "--json")[0])
    assert [entry["column"] for entry in told] == list(COLUMNS)
    for entry in told:
        assert entry["column"] in text
        assert entry["meaning"]
        assert entry["example"]
    assert {"column": "latitude", "needed": "for a new site", "unit": "°",
            "meaning": "Degrees north.", "example": "53.27"} in told  # fmt: skip
    assert "Several: put | between." in next(e for e in told if e["column"] == "panels")["meaning"]
    assert "An empty cell says nothing." in text

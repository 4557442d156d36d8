"""``sprayadvisor sheet`` and ``sprayadvisor process``: lists, shows, checks and schemas."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from sprayadvisor.cli import _app as app
from sprayadvisor.shipped import shipped

CLEAR = shipped("config/sheets") / "clear-2k-quick.toml"
BUMPER = shipped("config/processes") / "bumper-corner.toml"


@pytest.fixture(autouse=True)
def quiet_place(tmp_path, monkeypatch):
    """Use no settings but those of a test, in a terminal of 80 columns."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.delenv("SPRAYADVISOR_CONFIG", raising=False)
    monkeypatch.setenv("COLUMNS", "80")


def run(*words: str) -> str:
    """Return what a command printed, after making sure that it did what it was told."""
    done = CliRunner().invoke(app, list(words))
    assert (done.exit_code, done.stderr) == (0, "")
    wide = [line for line in done.stdout.splitlines() if len(line.rstrip()) > 80]
    assert "--json" in words or wide == []
    return done.stdout


def refused(*words: str) -> list[str]:
    """Return what a command that could not do it said, line by line."""
    done = CliRunner().invoke(app, list(words))
    assert (done.exit_code, done.stdout) == (1, "")
    return done.stderr.splitlines()


def words_of(text: str) -> str:
    """Return text with every gap a single blank."""
    return " ".join(text.split())


def own_sheets(*texts: str) -> Path:
    """Configure a folder with these sheets and return it."""
    folder = Path("own").absolute()
    folder.mkdir()
    for number, text in enumerate(texts):
        (folder / f"{number}.toml").write_text(text, encoding="utf-8")
    Path("sprayadvisor.toml").write_text(
        f'sheets_folders = ["{folder}"]\n[units]\ntemperature = "f"\nwind = "mph"\n',
        encoding="utf-8",
    )
    return folder


@pytest.mark.parametrize(
    ("group", "ids"),
    [
        (
            "sheet",
            [
                *("adhesion-promoter", "base-solvent", "base-water", "blending-solvent"),
                *("clear-2k-quick", "clear-2k-standard", "filler-finishing", "primer-2k-fast"),
            ],
        ),
        (
            "process",
            [
                *("bonnet-front-edge", "bumper-corner", "door-scuff", "fill-and-prime"),
                *("lower-quarter-dent", "mirror-shell", "nib-polish", "paint-primed"),
                "wheel-arch-edge",
            ],
        ),
    ],
)
def test_lists_name_what_is_usable(group, ids):
    """As a table, and as JSON with everything."""
    first = [line.split(" ")[0] for line in run(group, "list").splitlines()[1:]]
    assert [name for name in first if name] == ids
    assert [item["id"] for item in json.loads(run(group, "list", "--json"))] == ids
    assert "Usage" in run(group, "--help")


def test_a_sheet_is_shown_with_the_page_of_every_number():
    """Limits with both bounds, then all other tables; what is invented says so."""
    own_revision = CLEAR.read_text(encoding="utf-8").replace(
        "inside_max = 85\nstop_max = 90\npage = 1", 'inside_max = 85\npage = 4\nrevision = "b"'
    )
    own_sheets(own_revision.replace('id = "clear-2k-quick"', 'id = "own"'))
    Path("sprayadvisor.toml").write_text(
        Path("sprayadvisor.toml").read_text(encoding="utf-8").split("[units]")[0], encoding="utf-8"
    )
    shown = run("sheet", "show", "own")
    lines = [words_of(line) for line in shown.splitlines()]
    assert lines[0] == "own: Quick 2K clear (invented values, for trials only)"
    assert lines[1] == "clear, solvent-borne, two-pack (isocyanates); revision demo-1"
    for line in (
        "panel temperature 10 °C to 25 °C below 5 °C, above 30 °C p. 1, rev. demo-1",
        "humidity at most 85 % never p. 4, rev. b",
        "dew margin at least 3 °C below 3 °C p. 1, rev. demo-1",
        "gusts at the gun at most 6 m/s never p. 1, rev. demo-1",
        "Coats allowed 2 p. 2, rev. demo-1",
        "Flash-off between coats 4 min p. 2, rev. demo-1",
        "covered or lamped within 12 min p. 2, rev. demo-1",
        "however warm, at least 100 % of it p. 2, rev. demo-1",
        "rain-safe 90 min p. 2, rev. demo-1",
        "stands still below 5 °C p. 2, rev. demo-1",
        "bake on metal 9 min at 60 °C p. 3, rev. demo-1",
        "bake on plastic 14 min at 55 °C p. 3, rev. demo-1",
        "Pot life at 20 °C 25 min p. 2, rev. demo-1",
        "Hardener cool-weather any p. 2, rev. demo-1",
    ):
        assert line in lines
    numbered = [line for line in lines[2:-1] if any(c.isdigit() for c in line)]
    assert all(", rev. " in line and "p. " in line for line in numbered)
    assert lines[-1] == "For areas up to 0.5 m². Above 28 °C it pops and the edge dries."


def test_a_sheet_is_shown_in_the_users_units_and_without_what_it_lacks():
    """°F and mph; no lamp, cure, pot life, remarks, latest flash or stop where none is printed."""
    text = (shipped("config/sheets") / "base-solvent.toml").read_text(encoding="utf-8")
    lines = (line for line in text.splitlines() if not line.startswith(("remarks", "latest_min")))
    own_sheets("\n".join(lines).replace("invented = true\n", ""))
    shown = words_of(run("sheet", "show", "base-solvent"))
    assert "panel temperature 53.6 °F to 89.6 °F below 42.8 °F, above" in shown
    assert "wind at the gun at most 6.7 mph above 10.1 mph" in shown
    assert "dew margin at least 5.4 °F below 3.6 °F" in shown
    assert "Thinner fast below 59 °F" in shown
    assert "medium from 59 °F, below 77 °F" in shown
    assert "no isocyanates" in shown
    for word in ("invented", "Lamp", "Air-dry", "Pot life", "lamped", "Rain on"):
        assert word not in shown


def test_a_bake_for_metal_alone_is_shown_alone():
    """Where nothing is printed for plastic."""
    lines = CLEAR.read_text(encoding="utf-8").splitlines()
    own_sheets("\n".join(line for line in lines if not line.startswith("plastic")))
    shown = run("sheet", "show", "clear-2k-quick")
    assert "bake on metal" in shown
    assert "bake on plastic" not in shown


@pytest.mark.parametrize(
    ("group", "name"), [("sheet", "clear-2k-quick"), ("process", "bumper-corner")]
)
def test_json_is_what_the_file_says(group, name):
    """In the units of the file, whatever the user's are."""
    own_sheets()
    shown = json.loads(run(group, "show", name, "--json"))
    assert shown["id"] == name
    if group == "sheet":
        assert shown["limits"]["panel_temp_c"]["stop_max"] == 30
    else:
        assert [s["id"] for s in shown["stages"]][:2] == ["look", "wash"]


def test_a_process_is_shown_stage_by_stage():
    """Minutes, when it begins, rules, the point of no return, and the time in a row."""
    shown = words_of(run("process", "show", "bumper-corner"))
    for words in (
        "primer: primer-2k-fast, Fast 2K primer, direct to metal, revision demo-1",
        "Invented timings, for trials only.",
        "wash wash, degrease, blow the 10 0:05 needs no rain; air from 2 gaps, dry °C; safe stop",
        "may wait 60 min",
        "base base 8 2:10 2 coats; needs paint light; within 10 min; NO WAY BACK from here",
        "blend blend coat 2 2:22 1 coat; needs paint light",
        "mix-clear mix the clear 4 2:24 alongside blend-flash",
        "clear-lamp lamp on the clear 9 2:55 within 15 min",
        "film down; safe stop after it",
        "primer-warm lamp on the plastic again 8 1:11 warms to 28 °C; where colder than 15 °C; 8",
        "polish-cool cool below 30 °C 1 3:17 to 30 °C",
        "panel from 3 °C to 30 °C; may wait 60 min; wants hard paint",
        "In a row at the printed minutes: 3 h 39 min.",
    ):
        assert words in shown


def test_a_process_is_shown_as_it_goes_without_a_lamp_and_on_plastic():
    """What is left out says so, and a note says what is another day's work."""
    bare = words_of(run("process", "show", "bumper-corner", "--no-lamp"))
    assert "clear-lamp lamp on the clear 90 " in bare
    assert "polish wet-flat the nibs, polish left out here" in bare
    assert "base-warm lamp on the cold primer left out here" in bare
    assert "Note: no lamp runs here to warm cold metal before a coat" in bare
    assert "Note: wet-flat the nibs, polish: another day, the paint only air-dries here." in bare
    plastic = words_of(run("process", "show", "bumper-corner", "--plastic"))
    assert "clear-lamp lamp on the clear 14 2:55" in plastic
    assert "In a row at the printed minutes: 3 h 44 min." in plastic


def test_a_process_without_extras_is_shown_without():
    """No summary, no paint, a panel range with one bound."""
    folder = Path("mine")
    folder.mkdir()
    (folder / "rub.toml").write_text(
        'id = "rub"\nname = "Rub"\nsheets = {}\n[[stages]]\nid = "rub"\nname = "rub it"\n'
        'kind = "hand"\nminutes = 61\npanel_c = { least = 3 }\nfilm_up = true\n',
        encoding="utf-8",
    )
    Path("sprayadvisor.toml").write_text('processes_folders = ["mine"]\n', encoding="utf-8")
    shown = words_of(run("process", "show", "rub"))
    assert shown == (
        "rub: Rub Stage What Min From Rules rub rub it 61 0:00 panel from 3 °C; film up "
        "In a row at the printed minutes: 1 h 01 min."
    )


@pytest.mark.parametrize(
    ("group", "name", "told"),
    [
        ("sheet", "clear", "There is no usable sheet “clear”; “sprayadvisor sheet list” names"),
        ("sheet", "clear-2k-quik", "no usable sheet “clear-2k-quik”; perhaps “clear-2k-quick” is"),
        ("process", "door-scruff", "no usable process “door-scruff”; perhaps “door-scuff” is me"),
    ],
)
def test_a_name_that_is_not_known_is_answered_with_the_nearest(group, name, told):
    """Or with the way to all of them."""
    (line,) = refused(group, "show", name)
    assert told in line
    assert f"“sprayadvisor {group} check” tells what is wrong with the others." in line


@pytest.mark.parametrize("group", ["sheet", "process"])
def test_check_says_that_all_is_fine(group):
    """Of everything configured, or of the files named."""
    assert run(group, "check") == "All is fine: 8 sheets, 9 processes.\n"
    path = {"sheet": CLEAR, "process": BUMPER}[group]
    done = CliRunner().invoke(app, [group, "check", str(path)])
    assert (done.exit_code, done.stdout) == (0, f"{path} is fine.\n")


def test_check_tells_each_fault_on_its_own_line():
    """Of all folders; of several files, all that is wrong with any."""
    text = CLEAR.read_text(encoding="utf-8")
    folder = own_sheets(text.replace("stop_max = 30", "stop_max = nan"), "x = ")
    for group in ("sheet", "process"):
        told = refused(group, "check")
        assert [line.split(":")[0] for line in told[:2]] == [f"{folder}/{n}.toml" for n in (0, 1)]
        assert len(told) == 6  # and four processes that want the sheet
    told = refused("sheet", "check", "own/0.toml", "own/1.toml", str(CLEAR))
    number = "is not a finite number; give a plain one, such as 12 or 4.5."
    assert told == [
        f"own/0.toml:16: limits.panel_temp_c.stop_max: {number}",
        "own/1.toml:1: is not TOML (invalid value); correct the line; text needs quotation marks.",
    ]


@pytest.mark.parametrize("group", ["sheet", "process"])
def test_schemas_are_printed_or_written(group):
    """Both are what is committed; where it cannot be written that is said."""
    committed = (shipped("config/schemas") / f"{group}.schema.json").read_text(encoding="utf-8")
    done = CliRunner().invoke(app, [group, "schema"])
    assert (done.exit_code, done.stdout) == (0, committed)
    assert run(group, "schema", "--write", "new") == f"Wrote new/{group}.schema.json.\n"
    assert Path(f"new/{group}.schema.json").read_text(encoding="utf-8") == committed
    Path("file").touch()
    (line,) = refused(group, "schema", "--write", "file/below")
    assert "file/below cannot be written to" in line


@pytest.mark.parametrize("words", [["sheet", "list"], ["process", "list"], ["sheet", "check"]])
def test_nothing_heavy_is_loaded_for_files(words):
    """No pandas, pvlib, matplotlib, SQLAlchemy or Alembic."""
    heavy = ("pandas", "pvlib", "matplotlib", "sqlalchemy", "alembic")
    program = (
        "import sys\n"
        f"sys.argv = ['sprayadvisor', *{words!r}]\n"
        "from sprayadvisor.cli import main\n"
        "try:\n    main()\n"
        f"finally:\n    print('loaded:', [n for n in {heavy!r} if n in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert "loaded: []" in done.stdout

"""Sheets and processes from files: every fault with its line, nothing half loaded."""

import json
import math
import re
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sprayadvisor.adapters.sheet_files import (
    DataFiles,
    load_catalogue,
    load_process,
    load_sheet,
    schema_text,
)
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.advice.sheet_rules import LIMIT_RANGES
from sprayadvisor.errors import DataFileError
from sprayadvisor.shipped import shipped

SHEETS, PROCESSES = shipped("config/sheets"), shipped("config/processes")
CLEAR = (SHEETS / "clear-2k-quick.toml").read_text(encoding="utf-8")
BUMPER = (PROCESSES / "bumper-corner.toml").read_text(encoding="utf-8")
SHIPPED = load_catalogue([SHEETS], [PROCESSES])


def line_with(text: str, words: str, count: int = 1) -> int:
    """Return the line on which words stand for the nth time."""
    lines = [n for n, line in enumerate(text.splitlines(), 1) if words in line]
    return lines[count - 1]


def faults(folder: Path, text: str, kind: type = Sheet) -> list[str]:
    """Return what is wrong with a file, as sentences that begin behind its folder."""
    path = folder / "x.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DataFileError) as error:
        load_sheet(path) if kind is Sheet else load_process(path, SHIPPED.sheets)
    return [str(fault).removeprefix(f"{folder}/") for fault in error.value.faults]


def test_what_comes_along_is_loaded_whole():
    """Without a fault; every sheet's roles are there."""
    assert SHIPPED.faults == ()
    assert len(SHIPPED.sheets) == 8
    for process in SHIPPED.processes.values():
        assert set(SHIPPED.sheets_of(process)) == set(process.sheets)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("two_pack = true", "two_pack = 1", "two_pack: is neither true nor false; write true or"),
        ('name = "Quick 2K clear"', "name = 2", "name: is not text; put it in quotation marks."),
        ('name = "Quick 2K clear"', 'name = ""', "name: is empty; say something."),
        ('name = "Quick 2K clear"', 'name = "a\\nb"', "name: is 'a\\nb'; put it in one line."),
        (
            'id = "clear-2k-quick"',
            'id = "My Clear"',
            "id: is 'My Clear'; use small letters, digits",
        ),
        ('kind = "clear"', 'kind = "polish"', "kind: is 'polish'; write 'filler', 'primer', "),
        ('revision = "demo-1"', "revision = 2026-03-01", "revision: is not text; put it in quot"),
        ("stop_max = 30", "stop_max = nan", "limits.panel_temp_c.stop_max: is not a finite num"),
        ("stop_max = 30", "stop_max = inf", "limits.panel_temp_c.stop_max: is not a finite num"),
        ("stop_max = 30", 'stop_max = "30"', "limits.panel_temp_c.stop_max: is not a number; giv"),
        ("stop_max = 30", "stop_max = true", "limits.panel_temp_c.stop_max: is not a number; giv"),
        ("stop_max = 30", "stop_max = 300", "limits.panel_temp_c.stop_max: is 300; it must lie"),
        ("stop_max = 30", "stop_mx = 30", "limits.panel_temp_c.stop_mx: is not known; perhaps “"),
        ("least = 2", "least = 2.0", "coats.least: is not a whole number; give one, such as 12."),
        ("least = 2", "least = 0", "coats.least: is 0; it must be at least 1."),
        ("bake_min = 9", "bake_min = 0", "lamp.bake_min: is 0; it must be more than 0."),
        ("most = 2", f"most = 0x{'f' * 9999}", "coats.most: is a huge number; it must be at most"),
        ("most_temp_c = 70", "most_temp_c = 700", "lamp.most_temp_c: is 700; it must be at most"),
        ("[coats]", "[coats]\ncolour = 1", "coats.colour: is not known; remove it."),
        ("[coats]", "[coatz]", "coatz: is not known; perhaps “coats” is meant."),
        ("[[choices]]", "[choices]", "choices: is not a list; put it in square brackets."),
        (
            "[limits.rh_pct]",
            "[limits.rh_pc]",
            "limits.rh_pc: is not known; perhaps “rh_pct” is meant.",
        ),
        ('name = "cool-weather"', f"name = {[1] * 99}", "choices.1.name: is not text; put it in"),
    ],
)
def test_one_bad_value_is_told_with_its_line(tmp_path, old, new, told):
    """File, line, field, what is wrong, and the mend."""
    text = CLEAR.replace(old, new, 1)
    assert text != CLEAR
    line = line_with(text, new.splitlines()[-1])
    assert any(fault.startswith(f"x.toml:{line}: {told}") for fault in faults(tmp_path, text))


@pytest.mark.parametrize(
    ("old", "new", "place", "told"),
    [
        ("dust_free_min = 10\n", "", "[cure]", "cure.dust_free_min: is missing; add it."),
        (
            "inside_min = 10",
            "inside_min = 1",
            "[limits.panel",
            "limits.panel_temp_c: stop_min lies",
        ),
        ("[coats]", "[limits.x]", "least = 2", "limits.x.least: is not known; "),
        ("dust_free_min = 10", "dust_free_min = 91", "[cure]", "cure: times run backwards; dust_f"),
        ("flash_first_min = 6", "flash_first_min = 12", "flash_first_min", "lamp.flash_first_min:"),
    ],
)
def test_what_concerns_a_table_is_told_where_it_begins(tmp_path, old, new, place, told):
    """What is missing has no line of its own."""
    text = CLEAR.replace(old, new, 1)
    line = line_with(text, place)
    assert any(fault.startswith(f"x.toml:{line}: {told}") for fault in faults(tmp_path, text))


def test_a_table_that_is_a_number_and_a_number_that_is_a_table(tmp_path):
    """Both are told as what they are not."""
    (told,) = faults(tmp_path, CLEAR.replace("[pot_life]", "[[pot_life]]"))
    assert told.startswith(f"x.toml:{line_with(CLEAR, '[pot_life]')}: pot_life: is not a table; ")
    flat = CLEAR[: CLEAR.index("[limits.panel")] + "limits = 3\ncoats = 1\nflash = 1\n"
    assert "x.toml:12: limits: is not a table; write it as a table with keys" in " ".join(
        faults(tmp_path, flat)
    )


@pytest.mark.parametrize(
    ("old", "new", "count", "told"),
    [
        (
            "minutes = 10",
            "minutes = 481",
            2,
            "stages.sand.minutes: is 481; it must be at most 480.",
        ),
        ('sheet = "base"', "shet = 1", 4, "stages.blend-flash.shet: is not known; perhaps “sheet"),
        ('needs = ["dry"]', 'needs = ["sun"]', 2, "stages.mask-primer.needs.1: is 'sun'; write"),
        ("least = 3, most", 'least = "x", most', 1, "stages.polish.panel_c.least: is not a number"),
        ("least = 3, most", "least = 30, most", 1, "stages.polish.panel_c: least is not below mo"),
        ('id = "sand"', 'id = ""', 1, "stages.15.id: is ''; use small letters, digits and hyphens"),
        ('clear = "clear-2k-quick"', 'clear = "clear-2k-quik"', 1, "sheets.clear: there is no usa"),
    ],
)
def test_lines_are_right_in_lists_of_tables(tmp_path, old, new, count, told):
    """The nth stage is found, and spoken of by its id, where it has one."""
    pieces = BUMPER.split(old)
    text = old.join(pieces[:count]) + new + old.join(pieces[count:])
    line = line_with(text, new)
    (first, *_) = faults(tmp_path, text, Process)
    assert first.startswith(f"x.toml:{line}: {told}")


@pytest.mark.parametrize(
    ("old", "new", "place", "told"),
    [
        (
            'id = "blend"',
            'id = "base-2"',
            'id = "base-2"',
            "stages.base-2: stage “base-2” is called",
        ),
        (
            'id = "wash"',
            'id = "look"',
            'id = "look"',
            "stages.look: stage “look” stands twice; giv",
        ),
        (
            "coats = 2\nminutes_each = 3",
            "coats = 3\nminutes_each = 3",
            "clear =",
            "sheets.clear: 3",
        ),
        ("film_up = true\n", "", 'id = "unmask"', "stages.unmask: stage “unmask” takes masking"),
        (
            "minutes_each = 3",
            "may_wait_min = 7",
            'id = "clear"',
            "stages.clear: a coat stage needs",
        ),
    ],
)
def test_what_is_wrong_between_stages_is_told_at_the_stage(tmp_path, old, new, place, told):
    """On the line that opens it, or at the role of a sheet."""
    text = BUMPER.replace(old, new, 1)
    found = faults(tmp_path, text, Process)
    last = max(n for n, line in enumerate(text.splitlines(), 1) if place in line)
    line = last - (0 if "=" in place and "id" not in place else 1)
    assert any(fault.startswith(f"x.toml:{line}: {told}") for fault in found), found


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"a = [\n1", "x.toml:2: is not TOML (unclosed array); correct the line; text needs quot"),
        (b'a = "x\nb = 1', "x.toml:1: is not TOML (illegal character '\\n'); correct the line"),
        (
            b"id = x",
            "x.toml:1: is not TOML (invalid value); correct the line; text needs quotation",
        ),
        (b"\xff\xfe", "x.toml: is not UTF-8 text; save it as UTF-8."),
        (b"", "x.toml: id: is missing; add it."),
        (b"\xef\xbb\xbfid = 1", "x.toml:1: id: is not text; put it in quotation marks."),
    ],
)
def test_what_is_no_toml_is_told_with_its_line(tmp_path, content, told):
    """A broken file is told once; a byte order mark is no fault."""
    path = tmp_path / "x.toml"
    path.write_bytes(content)
    with pytest.raises(DataFileError) as error:
        load_sheet(path)
    assert str(error.value.faults[0]).removeprefix(f"{tmp_path}/").startswith(told)


def test_a_file_that_is_not_there_or_is_a_folder(tmp_path):
    """Each is told with what the system says."""
    for path, why in ((tmp_path / "gone.toml", "No such file"), (tmp_path, "Is a directory")):
        with pytest.raises(DataFileError, match=rf"cannot be read \({why}.*\); correct the path"):
            load_sheet(path)


def own_folder(tmp_path: Path, **files: str) -> Path:
    """Return a folder with these files."""
    folder = tmp_path / "own"
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def test_a_later_folder_overrides_by_id(tmp_path):
    """The user's own sheet of the same id is the one that counts."""
    folder = own_folder(tmp_path, mine=CLEAR.replace("inside_max = 85", "inside_max = 75"))
    found = load_catalogue([SHEETS, folder], [PROCESSES])
    assert found.faults == ()
    assert found.sheets["clear-2k-quick"].limits["rh_pct"].inside_max == 75
    assert len(found.sheets) == 8


def text_of(process: str) -> str:
    """Return the file of a shipped process."""
    return (PROCESSES / f"{process}.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "text",
    [CLEAR.replace("stop_max = 30", "stop_max = nan"), CLEAR + "\n[[[", CLEAR + "\n\udcff"],
    ids=["value", "toml", "bytes"],
)
def test_a_broken_override_leaves_no_other_values_in_its_place(tmp_path, text):
    """The demo sheet of that id is not used instead, and what names it says so."""
    folder = own_folder(tmp_path)
    (folder / "mine.toml").write_bytes(text.encode("utf-8", "surrogateescape"))
    found = load_catalogue([SHEETS, folder], [PROCESSES])
    assert sorted(found.sheets) == sorted(set(SHIPPED.sheets) - {"clear-2k-quick"})
    gone = sorted(set(SHIPPED.processes) - set(found.processes))
    assert gone == ["bumper-corner", "door-scuff", "mirror-shell", "wheel-arch-edge"]
    first, *others = map(str, found.faults)
    assert first.startswith(f"{folder}/mine.toml")
    assert [re.sub("^.*/", "", other) for other in others] == [
        f"{name}.toml:{line_with(text_of(name), 'clear =')}: sheets.clear: there is no usable "
        "sheet “clear-2k-quick”; add the sheet or correct the name."
        for name in gone
    ]


def test_a_broken_file_spoils_only_itself(tmp_path):
    """What has no id of its own goes by its name; all else is loaded."""
    folder = own_folder(
        tmp_path, base="[", half='id = "half"\n', good=CLEAR.replace("-quick", "-x")
    )
    (folder / "gone.toml").symlink_to(tmp_path / "nowhere")
    (folder / ".hidden.toml").write_text("[")
    (folder / "notes.txt").write_text("[")
    found = load_catalogue([SHEETS, folder], [PROCESSES])
    assert sorted(found.sheets) == [*sorted([*SHIPPED.sheets, "clear-2k-x"])]
    assert found.processes == SHIPPED.processes
    assert {Path(fault.where).name for fault in found.faults} == {
        *("base.toml", "half.toml", "gone.toml")
    }


def test_two_files_of_one_id_in_one_folder_are_not_guessed_between(tmp_path):
    """A copy that kept its id spoils both, and says so."""
    folder = own_folder(tmp_path, a=CLEAR, b=CLEAR)
    found = load_catalogue([SHEETS, folder], [])
    assert "clear-2k-quick" not in found.sheets
    (fault,) = found.faults
    assert str(fault) == (
        f"{folder}/b.toml: id: “clear-2k-quick” is the id in a.toml too, so neither is used; "
        "give each file an id of its own."
    )


def test_a_missing_folder_is_told(tmp_path):
    """And everything else is loaded."""
    found = load_catalogue([SHEETS, tmp_path / "gone"], [PROCESSES])
    assert len(found.sheets) == 8
    (fault,) = found.faults
    assert str(fault) == (
        f"{tmp_path}/gone: the folder cannot be read (No such file or directory); "
        "create it or correct the settings."
    )


def test_single_files_are_held_against_the_folders(tmp_path):
    """A process alone in a file goes with the sheets that are configured."""
    files = DataFiles([SHEETS], [PROCESSES])
    folder = own_folder(tmp_path, p=BUMPER, s=CLEAR)
    assert files.process(folder / "p.toml") == SHIPPED.processes["bumper-corner"]
    assert files.sheet(folder / "s.toml") == SHIPPED.sheets["clear-2k-quick"]
    with pytest.raises(DataFileError, match="there is no usable sheet “primer-2k-fast”"):
        DataFiles([], []).process(folder / "p.toml")


@pytest.mark.parametrize("kind", ["sheet", "process"])
def test_the_schemas_for_editors_are_those_of_the_models(kind, tmp_path):
    """Committed is what is generated, with dialect, name and title; the files point there."""
    committed = shipped("config/schemas") / f"{kind}.schema.json"
    files = DataFiles([], [])
    assert committed.read_text(encoding="utf-8") == files.schema(kind)
    written = files.write_schema(kind, tmp_path)
    assert written.read_bytes() == committed.read_bytes()
    schema = json.loads(files.schema(kind))
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"].endswith(kind)
    assert schema["title"] == f"Sprayadvisor {kind}"
    model = {"sheet": Sheet, "process": Process}[kind]
    assert schema_text(model) == files.schema(kind)
    assert set(schema["properties"]) == set(model.model_fields)
    for path in {"sheet": SHEETS, "process": PROCESSES}[kind].glob("*.toml"):
        pointer = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("#:schema ")
        assert (path.parent / pointer).resolve() == committed.resolve()


def fields() -> set[str]:
    """Return every field of every table of the two formats."""
    schemas = [model.model_json_schema() for model in (Sheet, Process)]
    tables = [table for schema in schemas for table in (schema, *schema["$defs"].values())]
    assert len(tables) == 14
    return {name for table in tables for name in table["properties"]}


def test_the_readme_names_every_field():
    """No field of the two formats goes without its unit and meaning, and none is made up."""
    text = shipped("config/README.md").read_text(encoding="utf-8")
    text, _, _of_bookings = text.partition("## A file of bookings")
    rows = re.findall(r"^\| (.*?) \| (.*?) \| (.*?) \|$", text, re.MULTILINE)
    named = {name for cells in rows for name in _code(cells[0])}
    assert named == fields() | set(LIMIT_RANGES) | {"limits.<quantity>"}
    assert all(meaning.strip() for _, _, meaning in rows)
    for field in ("kind", "needs", "until"):
        choices = re.findall(r"'(\w+)'", str(Stage.model_fields[field].annotation))
        assert set(choices) <= set(_code(text)), field


def _code(text: str) -> list[str]:
    return re.findall(r"`([^`\n]+)`", text)


def numbers(value: object) -> list[float]:
    """Return every number in a value of a model."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        return [number for entry in value for number in numbers(entry)]
    return [value] if isinstance(value, int | float) else []


GARBAGE = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        [
            *(
                "nan",
                "inf",
                "-inf",
                "1e999",
                "true",
                '"x"',
                "[]",
                "{}",
                "[[x]]",
                "\n",
                "0x" + "f" * 99,
            ),
            *(
                "'''",
                '"""',
                "\x00",
                "9" * 5000,
                "[" * 300,
                "2026-03-29",
                "07:30:00",
                "# ",
                "=",
                ".",
            ),
        ]
    ),
)


@given(
    text=st.sampled_from([CLEAR, BUMPER]),
    edits=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 40), GARBAGE), min_size=1, max_size=3),
)
@example(text=CLEAR, edits=[(0.0, 0, "[" * 99999)])
def test_garbage_in_a_file_is_refused_or_harmless(tmp_path_factory, text, edits):
    """Whatever is typed over a file, it is refused in sentences or loads finite numbers."""
    for where, length, garbage in edits:
        at = int(where * len(text))
        text = text[:at] + garbage + text[at + length :]
    path = tmp_path_factory.getbasetemp() / "garbage.toml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    for load in (load_sheet, lambda p: load_process(p, SHIPPED.sheets)):
        found, told = loaded_or_told(load, path)
        assert all(math.isfinite(number) for number in found)
        assert all(str(fault).startswith(str(path)) for fault in told)
        assert all(fault.problem and fault.remedy for fault in told)
        assert bool(found) is not bool(told)


def loaded_or_told(load, path: Path) -> tuple[list[float], tuple]:
    """Return the numbers of what is loaded, or what is told of it."""
    try:
        return numbers(load(path).model_dump()), ()
    except DataFileError as error:
        return [], error.faults


@pytest.mark.parametrize("name", sorted(SHIPPED.sheets))
def test_shipped_values_lie_where_such_products_do(name):
    """Common practice, no source: the ranges such paints are printed in.

    Filler and what only blends an edge are bound less, and flash sooner.
    """
    sheet = SHIPPED.sheets[name]
    assert sheet.invented
    panel, rh, dew = (sheet.limits[q] for q in ("panel_temp_c", "rh_pct", "dew_margin_k"))
    assert 5 <= panel.stop_min < panel.inside_min <= 15
    assert 25 <= panel.inside_max < panel.stop_max <= 40
    assert 75 <= rh.inside_max < rh.stop_max <= (95 if sheet.kind == "filler" else 90)
    if sheet.kind == "filler":
        assert (dew.inside_min, dew.stop_min, set(sheet.limits) & {"wind_ms"}) == (2, 1, set())
        return
    assert 2 <= dew.stop_min <= dew.inside_min == 3
    assert 2 <= sheet.limits["wind_ms"].inside_max < sheet.limits["wind_ms"].stop_max <= 6
    assert 5 <= sheet.limits["gust_ms"].inside_max <= 8
    least = 1 if sheet.kind == "blender" else 3
    assert least <= sheet.flash.between_min <= sheet.flash.before_next_min <= 20
    if sheet.lamp:
        assert 55 <= sheet.lamp.metal_temp_c <= 65
        assert sheet.lamp.plastic_temp_c <= 60
        assert 5 <= sheet.lamp.bake_min <= sheet.lamp.plastic_bake_min <= 20
    if sheet.pot_life:  # halves by 10 K
        assert 0.4 <= sheet.pot_life.at_30_c_min / sheet.pot_life.at_20_c_min <= 0.6

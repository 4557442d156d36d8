"""The shipped processes: each adds up to what such a repair takes, and stops only where it may."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from sprayadvisor.adapters.sheet_files import load_catalogue
from sprayadvisor.advice.printed import example_plan, in_a_row
from sprayadvisor.shipped import shipped

# Minutes one after the other, with a lamp, a blower and metal at about 18 °C that needs no warming,
# and the same with what can be done alongside; how often the lamp is set up for the clear, and
# whether the panel is plastic. All common practice, no source.
TIMES: dict[str, tuple[int, int, int, bool]] = {
    "bumper-corner": (201, 176, 1, True),
    "door-scuff": (244, 214, 2, False),
    "lower-quarter-dent": (309, 264, 2, False),
    "wheel-arch-edge": (238, 203, 1, False),
    "bonnet-front-edge": (255, 225, 2, False),
    "mirror-shell": (171, 156, 1, True),
    "fill-and-prime": (180, 145, 1, False),
    "paint-primed": (186, 171, 2, False),
    "nib-polish": (70, 70, 1, False),
}
# From the first base coat to the end of the flash-off before the lamp. Common practice, no source.
WET: dict[str, int] = {
    "bumper-corner": 38,
    "door-scuff": 43,
    "lower-quarter-dent": 49,
    "wheel-arch-edge": 38,
    "bonnet-front-edge": 49,
    "mirror-shell": 32,
    "paint-primed": 49,
}


def raw(kind: str, name: str) -> dict[str, Any]:
    """Return a shipped file as it is written."""
    return tomllib.loads((shipped(f"config/{kind}") / f"{name}.toml").read_text(encoding="utf-8"))


def printed_min(stage: dict[str, Any], sheets: dict[str, Any], places: int, plastic: bool) -> float:
    """Return what a stage takes by its own file and its sheet's, with a blower."""
    if stage["kind"] in ("hand", "check", "cool"):
        return stage["minutes"]
    if "warm_to_c" in stage:
        return 0.0
    sheet = sheets[stage["sheet"]]
    between = sheet["flash"].get("blower_between_min", sheet["flash"]["between_min"])
    if stage["kind"] == "coat":
        return stage["coats"] * stage["minutes_each"] + (stage["coats"] - 1) * between
    if stage["kind"] == "lamp":
        bake = sheet["lamp"]["plastic_bake_min" if plastic else "bake_min"]
        return bake * (places if sheet["kind"] == "clear" else 1)
    following = sheet["flash"].get("blower_before_next_min", sheet["flash"]["before_next_min"])
    lamp = sheet.get("lamp", {}).get("flash_first_min", 0.0)
    return {"coat": between, "next": following, "lamp": lamp}[stage["until"]]


def all_printed(name: str) -> list[tuple[str, float]]:
    """Return id and minutes of each stage of a shipped process."""
    _, _, places, plastic = TIMES[name]
    process = raw("processes", name)
    sheets = {role: raw("sheets", sheet) for role, sheet in process["sheets"].items()}
    return [(s["id"], printed_min(s, sheets, places, plastic)) for s in process["stages"]]


def row_min(name: str) -> float:
    """Return the minutes in a row; the clear is mixed while the base flashes, whoever counts."""
    return sum(minutes for stage, minutes in all_printed(name) if stage != "mix-clear")


def test_every_shipped_process_is_compared() -> None:
    """The table here names all that are shipped, and all are marked as invented."""
    catalogue = load_catalogue([shipped("config/sheets")], [shipped("config/processes")])
    assert catalogue.faults == ()
    assert set(catalogue.processes) == set(TIMES)
    assert all(process.invented for process in catalogue.processes.values())
    assert all(sheet.invented for sheet in catalogue.sheets.values())
    kinds = sorted(sheet.kind for sheet in catalogue.sheets.values())
    assert kinds == sorted(
        ["filler", "primer", "promoter", "base", "base", "clear", "clear", "blender"]
    )


@pytest.mark.parametrize("name", sorted(TIMES))
def test_a_process_takes_as_long_in_a_row_as_such_a_repair(name: str) -> None:
    """Added up from the files alone it is within a twentieth of the trade's own figure."""
    total = row_min(name)
    assert total == pytest.approx(TIMES[name][0], rel=0.05)


@pytest.mark.parametrize("name", sorted(TIMES))
def test_a_process_as_it_is_played_saves_what_is_done_alongside(name: str) -> None:
    """With overlaps it lies between what the trade hopes to save and the same in a row."""
    _, overlapped, places, plastic = TIMES[name]
    catalogue = load_catalogue([shipped("config/sheets")], [shipped("config/processes")])
    process = catalogue.processes[name]
    plan = example_plan(process, catalogue.sheets_of(process), plastic=plastic)
    times = in_a_row(plan, rate=1.0)
    warmings = sum(t[1] - t[0] for t, s in zip(times, plan.stages, strict=True) if s.kind == "warm")
    second_place = sum(m for i, m in all_printed(name) if i == "clear-lamp") * (1 - 1 / places)
    played = max(end for _, end in times) - warmings + second_place
    assert 0.95 * overlapped <= played <= row_min(name) + 1


@pytest.mark.parametrize("name", sorted(WET))
def test_the_wet_block_is_as_long_as_the_trade_counts_on(name: str) -> None:
    """From the first base to the lamp."""
    stages = all_printed(name)
    ids = [one for one, _ in stages]
    alongside = {s["id"] for s in raw("processes", name)["stages"] if "alongside" in s}
    wet = stages[ids.index("base") : ids.index("clear-lamp")]
    total = sum(minutes for one, minutes in wet if one not in alongside)
    assert total == pytest.approx(WET[name], rel=0.2)

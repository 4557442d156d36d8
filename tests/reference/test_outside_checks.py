"""The table of outside checks: within bounds or said to be poor, and the same in DEVELOPERS.md."""

import math
import subprocess
import sys
from pathlib import Path

import pytest
import report
from outside import POOR, Check, same_but_for_rounding, within

HERE = Path(__file__).parent
ROW = "| dew | WMO 8 | ±0.05 K | −0.04 to 0.03 K; 7 rows |"


@pytest.mark.parametrize("check", report.CHECKS, ids=lambda check: check.what)
def test_a_figure_is_within_its_bounds_or_the_row_says_that_agreement_is_poor(check):
    """Neither may a figure leave its bounds unseen, nor be called poor when it no longer is."""
    assert check.is_held() != check.said.startswith(POOR)


def test_the_guide_has_the_table_of_the_running_code():
    """DEVELOPERS.md has the same rows; mend it with ``report.py --write``."""
    kept = report.kept(report.GUIDE.read_text("utf-8"))
    printed = report.table()
    assert [row.split(" | ")[0] for row in kept] == [row.split(" | ")[0] for row in printed]
    for ours, theirs in zip(printed, kept, strict=True):
        assert same_but_for_rounding(ours, theirs), ours


def test_the_command_prints_the_table():
    """As a script, from any folder and without pytest's paths."""
    told = subprocess.run(
        [sys.executable, HERE / "report.py"], capture_output=True, encoding="utf-8", check=True
    )
    assert told.stdout.splitlines() == report.table()


def test_writing_puts_the_table_between_its_marks(tmp_path, monkeypatch):
    """What stands around it stays, also the second time."""
    guide = tmp_path / "guide.md"
    guide.write_text(f"before\n{report.BEGIN}\nold\n{report.END}\nafter\n", "utf-8")
    monkeypatch.setattr(report, "GUIDE", guide)
    for _ in range(2):
        report.main(["--write"])
        text = guide.read_text("utf-8")
        assert text.startswith("before\n")
        assert text.endswith("\nafter\n")
        assert report.kept(text) == report.table()


def test_every_file_of_reference_tests_is_in_the_table():
    """Whoever adds one adds its rows."""
    code = "".join(path.read_text("utf-8") for path in HERE.glob("checks_*.py"))
    for path in HERE.glob("test_*_reference.py"):
        assert f"import {path.stem} as" in code


@pytest.mark.parametrize(
    ("other", "same"),
    [
        (ROW, True),
        (ROW.replace("−0.04 to 0.03", "−0.05 to 0.02"), True),
        (ROW.replace("0.03 K", "0.05 K"), False),
        (ROW.replace("0.03 K", "0.030 K"), False),
        (ROW.replace("−0.04", "0.04"), False),
        (ROW.replace("±0.05", "±0.06"), False),
        (ROW.replace("WMO 8", "WMO 9"), False),
        (ROW.replace("7 rows", "8 rows"), False),
    ],
)
def test_rows_are_compared_to_the_last_place_of_their_figures(other, same):
    """One unit there is rounding; words, tolerance, decimals and sign are not."""
    assert same_but_for_rounding(ROW, other) is same


def test_an_unknown_figure_is_not_held():
    """NaN among the figures is outside of any bounds."""
    assert not within("x", "y", 1.0, "K", lambda: [0.0, math.nan]).is_held()


@pytest.mark.parametrize(
    ("check", "row"),
    [
        (within("a", "b", 0.5, "K", lambda: [-0.1, 0.201]), "| a | b | ±0.5 K | −0.10 to 0.20 K |"),
        (within("a", "b", 0.0, "", lambda: -0.0, 0), "| a | b | exact | 0 |"),
        (Check("a", "b", lambda: 3.14, "h", low=3.0), "| a | b | ≥ 3 h | 3.14 h |"),
        (Check("a", "b", lambda: 3.14, "h", high=4.0, places=1), "| a | b | ≤ 4 h | 3.1 h |"),
        (Check("a", "b", lambda: 1, "h", -2, 4, 0, "c"), "| a | b | −2 to 4 h | 1 h; c |"),
        (Check("a", "b", lambda: 1, "", 1, 1, 0), "| a | b | 1 | 1 |"),
        (Check("a", "b", lambda: 1, "", places=0), "| a | b | none | 1 |"),
    ],
)
def test_a_row_in_words(check, row):
    """Bounds and figures with their unit, rounded, with a real minus."""
    assert check.row() == row

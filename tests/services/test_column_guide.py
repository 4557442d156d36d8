"""The guide to the columns, and the printed one that must not fall behind."""

import re

import pytest

from sprayadvisor.services.column_guide import GUIDE
from sprayadvisor.shipped import shipped

MARKS = {"yes": " *", "for a new site": " †", "": ""}


@pytest.mark.parametrize("entry", GUIDE, ids=lambda entry: entry.column)
def test_printed_table_says_the_same(entry):
    """Each column stands in config/README.md as the command explains it."""
    meaning = entry.meaning.replace("|", r"\|")
    row = (
        f"| `{entry.column}`{MARKS[entry.needed]} | {entry.unit} | {meaning} | `{entry.example}` |"
    )
    text = shipped("config/README.md").read_text(encoding="utf-8")
    assert row in text.splitlines(), f"put this row into config/README.md: {row}"


def test_printed_table_has_no_row_too_many():
    """The table of bookings has as many rows as there are columns."""
    text = shipped("config/README.md").read_text(encoding="utf-8")
    table = text.partition("| column | unit | meaning | example |")[2]
    assert len(re.findall(r"(?m)^\| `", table)) == len(GUIDE)

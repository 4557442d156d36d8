"""The table of faults in DEVELOPERS.md says what the tests of the mails hold."""

import re
from pathlib import Path

import pytest
from test_api_faults import FAULTS

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


TRIED_BY_THEMSELVES = {"400 for one place of many", "old data repeated", "air quality gone"}


def rows():
    """Return the sentence of each row by the name of its fault."""
    text = DEVELOPERS.read_text(encoding="utf-8")
    table = re.search(r"\| the service … \|[^\n]*\n\|---\|---\|\n(.*?)\n\n", text, re.DOTALL)
    return dict(line.strip("| ").split(" | ") for line in table[1].splitlines())


def named(fault):
    """Return the name of a fault as the table has it."""
    return fault.name.lower().replace("_", " ")


def test_every_fault_has_its_row():
    """None is missing, and none is told of that is not tried."""
    assert set(rows()) - TRIED_BY_THEMSELVES == {named(fault) for fault in FAULTS}


@pytest.mark.parametrize("fault", FAULTS, ids=named)
def test_a_row_says_what_the_mail_says(fault):
    """Word for word; what is in *italics* differs from case to case, … stands for the rest."""
    parts = re.split(r" ?\*[^*]+\*| ?…$", rows()[named(fault)])
    pattern = r".*".join(re.escape(part) for part in parts)
    assert re.search(pattern, FAULTS[fault].says)

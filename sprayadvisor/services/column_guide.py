"""What every column of a file of bookings means, made from the list of fields."""

from __future__ import annotations

from dataclasses import dataclass

from sprayadvisor.services.job_fields import JobField, Kind, Needed
from sprayadvisor.services.row_form import FIELDS

HOW = """\
The first line names the columns, in any order. Commas, semicolons or tabs stand between cells;
numbers have a decimal point or comma; days are year-month-day. An empty cell says nothing.
"for a new site": once, on any row of that site. A file adds jobs and changes none."""

_NEEDED = {Needed.YES: "yes", Needed.NEW_SITE: "for a new site", Needed.NO: ""}
_HOW_WRITTEN = {Kind.YES_NO: " yes or no.", Kind.SEVERAL: " Several: put | between."}


@dataclass(frozen=True, slots=True)
class Entry:
    """One column.

    Attributes:
        column: its name in the first line.
        needed: ``yes``, ``for a new site``, or empty.
        unit: of its numbers, if it has one.
        meaning: a sentence or two.
        example: what may stand there.
    """

    column: str
    needed: str
    unit: str
    meaning: str
    example: str


def _entry(field: JobField) -> Entry:
    meaning = f"{field.meaning}{_HOW_WRITTEN.get(field.kind, '')}"
    if field.name == "day":  # a file may lie for days, and so would its "tomorrow"
        meaning = "Year-month-day, in no other form."
    return Entry(field.name, _NEEDED[field.needed], field.unit, meaning, field.example)


GUIDE = tuple(_entry(field) for field in FIELDS)

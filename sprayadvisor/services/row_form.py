"""A row of texts as a form, and a job as a row of texts.

Several things in one cell have a bar between them. A bar or a backslash that belongs to the text
has a backslash in front.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sprayadvisor.advice.model import Job, JobState
from sprayadvisor.errors import InputError
from sprayadvisor.services import typed
from sprayadvisor.services.job_fields import FORM_FIELDS, RECORD_FIELDS, Kind, Needed, Said
from sprayadvisor.services.job_form import at_field
from sprayadvisor.services.ports import JobForm

FIELDS = (*FORM_FIELDS, *RECORD_FIELDS)
COLUMNS = tuple(field.name for field in FIELDS)
NEEDED = tuple(field.name for field in FIELDS if field.needed is Needed.YES)
NUMBERS = tuple(field.name for field in FIELDS if field.kind is Kind.NUMBER)

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_PIECE = re.compile(r"\\([\\|])|(\|)|(.)", re.DOTALL)
_YES_NO = {"yes": True, "true": True, "no": False, "false": False}


@dataclass(frozen=True, slots=True)
class FilledIn:
    """What a row says.

    Attributes:
        form: as if it had been typed.
        record: what has become of the job, by the job's fields; empty where nothing is said.
    """

    form: JobForm
    record: dict[str, Any]


def filled_in(texts: Mapping[str, str]) -> FilledIn:
    """Return what a row says.

    Args:
        texts: by column; what is empty is left out.

    Raises:
        InputError: something needed is missing, or a cell cannot be understood.
    """
    for name in NEEDED:
        if name not in texts:
            raise InputError(f"{name} is empty; every row needs it.", field=name)
    if not _DAY.fullmatch(texts["day"].strip()):
        raise InputError(
            f"day is {texts['day']!r}; write year-month-day such as 2027-05-04, the only form "
            "a file may have.",
            field="day",
        )
    said = {field.name: _read(texts.get(field.name), field.kind, field.name) for field in FIELDS}
    record = {name: said.pop(name) for name in ("times_moved", "state")}
    return FilledIn(JobForm(**said), _record(record))


def row_of(job: Job) -> dict[str, str]:
    """Return a job as a row; what it does not say is left out."""
    texts = {field.name: _written(field.said(job)) for field in FIELDS}
    return {name: text for name, text in texts.items() if text}


def _record(said: Mapping[str, str | None]) -> dict[str, Any]:
    """Return what has become of a job."""
    record: dict[str, Any] = {}
    if state := said["state"]:
        with at_field("state"):
            record["state"] = typed.choice(JobState, state, "state")
    if moved := said["times_moved"]:
        if not re.fullmatch(r"\d{1,4}", moved.strip()):
            raise InputError(
                f"times_moved is {moved!r}; give a whole number such as 0.", field="times_moved"
            )
        record["times_moved"] = int(moved)
    return record


def _read(text: str | None, kind: Kind, name: str) -> Any:  # noqa: ANN401 - what a form's field holds
    """Return a cell as the form wants it; None where it is empty."""
    if text is None:
        return None
    if kind is Kind.SEVERAL:
        return tuple(_pieces(text))
    if kind is not Kind.YES_NO:
        return text
    if text.strip().lower() not in _YES_NO:
        raise InputError(f"{name} is {text!r}; write yes or no.", field=name)
    return _YES_NO[text.strip().lower()]


def _pieces(text: str) -> list[str]:
    """Return what stands between the bars, without blanks around it."""
    pieces = [""]
    for escaped, bar, other in _PIECE.findall(text):
        if bar:
            pieces.append("")
        else:
            pieces[-1] += escaped or other
    return [piece.strip() for piece in pieces if piece.strip()]


def _written(said: Said) -> str:
    """Return what a field says as the text of a cell."""
    if isinstance(said, bool):
        return "yes" if said else "no"
    if isinstance(said, tuple):
        return " | ".join(re.sub(r"([\\|])", r"\\\1", piece) for piece in said)
    return said or ""

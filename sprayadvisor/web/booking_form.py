"""The form of a booking: what stands in it, and what comes back."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sprayadvisor.advice.model import Job, Material, Surface
from sprayadvisor.errors import InputError
from sprayadvisor.services import typed
from sprayadvisor.services.job_fields import FORM_FIELDS, JobField, Kind, Needed, form_of
from sprayadvisor.services.ports import JobForm
from sprayadvisor.web.booking_widgets import (
    OF_THE_SITE,
    PANEL_FIELDS,
    PLACE,
    PLACE_FIELDS,
    SIDE_OPTIONS,
    label,
)
from sprayadvisor.web.sent import Sent

_LONGEST = {"note": 2000, PLACE: 2000}
_USUALLY = 200
_ROWS = 3  # of panels and of neighbours, at least


@dataclass(frozen=True, slots=True)
class Rows:
    """What stands in the fields of which there are several.

    Attributes:
        panels: part, colour, material, surface.
        downwind: side, and what lies there.
    """

    panels: list[tuple[str, ...]]
    downwind: list[tuple[str, str]]


def stored_values(job: Job) -> tuple[dict[str, str], Rows]:
    """Return what the form of a stored job shows."""
    form = form_of(job)
    values: dict[str, str] = {}
    for field in FORM_FIELDS:
        said = getattr(form, field.name)
        if isinstance(said, bool):
            values[field.name] = "yes" if said else "no"
        elif not isinstance(said, tuple):
            values[field.name] = said or ""
    panels = [(p.part.value, p.colour.value, p.material.value, p.surface.value) for p in job.panels]
    return values, _filled(Rows([*panels], list(job.site.downwind.items())))


def new_values() -> tuple[dict[str, str], Rows]:
    """Return what the form of a new job shows."""
    return {"may_move": "yes"}, _filled(Rows([], []))


def sent_values(sent: Sent) -> tuple[dict[str, str], Rows]:
    """Return what was typed, so that it is shown again."""
    values = {name: sent.one(name) for name in (*_names(), PLACE)}
    panels = zip(*(sent.all(name) for name, _ in PANEL_FIELDS), strict=False)
    sides = zip(sent.all("side"), sent.all("reaches"), strict=False)
    return values, _filled(Rows(list(panels), list(sides)))


def _names() -> list[str]:
    single = [field for field in FORM_FIELDS if field.kind is not Kind.SEVERAL]
    return [field.name for field in single if field.name not in PLACE_FIELDS]


def _filled(rows: Rows) -> Rows:
    """Return rows with empty ones behind them to be filled in."""
    more = max(_ROWS - len(rows.panels), 1), max(_ROWS - len(rows.downwind), 1)
    blank = ("", "", Material.STEEL.value, Surface.PAINT.value)
    return Rows([*rows.panels, *[blank] * more[0]], [*rows.downwind, *[("", "")] * more[1]])


def missing(sent: Sent) -> dict[str, str]:
    """Return a sentence for each field that is too long, and each that must not be empty."""
    faults = {}
    for name in (*_names(), PLACE, "reaches"):
        most = _LONGEST.get(name, _USUALLY)
        longest = max((len(text) for text in sent.all(name)), default=0)
        if longest > most:
            where = "downwind" if name == "reaches" else name
            faults[where] = f"{label(where)} has {longest} characters; {most} are enough."
    for field in FORM_FIELDS:
        needed = field.needed is Needed.YES and field.name not in ("ref", "panels")
        if needed and not sent.one(field.name).strip():
            faults[field.name] = f"{label(field.name)} is empty; it is needed."
    if not _panels(sent):
        faults["panels"] = "No panel is chosen; choose part and colour of at least one."
    return faults | _half_chosen(sent)


def _half_chosen(sent: Sent) -> dict[str, str]:
    """Return a sentence for the first row of each kind of which only half was chosen."""
    faults: dict[str, str] = {}
    rows = zip(sent.all("part"), sent.all("colour"), strict=False)
    for number, (part, colour) in enumerate(rows, 1):
        if bool(part) != bool(colour):
            lacks, has = ("colour", "part") if part else ("part", "colour")
            told = f"Panel {number} has a {has} and no {lacks}; choose both, or neither."
            faults.setdefault("panels", told)
    names = dict(SIDE_OPTIONS)
    for side, what in zip(sent.all("side"), sent.all("reaches"), strict=False):
        if side and not what.strip():
            told = f"Side {names.get(side, side)}: say what lies there, or leave the side out."
            faults.setdefault("downwind", told)
        elif what.strip() and not side:
            told = f"“{what.strip()[:80]}”: choose on which side of the car it lies."
            faults.setdefault("downwind", told)
    return faults


def differing(sent: Sent, job: Job) -> list[str]:
    """Return where what was typed differs from a job as it is now, field by field."""
    (typed_, rows), (stored, now_rows) = sent_values(sent), stored_values(job)
    told = [
        f"{label(name)} is now {_shown(stored[name])}; here {_shown(typed_[name])}."
        for name in _names()
        if name in stored and typed_[name].strip() != stored[name] and name != "ref"
    ]
    for name, here, there in (
        ("panels", rows.panels, now_rows.panels),
        ("downwind", rows.downwind, now_rows.downwind),
    ):
        now, mine = (_listed(some) for some in (there, here))
        if now != mine:
            told.append(f"{label(name)}: now {_shown(now)}; here {_shown(mine)}.")
    return told


def _shown(text: str) -> str:
    return text.strip()[:80] or "empty"


def _listed(rows: Sequence[Sequence[str]]) -> str:
    said = (" ".join(filter(None, row)) for row in rows if row[0])
    return ", ".join(said).replace("_", " ")


def job_form(sent: Sent, was: Job | None) -> JobForm:
    """Return what was typed as the bookings take it, where the place is aside.

    Args:
        sent: what was typed.
        was: the job as it was shown; None for a new one.
    """
    empty = None if was is None else ""
    said: dict[str, Any] = {}
    for field in FORM_FIELDS:
        if field.name in PLACE_FIELDS or field.kind is Kind.SEVERAL:
            continue
        text = _plain(field, sent.one(field.name))
        if field.kind is Kind.YES_NO:
            said[field.name] = {"yes": True, "no": False}.get(text)
        else:
            said[field.name] = text or empty
    said["ref"] = said["ref"] or None
    said["panels"] = _panels(sent)
    sides = tuple(
        f"{side}={what.strip()}"
        for side, what in zip(sent.all("side"), sent.all("reaches"), strict=False)
        if side or what.strip()
    )
    said["downwind"] = sides if sides or was is not None else None
    if was is not None and said["site"] != was.site.name:
        _forget_what_was_shown_of(was, said)
    return JobForm(**said)


def _forget_what_was_shown_of(was: Job, said: dict[str, Any]) -> None:
    """Leave out what the form showed of the old site: it is not said of the new one."""
    shown = form_of(was)
    for name in OF_THE_SITE:
        was_shown = getattr(shown, name)
        if said[name] == was_shown or not (said[name] or was_shown):
            said[name] = None


def _plain(field: JobField, text: str) -> str:
    """Return a text as it was typed; a number without its unit and with a plain minus."""
    text = text.strip()
    if field.kind is not Kind.NUMBER:
        return text
    for unit in (field.unit, "m2"):
        text = text.removesuffix(unit).strip()
    return text.replace("−", "-")


def _panels(sent: Sent) -> tuple[str, ...]:
    rows = zip(*(sent.all(name) for name, _ in PANEL_FIELDS), strict=False)
    return tuple(":".join(filter(None, row)) for row in rows if row[0] or row[1])


def reads_as_place(text: str) -> bool:
    """Return whether a text is meant as coordinates or a link, and not as the name of a town."""
    return any(letter.isdigit() for letter in text) or "://" in text or text.startswith("geo:")


def mark_of(job: Job) -> str:
    """Return a mark that differs when the job does, so that a form shown before is known as old."""
    return hashlib.sha256(repr((form_of(job), job.state)).encode()).hexdigest()[:16]


def fault_of(error: InputError) -> dict[str, str]:
    """Return a refusal at its field, else above all of them."""
    name = error.field
    if name in PLACE_FIELDS:
        name = PLACE
    sentence = str(error)
    if error.field and sentence.startswith(error.field):
        sentence = label(error.field) + sentence.removeprefix(error.field)
    known = name in (*_names(), PLACE, "panels", "downwind")
    return {name if known else "all": sentence}


def nearest(name: str, known: list[str]) -> str:
    """Return a question that may help whoever mistyped the name of a stored place."""
    near = typed.nearest(name, known)
    return f" Or did you mean “{near}”?" if near else ""

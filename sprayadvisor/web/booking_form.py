"""The form of a booking: what it shows for each field of ``FORM_FIELDS``, and what comes back.

``FORM_FIELDS`` says what there is; here stands only how a phone shows it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sprayadvisor.advice.model import (
    Colour,
    Cover,
    Ground,
    Job,
    Material,
    Part,
    Power,
    Surface,
    Surroundings,
)
from sprayadvisor.errors import InputError
from sprayadvisor.services import typed
from sprayadvisor.services.job_fields import FORM_FIELDS, JobField, Kind, Needed, form_of
from sprayadvisor.services.ports import JobForm
from sprayadvisor.web.sent import Sent

# Asked for in one field that takes coordinates, a link or a town.
_PLACE = ("latitude", "longitude")
PLACE = "place"
WORDS = {"surroundings": Surroundings, "ground": Ground, "cover": Cover, "power": Power}
_PANEL = (("part", Part), ("colour", Colour), ("material", Material), ("surface", Surface))
_UNSAID = ("", "–")
PANEL_OPTIONS = tuple(
    (
        name,
        (
            *((_UNSAID,) if name in ("part", "colour") else ()),
            *((word.value, word.value.replace("_", " ")) for word in words),
        ),
    )
    for name, words in _PANEL
)
SIDE_OPTIONS = (
    _UNSAID,
    ("n", "north"),
    ("ne", "north-east"),
    ("e", "east"),
    ("se", "south-east"),
    ("s", "south"),
    ("sw", "south-west"),
    ("w", "west"),
    ("nw", "north-west"),
)
_OF_THE_SITE = (
    "zone", "elevation_m", *WORDS, "downwind", "shade_before", "shade_after", "kerb",
)  # fmt: skip
# Seldom needed, so folded away.
_FOLDED = (*_OF_THE_SITE, "car_there_from", "back_by", "driven_until", "washed_until",
           "repair_area_m2")  # fmt: skip
_LABELS = {
    "ref": "Reference",
    "day": "Day",
    "site": "Name of the place",
    "elevation_m": "Height above the sea, m",
    "zone": "Time zone",
    "place": "Where it is",
    "kerb": "At the kerb",
    "downwind": "What the mist could reach",
    "heading": "Nose of the car points to",
    "may_move": "May it be moved",
    "repair_area_m2": "Area to be painted, m²",
}
_LONGEST = {"note": 2000, PLACE: 2000}
_USUALLY = 200
_ROWS = 3  # of panels and of neighbours, at least


@dataclass(frozen=True, slots=True)
class Widget:
    """One field as the page shows it.

    Attributes:
        name: of the form's field.
        label: above it.
        hint: what it means, with an example.
        group: heading it stands under.
        folded: whether it is seldom needed.
        options: value and word of each choice; none for a text.
        value: what stands in it.
        attrs: of the input.
    """

    name: str
    label: str
    hint: str
    group: str
    folded: bool
    options: tuple[tuple[str, str], ...]
    value: str
    attrs: Mapping[str, str]


def widgets(
    values: Mapping[str, str], processes: Mapping[str, str], *, adding: bool
) -> list[Widget]:
    """Return every field that is one line or one choice, in the order of the table.

    Args:
        values: what stands in the fields.
        processes: name of each process by its id.
        adding: for a new job; then a stored site speaks for itself where nothing is said.
    """
    return [
        Widget(
            name=field.name,
            label=label(field.name),
            hint=_hint(field),
            group=field.group,
            folded=field.name in _FOLDED,
            options=_options(field, processes, adding),
            value=values.get(field.name, ""),
            attrs=_attrs(field),
        )
        for field in FORM_FIELDS
        if field.kind is not Kind.SEVERAL
        and field.name not in _PLACE
        and (adding or field.name != "ref")
    ]


def label(name: str) -> str:
    """Return what a field is called on the page."""
    return _LABELS.get(name, name.replace("_", " ").capitalize())


def _hint(field: JobField) -> str:
    if field.name == "ref":
        return "Your own; left empty, the job is numbered."
    if field.name == "zone":
        return "Left empty: that of the town, of the stored place or of your base."
    if field.name in ("process", "day"):
        return ""
    if field.name in WORDS or field.kind is Kind.YES_NO:
        return field.meaning if field.kind is Kind.YES_NO else ""
    meaning = field.meaning if field.example in field.meaning else ""
    return meaning or f"{field.meaning.rstrip('.')}, such as {field.example}."


def _options(
    field: JobField, processes: Mapping[str, str], adding: bool
) -> tuple[tuple[str, str], ...]:
    if field.name == "process":
        return (("", "Choose"), *processes.items())
    unsaid = (("", "As stored, or as usual"),) if adding else ()
    if field.name in WORDS:
        return (*unsaid, *((w.value, w.value.replace("_", " ")) for w in WORDS[field.name]))
    if field.kind is Kind.YES_NO:
        return (*(unsaid if field.name == "kerb" else ()), ("yes", "yes"), ("no", "no"))
    return ()


def _attrs(field: JobField) -> dict[str, str]:
    attrs = {"autocomplete": "off"}
    if field.kind is Kind.NUMBER:
        attrs["inputmode"] = "decimal"
    if field.name == "site":
        attrs["list"] = "stored"
    if field.name in ("phone", "email"):
        attrs["inputmode"] = {"phone": "tel", "email": "email"}[field.name]
    return attrs


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
    panels = zip(*(sent.all(name) for name, _ in _PANEL), strict=False)
    sides = zip(sent.all("side"), sent.all("reaches"), strict=False)
    return values, _filled(Rows(list(panels), list(sides)))


def _names() -> list[str]:
    return [f.name for f in FORM_FIELDS if f.kind is not Kind.SEVERAL and f.name not in _PLACE]


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
    return faults


def job_form(sent: Sent, was: Job | None) -> JobForm:
    """Return what was typed as the bookings take it, where the place is aside.

    Args:
        sent: what was typed.
        was: the job as it was shown; None for a new one.
    """
    empty = None if was is None else ""
    said: dict[str, Any] = {}
    for field in FORM_FIELDS:
        if field.name in _PLACE or field.kind is Kind.SEVERAL:
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
    for name in _OF_THE_SITE:
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
    rows = zip(*(sent.all(name) for name, _ in _PANEL), strict=False)
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
    if name in _PLACE:
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

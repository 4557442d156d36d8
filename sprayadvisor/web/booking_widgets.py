"""How a phone shows each field of a booking; what fields there are says ``FORM_FIELDS`` alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sprayadvisor.advice.model import (
    Colour,
    Cover,
    Ground,
    Material,
    Part,
    Power,
    Surface,
    Surroundings,
)
from sprayadvisor.services.job_fields import FORM_FIELDS, JobField, Kind

# Asked for in one field that takes coordinates, a link or a town.
PLACE_FIELDS = ("latitude", "longitude")
PLACE = "place"
WORDS = {"surroundings": Surroundings, "ground": Ground, "cover": Cover, "power": Power}
PANEL_FIELDS = (("part", Part), ("colour", Colour), ("material", Material), ("surface", Surface))
_UNSAID = ("", "–")
PANEL_OPTIONS = tuple(
    (
        name,
        (
            *((_UNSAID,) if name in ("part", "colour") else ()),
            *((word.value, word.value.replace("_", " ")) for word in words),
        ),
    )
    for name, words in PANEL_FIELDS
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
OF_THE_SITE = (
    "zone", "elevation_m", *WORDS, "downwind", "shade_before", "shade_after", "kerb",
)  # fmt: skip
# Seldom needed, so folded away.
_FOLDED = (*OF_THE_SITE, "car_there_from", "back_by", "driven_until", "washed_until",
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
    "panels": "Panels",
    "repair_area_m2": "Area to be painted, m²",
}


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
        and field.name not in PLACE_FIELDS
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
    # A browser that is told to complete nothing forgets what was typed when one goes back.
    attrs: dict[str, str] = {}
    if field.kind is Kind.NUMBER:
        attrs["inputmode"] = "decimal"
    if field.name == "site":
        attrs["list"] = "stored"
    if field.name in ("phone", "email"):
        attrs["inputmode"] = {"phone": "tel", "email": "email"}[field.name]
    return attrs

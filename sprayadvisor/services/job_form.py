"""From what was typed to a site and a job, checked for what can be seen without asking anybody."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import Any

from sprayadvisor.advice.model import (
    Colour,
    Cover,
    Customer,
    Ground,
    Job,
    Material,
    Panel,
    Part,
    Power,
    Site,
    Surface,
    Surroundings,
)
from sprayadvisor.errors import InputError
from sprayadvisor.services import typed
from sprayadvisor.services.ports import JobForm

Reader = Callable[[str, str], Any]

# What a site or a job can do without: an empty text takes it away.
_MAY_BE_EMPTY = {
    "elevation_m",
    "shade_before",
    "shade_after",
    "car_there_from",
    "back_by",
    "driven_until",
    "washed_until",
}

_SITE_READERS: Mapping[str, Reader] = {
    "latitude": lambda text, field: typed.number(text, field, -90, 90, "°"),
    "longitude": lambda text, field: typed.number(text, field, -180, 180, "°"),
    "zone": typed.zone,
    # The lowest and the highest road on earth, with a little room.
    "elevation_m": lambda text, field: typed.number(text, field, -450, 6000, "m"),
    "surroundings": lambda text, field: typed.choice(Surroundings, text, field),
    "ground": lambda text, field: typed.choice(Ground, text, field),
    "cover": lambda text, field: typed.choice(Cover, text, field),
    "power": lambda text, field: typed.choice(Power, text, field),
    "shade_before": typed.clock,
    "shade_after": typed.clock,
}
_JOB_READERS: Mapping[str, Reader] = {
    "process": typed.line,
    "car_there_from": typed.clock,
    "back_by": typed.clock,
    "driven_until": typed.clock,
    "washed_until": typed.clock,
    "repair_area_m2": lambda text, field: typed.number(text, field, 0.01, 5, "m²"),
}


def read_site(form: JobForm, name: str, base: Site | None, known: Collection[str]) -> Site:
    """Return the site of a form.

    Args:
        form: what was typed.
        name: the name of the site.
        base: the stored site of that name, to be brought up to date; None for a new one.
        known: the names of all stored sites, in case this one was mistyped.

    Raises:
        InputError: a field is missing, cannot be understood or cannot be true.
    """
    changes = site_changes(form)
    if base is not None:
        return replace(base, **changes)
    missing = [field for field in ("latitude", "longitude", "zone") if field not in changes]
    if missing:
        near = typed.nearest(name, known)
        hint = f", or did you mean {near!r}?" if near else "."
        raise InputError(
            f"Site {name!r} is new; give its {' and '.join(missing)} too{hint}", field="site"
        )
    return Site(name=typed.line(name, "site"), **changes)


def site_changes(form: JobForm) -> dict[str, Any]:
    """Return what a form says about its site, by the site's fields.

    Raises:
        InputError: a field cannot be understood or cannot be true.
    """
    with at_field("latitude"):
        _refuse_swapped_numbers(form)
    changes = _read(form, _SITE_READERS)
    if form.kerb is not None:
        changes["kerb"] = form.kerb
    if form.downwind is not None:
        with at_field("downwind"):
            changes["downwind"] = _downwind(form.downwind)
    return changes


def read_job(form: JobForm, site: Site, today: date, base: Job | None) -> Job:
    """Return the job of a form, built on the stored one if there is one.

    Args:
        form: what was typed.
        site: where the job is, already read.
        today: the date at the site, for ``today`` and ``tomorrow``.
        base: the job to be changed, None for a new one; then ``ref`` may come out empty.

    Raises:
        InputError: a field is missing, cannot be understood or cannot be true.
    """
    changes = _read(form, _JOB_READERS)
    if form.day:
        with at_field("day"):
            changes["day"] = typed.day(form.day, "day", today)
    if form.arrive:
        with at_field("arrive"):
            window = typed.clock_window(form.arrive, "arrive")
        changes["arrive_from"], changes["arrive_to"] = window
    if form.heading is not None:
        with at_field("heading"):
            said = typed.heading(form.heading, "heading") if form.heading else None
            changes["heading_deg"] = said
    if form.panels is not None:
        with at_field("panels"):
            changes["panels"] = tuple(_panel(text) for text in form.panels)
    if form.may_move is not None:
        changes["may_move"] = form.may_move
    changes["customer"] = _customer(form, base.customer if base else Customer())
    job = replace(base, site=site, **changes) if base else _new_job(form, site, changes)
    _check(job)
    return job


@contextmanager
def at_field(field: str) -> Iterator[None]:
    """Mark what is refused in the block as a fault of this field."""
    try:
        yield
    except InputError as error:
        error.field = field
        raise


def _read(form: JobForm, readers: Mapping[str, Reader]) -> dict[str, Any]:
    """Return what the form says in the fields that ``readers`` know."""
    said: dict[str, Any] = {}
    for field, reader in readers.items():
        text = getattr(form, field)
        if text:
            with at_field(field):
                said[field] = reader(text, field)
        elif text == "" and field in _MAY_BE_EMPTY:
            said[field] = None
    return said


def _new_job(form: JobForm, site: Site, said: dict[str, Any]) -> Job:
    """Return a job from what was said, once nothing it needs is missing."""
    needs = {"process": "process", "day": "day", "arrive_from": "arrival", "panels": "panels"}
    missing = [name for field, name in needs.items() if field not in said]
    if missing:
        raise InputError(f"The job has no {' and no '.join(missing)}; give that too.")
    with at_field("ref"):
        ref = typed.reference(form.ref or "", "ref")
    return Job(ref=ref, site=site, **said)


def _refuse_swapped_numbers(form: JobForm) -> None:
    """Refuse a latitude that can only be a longitude, as the two are easily swapped."""
    if not (form.latitude and form.longitude):
        return
    latitude = typed.plain_number(form.latitude, "latitude")
    longitude = typed.plain_number(form.longitude, "longitude")
    if abs(latitude) > 90 and abs(longitude) <= 90 and abs(latitude) <= 180:
        raise InputError(
            f"latitude is {latitude:g}, which is beyond a pole, and longitude is {longitude:g}; "
            "did you swap them?"
        )


def _downwind(entries: tuple[str, ...]) -> MappingProxyType[str, str]:
    """Return what lies on which side."""
    sides: dict[str, str] = {}
    for entry in filter(str.strip, entries):
        side, sign, what = entry.partition("=")
        if not (sign and what.strip()):
            raise InputError(f"downwind is {entry!r}; give side=what, such as n=neighbour's cars.")
        sides[typed.compass_side(side, "downwind")] = typed.line(what, "downwind")
    return MappingProxyType(sides)


def _panel(text: str) -> Panel:
    """Return a panel from ``part:colour[:material[:surface]]``."""
    pieces = text.split(":")
    if len(pieces) not in {2, 3, 4}:
        raise InputError(
            f"panel is {text!r}; give part:colour, part:colour:material or "
            "part:colour:material:surface."
        )
    part = typed.choice(Part, pieces[0], "part")
    colour = typed.choice(Colour, pieces[1], "colour")
    if len(pieces) == 2:
        return Panel(part, colour)
    material = typed.choice(Material, pieces[2], "material")
    if len(pieces) == 3:
        return Panel(part, colour, material)
    return Panel(part, colour, material, typed.choice(Surface, pieces[3], "surface"))


def _customer(form: JobForm, base: Customer) -> Customer:
    """Return the customer; the faults name a field and never repeat what is in it."""
    note = form.note if form.note is None else " ".join(form.note.split())
    email = _told(form.email, base.email, "email")
    if email and "@" not in email.strip("@"):
        sentence = "email has no @ inside it; correct the address or leave it out."
        raise InputError(sentence, field="email")
    return Customer(
        name=_told(form.customer, base.name, "customer"),
        phone=_told(form.phone, base.phone, "phone", 40),
        email=email,
        note=_told(note, base.note, "note", 2000),
    )


def _told(text: str | None, stored: str, field: str, most: int = 200) -> str:
    """Return a line that was told, else the one that is stored."""
    if text is None:
        return stored
    with at_field(field):
        return typed.line(text, field, most)


def _check(job: Job) -> None:
    """Refuse what no day could bring."""
    if not job.panels:
        raise InputError("The job has no panel; give at least one as part:colour.")
    for what, at in (
        ("is there only from", job.car_there_from),
        ("is driven until", job.driven_until),
        ("is washed until", job.washed_until),
    ):
        if at is not None and at > job.arrive_to:
            raise InputError(
                f"The car {what} {at:%H:%M}, after the arrival window ends at "
                f"{job.arrive_to:%H:%M}; move one of the two."
            )
    if job.back_by is not None and job.back_by <= job.arrive_to:
        raise InputError(
            f"The car must be back by {job.back_by:%H:%M}, but arrival may be as late as "
            f"{job.arrive_to:%H:%M}; move one of the two."
        )

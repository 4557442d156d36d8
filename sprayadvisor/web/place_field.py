"""One field for where a job is: coordinates, the link of a map, or the name of a town."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sprayadvisor.advice.model import Job
from sprayadvisor.errors import InputError, WeatherError
from sprayadvisor.services.coordinates import coordinates
from sprayadvisor.services.ports import JobForm
from sprayadvisor.web.booking_form import nearest, reads_as_place
from sprayadvisor.web.booking_widgets import PLACE, label
from sprayadvisor.web.sent import Sent

if TYPE_CHECKING:
    from sprayadvisor.bootstrap import Services
    from sprayadvisor.services.ports.places import FoundPlace


@dataclass(frozen=True, slots=True)
class Choice:
    """A place to choose.

    Attributes:
        value: what the form sends back.
        name: of the place, with what it lies in.
        where: latitude, longitude, elevation and time zone in words.
    """

    value: str
    name: str
    where: str


@dataclass(frozen=True, slots=True)
class Located:
    """What came of the field.

    Attributes:
        form: what was typed, with where it is.
        choices: places to choose from before anything can be kept.
        errors: sentences by field.
    """

    form: JobForm
    choices: tuple[Choice, ...] = ()
    errors: tuple[tuple[str, str], ...] = ()


def locate(services: Services, sent: Sent, form: JobForm, was: Job | None) -> Located:
    """Return a form with where the job is.

    Args:
        services: which know the stored places, and towns by name.
        sent: what was typed.
        form: the same, where the place is not read yet.
        was: the job that is changed; None for a new one.
    """
    text, picked = sent.one(PLACE).strip(), sent.one("picked")
    names = [site.name for site in services.bookings.sites()]
    if was is not None:
        names.append(was.site.name)
    if not text:
        return _as_stored(form, names)
    if picked and sent.one("picked_for") == text:
        return _as_picked(form, picked, was)
    if reads_as_place(text):
        return _as_pasted(services, form, text, names)
    return _to_choose(services, form, text)


def _as_stored(form: JobForm, names: list[str]) -> Located:
    """Take the stored place of that name."""
    name = form.site or ""
    if not name or name in names:
        return Located(form)
    sentence = (
        f"“{name}” is no stored place, so say where it is: coordinates, the link of a map, or a "
        f"town.{nearest(name, names)}"
    )
    return Located(form, errors=((PLACE, sentence),))


def _as_picked(form: JobForm, picked: str, was: Job | None) -> Located:
    """Take the town that was chosen, unless a zone or height of its own was typed."""
    latitude, longitude, elevation, zone, *name = [*picked.split("|", 4), "", "", "", ""][:5]
    own_zone = form.zone and not (was and form.zone == was.site.zone)
    return Located(
        replace(
            form,
            latitude=latitude,
            longitude=longitude,
            elevation_m=form.elevation_m or elevation or None,
            zone=form.zone if own_zone else zone,
            site=form.site or name[0] or None,
        )
    )


def _as_pasted(services: Services, form: JobForm, text: str, names: Collection[str]) -> Located:
    """Take the coordinates."""
    try:
        found = coordinates(text, label(PLACE))
    except InputError as error:
        return Located(form, errors=((PLACE, str(error)),))
    # A stored place knows its own zone.
    zone = form.zone if form.site in names else form.zone or services.settings.zone.key
    return Located(
        replace(
            form, latitude=f"{found.latitude:.6f}", longitude=f"{found.longitude:.6f}", zone=zone
        )
    )


def _to_choose(services: Services, form: JobForm, text: str) -> Located:
    """Look for a town; which one is meant is for the painter to say, even where there is one."""
    try:
        found = services.places.find(text)
    except InputError as error:
        sentence = f"{label(PLACE)}{str(error).removeprefix(PLACE)}"
        return Located(form, errors=((PLACE, sentence),))
    except WeatherError as error:
        sentence = f"{error} Towns cannot be looked for now; paste coordinates or a link instead."
        return Located(form, errors=((PLACE, sentence),))
    if not found:
        sentence = "No town of this name was found; write it differently, or paste coordinates."
        return Located(form, errors=((PLACE, sentence),))
    return Located(form, choices=tuple(_choice(place) for place in found))


def _choice(place: FoundPlace) -> Choice:
    height = "" if place.elevation_m is None else f"{place.elevation_m:g}"
    numbers = (f"{place.latitude:.5f}", f"{place.longitude:.5f}", height, place.zone, place.name)
    words = [f"{place.latitude:.3f}, {place.longitude:.3f}", f"{height} m" if height else "",
             place.zone]  # fmt: skip
    return Choice("|".join(numbers), ", ".join((place.name, *place.within)),
                  ", ".join(filter(None, words)))  # fmt: skip

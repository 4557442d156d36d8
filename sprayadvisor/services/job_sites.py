"""Which site a form means, and whether it can lie where the form says."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from sprayadvisor.advice.drives import distance_km
from sprayadvisor.advice.model import Site
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.services.job_form import read_site
from sprayadvisor.services.ports import JobForm
from sprayadvisor.services.weather import SAME_PLACE_DEG, SAME_PLACE_M

_ONE_ROUND_KM = 300.0  # sites of one van lie within a day's drive of each other


def site_of(form: JobForm, current: Site | None, stored: Mapping[str, Site]) -> Site:
    """Return the site that is meant, with what the form says about it.

    Args:
        form: what was typed.
        current: the site of the job that is changed, None for a new job.
        stored: every stored site by its name.

    Raises:
        InputError: a field is missing, cannot be understood or cannot be true.
        BookingError: the site's name is taken by another place.
    """
    name = (form.site or "").strip() or (current.name if current else site_name(form))
    base = stored.get(name)
    site = read_site(form, name, base, stored)
    # Correcting where a site lies is a change to a job there, never a by-effect of another.
    if base and (current is None or current.name != name) and not _same_place(base, site):
        raise BookingError(
            f"There is another site called {name!r}, {_apart_km(base, site):.0f} km away; "
            "give this one another name, or change the site through a job there."
        )
    if base is None or not _same_place(base, site):
        refuse_if_swapped(site, [other for other in stored.values() if other.name != name])
    return site


def site_name(form: JobForm) -> str:
    """Return the name of the site.

    Raises:
        InputError: there is none.
    """
    name = (form.site or "").strip()
    if not name:
        sentence = "The job has no site; give the name of a stored one, or a new one."
        raise InputError(sentence, field="site")
    return name


def refuse_if_swapped(site: Site, others: Iterable[Site]) -> None:
    """Refuse a place far from all others that would be among them the other way round.

    Raises:
        InputError: latitude and longitude look swapped.
    """
    others = list(others)
    if abs(site.longitude) > 90 or any(_apart_km(site, other) <= _ONE_ROUND_KM for other in others):
        return
    swapped = replace(site, latitude=site.longitude, longitude=site.latitude)
    nearest = min(others, key=lambda other: _apart_km(swapped, other), default=None)
    if nearest is None or _apart_km(swapped, nearest) > _ONE_ROUND_KM:
        return
    as_given = min(_apart_km(site, other) for other in others)
    raise InputError(
        f"latitude {site.latitude:g} and longitude {site.longitude:g} are {as_given:.0f} km "
        f"from every other site, but the other way round near {nearest.name!r}; "
        "did you swap them?",
        field="latitude",
    )


def _apart_km(one: Site, other: Site) -> float:
    """Return how far two sites are apart, km."""
    return distance_km(one.latitude, one.longitude, other.latitude, other.longitude)


def _same_place(one: Site, other: Site) -> bool:
    """Return whether two sites may share their weather."""
    higher_m = 0.0
    if one.elevation_m is not None and other.elevation_m is not None:
        higher_m = abs(one.elevation_m - other.elevation_m)
    return (
        abs(one.latitude - other.latitude) <= SAME_PLACE_DEG
        and abs(one.longitude - other.longitude) <= SAME_PLACE_DEG
        and higher_m <= SAME_PLACE_M
    )

"""Jobs and sites as rows, and rows as jobs and sites."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from enum import StrEnum
from types import MappingProxyType
from typing import Any, TypeVar

from sprayadvisor.advice.model import (
    Colour,
    Cover,
    Customer,
    Ground,
    Job,
    JobState,
    Material,
    Panel,
    Part,
    Power,
    Site,
    Surface,
    Surroundings,
)
from sprayadvisor.errors import StoreError

Row = Mapping[str, Any]
Word = TypeVar("Word", bound=StrEnum)

_JOB_SAME = (
    "ref",
    "process",
    "day",
    "arrive_from",
    "arrive_to",
    "car_there_from",
    "back_by",
    "driven_until",
    "washed_until",
    "may_move",
    "times_moved",
    "repair_area_m2",
)
_SITE_SAME = (
    "name",
    "latitude",
    "longitude",
    "zone",
    "elevation_m",
    "shade_before",
    "shade_after",
    "kerb",
)
_SITE_WORDS = ("surroundings", "ground", "cover", "power")
_CUSTOMER = tuple(field.name for field in fields(Customer))


def job_row(job: Job) -> dict[str, Any]:
    """Return the columns of ``jobs`` for a job."""
    panels = [
        [panel.part.value, panel.colour.value, panel.material.value, panel.surface.value]
        for panel in job.panels
    ]
    row = {name: getattr(job, name) for name in _JOB_SAME}
    # SQLite cannot make an old column nullable without making its table anew.
    row |= {"heading_deg": job.heading_deg or 0.0, "heading_said": job.heading_deg is not None}
    row |= {f"customer_{name}": getattr(job.customer, name) for name in _CUSTOMER}
    return row | {"site": job.site.name, "panels": panels, "state": job.state.value}


def job_from_row(row: Row) -> Job:
    """Return the job of a row that also has its site's columns, each with ``site_`` before it.

    Raises:
        StoreError: the row holds a word this version does not know.
    """
    where = f"job {row['ref']}"
    # Panels that an older version wrote have no surface.
    panels = tuple(
        Panel(
            word(Part, part, where),
            word(Colour, colour, where),
            word(Material, material, where),
            *(word(Surface, surface, where) for surface in rest),
        )
        for part, colour, material, *rest in row["panels"]
    )
    return Job(
        **{name: row[name] for name in _JOB_SAME},
        heading_deg=row["heading_deg"] if row["heading_said"] else None,
        site=site_from_row({key.removeprefix("site_"): row[key] for key in row}),
        panels=panels,
        state=word(JobState, row["state"], where),
        customer=Customer(**{name: row[f"customer_{name}"] for name in _CUSTOMER}),
    )


def site_row(site: Site) -> dict[str, Any]:
    """Return the columns of ``sites`` for a site."""
    row = {name: getattr(site, name) for name in _SITE_SAME}
    row |= {name: getattr(site, name).value for name in _SITE_WORDS}
    return row | {"downwind": dict(site.downwind)}


def site_from_row(row: Row) -> Site:
    """Return the site of a row.

    Raises:
        StoreError: the row holds a word this version does not know.
    """
    where = f"site {row['name']}"
    return Site(
        **{name: row[name] for name in _SITE_SAME},
        surroundings=word(Surroundings, row["surroundings"], where),
        ground=word(Ground, row["ground"], where),
        cover=word(Cover, row["cover"], where),
        power=word(Power, row["power"], where),
        downwind=MappingProxyType(row["downwind"]),
    )


def word(kind: type[Word], value: str, where: str) -> Word:
    """Return the member of ``kind`` that a stored word means.

    Raises:
        StoreError: there is none; a newer version must have written it.
    """
    try:
        return kind(value)
    except ValueError as error:
        raise StoreError(
            f"The database says {value!r} for {where}, which this version does not know; "
            "install the version of sprayadvisor that wrote it."
        ) from error

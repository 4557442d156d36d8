"""What can be said about a job, field by field: the one list behind options, columns and export."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import time
from decimal import Decimal
from enum import StrEnum

from sprayadvisor.advice.model import Job, Panel, Surface
from sprayadvisor.services.ports import JobForm

Said = str | bool | tuple[str, ...] | None


class Kind(StrEnum):
    """How a field is written."""

    TEXT = "text"
    NUMBER = "number"
    YES_NO = "yes or no"
    SEVERAL = "several"


class Needed(StrEnum):
    """When a field must be there."""

    NO = "no"
    YES = "yes"
    NEW_SITE = "new site"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobField:
    """One field of a ``JobForm``, or of what is kept beside it.

    Attributes:
        name: of the form's field, and of the column in a file.
        flag: option of the command line; empty where there is none.
        meaning: a sentence.
        group: heading it stands under in the command's help.
        said: what a job says in this field, as a form would have it.
        kind: how it is written.
        needed: when it must be there.
        unit: of a number.
        example: what may stand there.
    """

    name: str
    flag: str
    meaning: str
    group: str
    said: Callable[[Job], Said]
    kind: Kind = Kind.TEXT
    needed: Needed = Needed.NO
    unit: str = ""
    example: str = ""


_WHEN = "What and when"
_SITE = "Where"
_CAR = "Which car"
_WHO = "Customer (kept with the job and nowhere else)"


def _number(value: float | None) -> str | None:
    """Return a number that reads back exactly and never has an exponent."""
    return None if value is None else format(Decimal(repr(value)), "f")


def _clock(value: time | None) -> str | None:
    return None if value is None else f"{value:%H:%M}"


def _panel(panel: Panel) -> str:
    pieces = [panel.part.value, panel.colour.value, panel.material.value]
    painted = panel.surface is Surface.PAINT
    return ":".join(pieces if painted else [*pieces, panel.surface.value])


FORM_FIELDS: tuple[JobField, ...] = (
    JobField(
        name="ref", flag="--ref", group=_WHEN, needed=Needed.YES, example="W-12",
        meaning="Your own reference; no two jobs share one.",
        said=lambda job: job.ref,
    ),
    JobField(
        name="process", flag="--process", group=_WHEN, needed=Needed.YES, example="bumper-corner",
        meaning="Name of a process.",
        said=lambda job: job.process,
    ),
    JobField(
        name="day", flag="--day", group=_WHEN, needed=Needed.YES, example="2027-05-04",
        meaning="Year-month-day; a command also takes today or tomorrow.",
        said=lambda job: job.day.isoformat(),
    ),
    JobField(
        name="arrive", flag="--arrive", group=_WHEN, needed=Needed.YES, example="09:00-10:30",
        meaning="Arrival window, such as 09:00-10:30.",
        said=lambda job: f"{job.arrive_from:%H:%M}-{job.arrive_to:%H:%M}",
    ),
    JobField(
        name="may_move", flag="--may-move/--fixed", group=_WHEN, kind=Kind.YES_NO, example="yes",
        meaning="Whether another day would do.",
        said=lambda job: job.may_move,
    ),
    JobField(
        name="site", flag="--site", group=_SITE, needed=Needed.YES, example="Alder Close",
        meaning="Name; a stored site comes with all it says.",
        said=lambda job: job.site.name,
    ),
    JobField(
        name="latitude", flag="--lat", group=_SITE, kind=Kind.NUMBER, unit="°",
        needed=Needed.NEW_SITE, example="53.27", meaning="Degrees north.",
        said=lambda job: _number(job.site.latitude),
    ),
    JobField(
        name="longitude", flag="--lon", group=_SITE, kind=Kind.NUMBER, unit="°",
        needed=Needed.NEW_SITE, example="-8.92", meaning="Degrees east.",
        said=lambda job: _number(job.site.longitude),
    ),
    JobField(
        name="zone", flag="--zone", group=_SITE, needed=Needed.NEW_SITE, example="Europe/Dublin",
        meaning="Time zone, such as Europe/Berlin.",
        said=lambda job: job.site.zone,
    ),
    JobField(
        name="elevation_m", flag="--elevation", group=_SITE, kind=Kind.NUMBER, unit="m",
        example="12", meaning="Height above the sea, m.",
        said=lambda job: _number(job.site.elevation_m),
    ),
    JobField(
        name="surroundings", flag="--surroundings", group=_SITE, example="suburb",
        meaning="open, suburb or dense.",
        said=lambda job: job.site.surroundings.value,
    ),
    JobField(
        name="ground", flag="--ground", group=_SITE, example="paved",
        meaning="paved, gravel or grass.",
        said=lambda job: job.site.ground.value,
    ),
    JobField(
        name="cover", flag="--cover", group=_SITE, example="open_sky",
        meaning="open-sky, shade, trees, canopy or indoors.",
        said=lambda job: job.site.cover.value,
    ),
    JobField(
        name="power", flag="--power", group=_SITE, example="socket",
        meaning="none, socket or generator.",
        said=lambda job: job.site.power.value,
    ),
    JobField(
        name="downwind", flag="--downwind", group=_SITE, kind=Kind.SEVERAL,
        example="n=neighbour's cars", meaning="What lies on a side: n=neighbour's cars.",
        said=lambda job: tuple(f"{side}={what}" for side, what in job.site.downwind.items()),
    ),
    JobField(
        name="shade_before", flag="--shade-before", group=_SITE, example="09:15",
        meaning="In a house's shade until.",
        said=lambda job: _clock(job.site.shade_before),
    ),
    JobField(
        name="shade_after", flag="--shade-after", group=_SITE, example="17:00",
        meaning="In a house's shade from.",
        said=lambda job: _clock(job.site.shade_after),
    ),
    JobField(
        name="kerb", flag="--kerb/--drive", group=_SITE, kind=Kind.YES_NO, example="no",
        meaning="Whether cars pass within a few metres.",
        said=lambda job: job.site.kerb,
    ),
    JobField(
        name="panels", flag="--panel", group=_CAR, kind=Kind.SEVERAL, needed=Needed.YES,
        example="rear_bumper:silver:plastic", meaning="part:colour[:material[:surface]].",
        said=lambda job: tuple(_panel(panel) for panel in job.panels),
    ),
    JobField(
        name="heading", flag="--heading", group=_CAR, example="ne",
        meaning="Where the nose points: degrees, or n, ne, …; left out, the worst way counts.",
        said=lambda job: _number(job.heading_deg),
    ),
    JobField(
        name="car_there_from", flag="--car-there-from", group=_CAR, example="08:00",
        meaning="The car is there from.",
        said=lambda job: _clock(job.car_there_from),
    ),
    JobField(
        name="back_by", flag="--back-by", group=_CAR, example="18:30",
        meaning="The car must be back by.",
        said=lambda job: _clock(job.back_by),
    ),
    JobField(
        name="driven_until", flag="--driven-until", group=_CAR, example="08:40",
        meaning="Driven that day until: engine heat, wet road.",
        said=lambda job: _clock(job.driven_until),
    ),
    JobField(
        name="washed_until", flag="--washed-until", group=_CAR, example="08:10",
        meaning="Washed that day until: water in every gap.",
        said=lambda job: _clock(job.washed_until),
    ),
    JobField(
        name="repair_area_m2", flag="--area", group=_CAR, kind=Kind.NUMBER, unit="m²",
        example="0.3", meaning="Area to be painted, m².",
        said=lambda job: _number(job.repair_area_m2),
    ),
    JobField(
        name="customer", flag="--customer", group=_WHO, example="A. Sample", meaning="Name.",
        said=lambda job: job.customer.name,
    ),
    JobField(
        name="phone", flag="--phone", group=_WHO, example="0555 0100", meaning="Number.",
        said=lambda job: job.customer.phone,
    ),
    JobField(
        name="email", flag="--email", group=_WHO, example="a@sample.invalid",
        meaning="Address for mail.",
        said=lambda job: job.customer.email,
    ),
    JobField(
        name="note", flag="--note", group=_WHO, example="rings twice", meaning="Anything else.",
        said=lambda job: job.customer.note,
    ),
)  # fmt: skip

# What has become of a job. Nobody types it into a form; a file brings it to another computer.
RECORD_FIELDS: tuple[JobField, ...] = (
    JobField(
        name="times_moved", flag="", group=_WHEN, kind=Kind.NUMBER, example="0",
        meaning="How often it was moved to another day.",
        said=lambda job: str(job.times_moved),
    ),
    JobField(
        name="state", flag="", group=_WHEN, example="booked",
        meaning="booked, done, spoiled or cancelled.",
        said=lambda job: job.state.value,
    ),
)  # fmt: skip


def form_of(job: Job) -> JobForm:
    """Return the form that would bring about this very job, its record aside."""
    return JobForm(**{field.name: field.said(job) for field in FORM_FIELDS})  # type: ignore[arg-type]  # each field says what its kind wants

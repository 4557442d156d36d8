"""How a job is set up, and what of it could be done otherwise with this kit and at this site.

Each change alters one input and nothing else. What the engine cannot tell apart is not here: paint
kept warm and another hardener change no number of a sheet, and a blower that is in the van already
blows in every plan.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from sprayadvisor.advice.case import Case, cases_of
from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.fits import misfits
from sprayadvisor.advice.model import WAYS_DEG, Cover, Job, Kit, Power
from sprayadvisor.advice.outlook import Times
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.reservations import too_large
from sprayadvisor.advice.sheet import Sheet

WARM_TO_C = 30.0  # metal that the lamp has warmed; a sheet may want less: common practice
SOAK_MIN = 8  # until the frame behind is warm too: common practice
UPRIGHT_DEG = 45.0  # the van throws its shadow on what leans more than this, not on a roof
Value = str | float | bool | None


class Change(StrEnum):
    """What could be done otherwise, in the order in which it is the least trouble."""

    EARLIER = "earlier start"
    LATER = "later start"
    WIPE = "wipe the dew"
    SHADE = "shade"
    WIND_BREAK = "wind break"
    TURN = "other way round"
    CANOPY = "canopy"
    WARM_FIRST = "warm the metal first"
    LAMP = "lamp instead of air-drying"
    OTHER_CLEAR = "other clear"
    HALF_AREA = "half the area"
    OTHER_DAY = "other day"


# The place is arranged otherwise, the work is the same; to compile its plan again would be idle.
SAME_PLAN = frozenset({Change.WIPE, Change.SHADE, Change.WIND_BREAK, Change.TURN})


@dataclass(frozen=True, slots=True)
class Setup:
    """A job, and all that decides how it is done.

    Attributes:
        job: the booking.
        kit: what is in the van.
        process: the stages.
        sheets: by role.
        cover: what is above the car instead of the site's own cover.
        wind_break: whether the van stands between car and wind.
        wiped: whether water is wiped off on arrival.
    """

    job: Job
    kit: Kit
    process: Process
    sheets: Mapping[str, Sheet]
    cover: Cover | None = None
    wind_break: bool = False
    wiped: bool = False

    def plan(self, policy: Policy) -> Plan:
        """Return the plan it compiles to."""
        job = self.job
        if self.cover is not None:
            job = replace(job, site=replace(job.site, cover=self.cover))
        return compile_plan(self.process, self.sheets, job, self.kit, policy)

    def cases(self, starts_utc: Times, arrives_min: int) -> list[Case]:
        """Return a case for each panel.

        Args:
            starts_utc: (step,) the members' grid.
            arrives_min: when the painter is there, minutes from the beginning of the grid.
        """
        wiped = arrives_min if self.wiped else None
        return [
            replace(case, cover=self.cover, wind_break=self.wind_break, wiped_at_min=wiped)
            for case in cases_of(self.job, starts_utc)
        ]


@dataclass(frozen=True, slots=True)
class Changed:
    """A setup with one input changed.

    Attributes:
        change: what is done otherwise.
        field: name of the input.
        before: its value as booked.
        after: its value now.
        setup: everything with that input changed.
        about: the product or stage concerned, as the painter calls it.
    """

    change: Change
    field: str
    before: Value
    after: Value
    setup: Setup
    about: str = ""


def changes(setup: Setup, stock: Sequence[Sheet], limited: str | None) -> Iterator[Changed]:
    """Yield every change that is possible with this kit, this power and at this site.

    Args:
        setup: as booked.
        stock: every sheet there is.
        limited: role of the coat whose metal may be too cold; None where no coat limits.
    """
    yield from _about_the_place(setup)
    yield from _about_the_lamp(setup, limited)
    yield from _other_clears(setup, stock)
    area = setup.job.repair_area_m2
    half = replace(setup, job=replace(setup.job, repair_area_m2=area / 2))
    yield Changed(Change.HALF_AREA, "repair_area_m2", area, area / 2, half)


def _about_the_place(setup: Setup) -> Iterator[Changed]:
    """Yield what can be done about sun, sky, wind and rain; nothing of it counts indoors."""
    site, heading = setup.job.site, setup.job.heading_deg
    if site.cover is Cover.INDOORS:
        return
    for turned in WAYS_DEG if heading is None else ((heading + 180.0) % 360.0,):
        around = replace(setup, job=replace(setup.job, heading_deg=turned))
        yield Changed(Change.TURN, "heading_deg", heading, turned, around)
    wiped = replace(setup, wiped=True)
    yield Changed(Change.WIPE, "wiped_on_arrival", before=False, after=True, setup=wiped)
    behind = replace(setup, wind_break=True)
    yield Changed(Change.WIND_BREAK, "wind_break", before=False, after=True, setup=behind)
    if site.cover is Cover.OPEN_SKY and _shade_to_be_had(setup.job):
        yield _covered(Change.SHADE, setup, Cover.SHADE)
    if setup.kit.canopy and site.cover is not Cover.CANOPY:
        yield _covered(Change.CANOPY, setup, Cover.CANOPY)


def _covered(change: Change, setup: Setup, cover: Cover) -> Changed:
    own = setup.job.site.cover.value
    return Changed(change, "site.cover", own, cover.value, replace(setup, cover=cover))


def _shade_to_be_had(job: Job) -> bool:
    """Return whether the van can shade every panel.

    The hours in which a house does are in the weather the job was judged in.
    """
    return all(panel.tilt_deg >= UPRIGHT_DEG for panel in job.panels)


def _about_the_lamp(setup: Setup, limited: str | None) -> Iterator[Changed]:
    """Yield a socket where the lamp lacks one, and warming where no coat is warmed for."""
    job, kit = setup.job, setup.kit
    if job.lamp_usable(kit):
        if limited is not None:
            yield from _warmed_first(setup, limited)
        return
    plugged = replace(job, site=replace(job.site, power=Power.SOCKET))
    if plugged.lamp_usable(kit):
        own, other = job.site.power.value, Power.SOCKET.value
        yield Changed(Change.LAMP, "site.power", own, other, replace(setup, job=plugged))


def _warmed_first(setup: Setup, role: str) -> Iterator[Changed]:
    """Yield the process with the metal warmed before the first coat of a product."""
    limit = setup.sheets[role].limits.get("panel_temp_c")
    coat = next(s for s in setup.process.stages if s.kind == "coat" and s.sheet == role)
    if limit is None or limit.inside_min is None:
        return
    warm_to = min(WARM_TO_C, WARM_TO_C if limit.inside_max is None else limit.inside_max)
    stage = Stage(
        id=f"{coat.id}-warmed",
        name=f"lamp on the metal before the {role}",
        kind="lamp",
        warm_to_c=warm_to,
        warm_below_c=min(limit.inside_min, warm_to),
        soak_min=SOAK_MIN,
    )
    at = setup.process.stages.index(coat)
    stages = (*setup.process.stages[:at], stage, *setup.process.stages[at:])
    process = setup.process.model_copy(update={"stages": stages})
    if not _usable(process, setup.sheets):
        return
    warmed = replace(setup, process=process)
    yield Changed(Change.WARM_FIRST, f"{coat.id}.warm_to_c", None, warm_to, warmed, role)


def _other_clears(setup: Setup, stock: Sequence[Sheet]) -> Iterator[Changed]:
    """Yield the process with each other clear whose numbers it can be done with."""
    for role, sheet in setup.sheets.items():
        for other in stock if sheet.kind == "clear" else ():
            if other.kind != "clear" or other.id == sheet.id or too_large(other, setup.job):
                continue
            named = setup.process.sheets | {role: other.id}
            process = setup.process.model_copy(update={"sheets": named})
            sheets = {**setup.sheets, role: other}
            if _usable(process, sheets):
                swapped = replace(setup, process=process, sheets=sheets)
                yield Changed(
                    Change.OTHER_CLEAR, f"sheets.{role}", sheet.id, other.id, swapped, other.name
                )


def _usable(process: Process, sheets: Mapping[str, Sheet]) -> bool:
    """Return whether a process with a change in it still hangs together."""
    return not misfits(process, {sheet.id: sheet for sheet in sheets.values()})

"""A case: one panel of one car in one place, and what was done to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.cover import COVER_SHARES, VAN_WIND, Shares
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.model import Cover, Job, Panel, Part, Site
from sprayadvisor.advice.outlook import Floats, Times, minute_of
from sprayadvisor.science import panel, wetness
from sprayadvisor.science.airborne import GROUND_WET_H
from sprayadvisor.science.quantities import STEP_MIN

# What the engine leaves in the sheet metal around it just after a drive, °C (trade judgement:
# 30 to 60 °C for 45 to 60 min).
DRIVEN_C = {Part.BONNET: 60.0, Part.LEFT_WING: 45.0, Part.RIGHT_WING: 45.0}
RAIN_HOUR_MM = 0.1  # the forecast's own definition of a wet hour


@dataclass(frozen=True, slots=True)
class Case:
    """One panel of one car in one place, and what was done to it.

    Minutes count from the beginning of the members' grid; what lies outside of it is forgotten.

    Attributes:
        site: where the car stands.
        panel: the part of the car.
        heading_deg: where its nose points, °.
        cover: what is above it instead of the site's own cover.
        wind_break: whether the van stands close by, between it and the wind.
        wiped_at_min: when it is wiped dry.
        washed_at_min: when the washing of the car ends: water in every gap.
        driven_at_min: when its drive ends: engine heat in bonnet and wings, the rest at air
            temperature; dew blown off, or water from a wet road all over it.
    """

    site: Site
    panel: Panel
    heading_deg: float = 0.0
    cover: Cover | None = None
    wind_break: bool = False
    wiped_at_min: int | None = None
    washed_at_min: int | None = None
    driven_at_min: int | None = None

    @property
    def covered_by(self) -> Cover:
        """What is above it."""
        return self.cover or self.site.cover

    @property
    def shares(self) -> Shares:
        """What the cover lets through, and the van if it breaks the wind."""
        shares = COVER_SHARES[self.covered_by]
        return shares._replace(wind=VAN_WIND * shares.wind) if self.wind_break else shares


def cases_of(job: Job, starts_utc: Times) -> list[Case]:
    """Return one case for each panel of a job and way its car may stand, with what was said of it.

    Args:
        job: the booking; its clock times are those of its own day.
        starts_utc: (step,) the members' grid.
    """

    def minute(clock: time | None) -> int | None:
        if clock is None:
            return None
        at: datetime = local_time(job.day, clock, job.site.zone)
        return minute_of(starts_utc, at)

    washed, driven = minute(job.washed_until), minute(job.driven_until)
    return [
        Case(job.site, shown, way, washed_at_min=washed, driven_at_min=driven)
        for way in job.ways_deg
        for shown in job.panels
    ]


def events(cases: Sequence[Case], members: Members, first_row: int = 0) -> list[panel.Event]:
    """Return what was done to the panels, driving first and wiping last.

    Args:
        cases: in the order of their rows.
        members: as many rows for each case.
        first_row: row of the first case's first member.
    """
    found: list[panel.Event] = []
    for index, case in enumerate(cases):
        first = first_row + index * len(members)
        rows = slice(first, first + len(members))
        found += _driven(case, members, first)
        if case.washed_at_min is not None:
            full = wetness.FILM_MAX_MM
            found.append(panel.Event(case.washed_at_min // STEP_MIN, rows, film_mm=full))
        if case.wiped_at_min is not None:
            found.append(panel.Event(case.wiped_at_min // STEP_MIN, rows, film_mm=0.0))
    return found


def _driven(case: Case, members: Members, first_row: int) -> list[panel.Event]:
    """Return what a drive does to a panel; where the air is not known nothing is said to change."""
    step = _on_grid(case.driven_at_min, members)
    if step is None:
        return []
    air_c = members["air_temp_c"][:, step]
    known = np.flatnonzero(np.isfinite(air_c))
    hot = np.maximum(air_c, DRIVEN_C.get(case.panel.part, -np.inf))[known]
    film = np.where(_road_wet(members)[:, step], wetness.FILM_MAX_MM, 0.0)[known]
    return [panel.Event(step, first_row + known, hot, hot, film)]


def _on_grid(minute: int | None, members: Members) -> int | None:
    """Return the step of a minute, None where there is none."""
    if minute is None or not 0 <= minute // STEP_MIN < len(members.starts_utc):
        return None
    return minute // STEP_MIN


def _road_wet(members: Members) -> NDArray[np.bool_]:
    """Return (member, step) whether roads may still be wet; what is not known may be rain."""
    maybe = ~(members.wet_hour_mm <= RAIN_HOUR_MM)
    return wetness.hours_since(maybe) < GROUND_WET_H


def hours_since_soaked(case: Case, members: Members) -> Floats:
    """Return (member, step) hours since the car came wet from a wash or a wet road, else infinite.

    Args:
        case: what was done.
        members: the grid, and the rain.
    """
    soaked = np.zeros_like(members.wet_hour_mm, dtype=np.bool_)
    washed, driven = (
        _on_grid(minute, members) for minute in (case.washed_at_min, case.driven_at_min)
    )
    if washed is not None:
        soaked[:, washed] = True
    if driven is not None:
        soaked[:, driven] |= _road_wet(members)[:, driven]
    return wetness.hours_since(soaked)

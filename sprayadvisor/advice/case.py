"""A case: one panel of one car in one place, and what was done to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sprayadvisor.advice.cover import COVER_SHARES, Shares
from sprayadvisor.advice.model import Cover, Panel, Part, Site
from sprayadvisor.science import panel, wetness
from sprayadvisor.science.quantities import STEP_MIN

# What the engine leaves in the sheet metal around it just after a drive, °C (trade judgement:
# 30 to 60 °C for 45 to 60 min).
DRIVEN_C = {Part.BONNET: 60.0, Part.LEFT_WING: 45.0, Part.RIGHT_WING: 45.0}


@dataclass(frozen=True, slots=True)
class Case:
    """One panel of one car in one place, and what was done to it.

    Minutes count from the beginning of the members' grid and may lie before it.

    Attributes:
        site: where the car stands.
        panel: the part of the car.
        heading_deg: where its nose points, °.
        cover: what is above it instead of the site's own cover.
        wiped_at_min: when it is wiped dry.
        washed_at_min: when the car was last washed: water in every gap.
        driven_at_min: when the car was last driven: engine heat in bonnet and wings.
    """

    site: Site
    panel: Panel
    heading_deg: float = 0.0
    cover: Cover | None = None
    wiped_at_min: int | None = None
    washed_at_min: int | None = None
    driven_at_min: int | None = None

    @property
    def covered_by(self) -> Cover:
        """What is above it."""
        return self.cover or self.site.cover

    @property
    def shares(self) -> Shares:
        """What the cover lets through."""
        return COVER_SHARES[self.covered_by]


def events(cases: Sequence[Case], n_members: int) -> list[panel.Event]:
    """Return what was done to the panels, driving first and wiping last."""
    found = []
    for index, case in enumerate(cases):
        rows = slice(index * n_members, (index + 1) * n_members)
        hot = DRIVEN_C.get(case.panel.part)
        if case.driven_at_min is not None and hot is not None:
            found.append(panel.Event(case.driven_at_min // STEP_MIN, rows, hot, hot))
        if case.washed_at_min is not None:
            full = wetness.FILM_MAX_MM
            found.append(panel.Event(case.washed_at_min // STEP_MIN, rows, film_mm=full))
        if case.wiped_at_min is not None:
            found.append(panel.Event(case.wiped_at_min // STEP_MIN, rows, film_mm=0.0))
    return found

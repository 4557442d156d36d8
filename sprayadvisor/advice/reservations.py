"""What is known before any weather is looked at, and keeps a job from ever being a plain *go*.

Each of them a painter can lift: bring power, spray less, take another clear. So the weather is
judged all the same, and the word is *care* at most.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sprayadvisor.advice.model import Job, Kit
from sprayadvisor.advice.power import can_spray
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.sheet import Sheet

NO_AIR = "the compressor cannot run there, so nothing can be sprayed: bring other power"


def reservations(
    process: Process, sheets: Mapping[str, Sheet], job: Job, kit: Kit
) -> Iterator[tuple[str, str]]:
    """Yield the roles concerned and what stands against them, in words.

    Args:
        process: what is sprayed.
        sheets: by role.
        job: its power and its area.
        kit: what the compressor draws.

    Yields:
        role and reason; an empty role stands for everything that is sprayed.
    """
    if not can_spray(process, job, kit):
        yield "", NO_AIR
    for role, sheet in sheets.items():
        if too_large(sheet, job):
            yield role, f"“{sheet.name}” is meant for {_area(sheet, job)}"


def too_large(sheet: Sheet, job: Job) -> bool:
    """Return whether a repair is larger than a product is meant for."""
    most = sheet.coats.most_area_m2
    return most is not None and job.repair_area_m2 > most


def _area(sheet: Sheet, job: Job) -> str:
    return f"{sheet.coats.most_area_m2:g} m² at most, this repair has {job.repair_area_m2:g} m²"

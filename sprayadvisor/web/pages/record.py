"""The record of a job: shown, chosen, kept, printed."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Annotated

from fastapi import APIRouter, Form, Response

from sprayadvisor.advice.record import Part
from sprayadvisor.errors import InputError
from sprayadvisor.render.told_record import tell_record
from sprayadvisor.render.words import listed, panel_words
from sprayadvisor.web.desk import Desk, JobLink, Page, Wanted

router = APIRouter()
PAGE = Page(job_links=(JobLink("Record", "/job/{ref}/record", 70, ended=True),))
PARTS = (
    (Part.TIMES, "When each coat began"),
    (Part.CONDITIONS, "What it met: metal, air, humidity, wind"),
    (Part.PRODUCTS, "Products and their sheets"),
    (Part.ADVICE, "What was advised"),
)


@router.get("/job/{ref}/record")
def show(desk: Wanted, ref: str) -> Response:
    """Show what is kept, or what could be."""
    return _page(desk, ref, {})


@router.post("/job/{ref}/record")
def keep(
    desk: Wanted,
    ref: str,
    part: Annotated[list[str] | None, Form()] = None,
    reason: Annotated[str, Form()] = "",
) -> Response:
    """Keep what was ticked."""
    parts = [one for one in Part if one.value in (part or [])]
    try:
        desk.services.records.keep(ref, parts, reason)
    except InputError as error:
        return _page(desk, ref, {"reason": _in_words(error)}, reason, parts)
    return desk.go(f"/job/{ref}/record", "The record is kept as you ticked it.")


@router.post("/job/{ref}/record/forget")
def forget(desk: Wanted, ref: str) -> Response:
    """Keep nothing of this job any more."""
    desk.services.records.forget(ref)
    return desk.go(f"/job/{ref}/record", "Nothing is kept of this job any more.")


def _in_words(error: InputError) -> str:
    """Return a refusal in the words of the form."""
    return re.sub("^reason", "My reason", str(error))


def _page(
    desk: Desk,
    ref: str,
    errors: dict[str, str],
    reason: str | None = None,
    ticked: Collection[Part] | None = None,
) -> Response:
    """Return the page of a record, with what was typed and ticked if that could not be kept."""
    services = desk.services
    job, record = services.bookings.get(ref), services.records.of(ref)
    process = services.catalogue.processes.get(job.process)
    name = process.name if process else job.process
    coats, advice = tell_record(record, job.site.zone, services.display)
    show = desk.lead_to if errors else desk.show
    return show(
        "record/record.html.j2",
        422 if errors else 200,
        job=job,
        record=record,
        coats=coats,
        what=f"{name}: {listed([panel_words(panel) for panel in job.panels])}",
        advice=advice,
        reason=record.reason if reason is None else reason,
        parts=PARTS,
        ticked=record.parts if ticked is None else ticked,
        errors=errors,
        business=services.settings.business,
    )

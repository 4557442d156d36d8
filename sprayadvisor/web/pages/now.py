"""The check at the car: does the weather fit for the next stage now?"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Form, Response
from fastapi.responses import RedirectResponse

from sprayadvisor.advice.downwind import SIDES
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.onsite import Asked, OnSiteAnswer
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.render.words import LABELS, clock
from sprayadvisor.services.onsite import Next
from sprayadvisor.web.desk import Desk, JobLink, Nav, Page, Wanted
from sprayadvisor.web.now_form import (
    COVERS,
    FRESH,
    MISTS,
    STRIPES,
    TEMP_UNITS,
    WIND_UNITS,
    WINDS,
    NowFields,
    at_fields,
    fault_at,
    read_before,
)

router = APIRouter()
PAGE = Page(
    nav=Nav("Now", "/now", 20),
    job_links=(JobLink("Now", "/now/{ref}", 10, loud=True, of_the_day=True),),
)


@router.get("/now")
def pick(desk: Wanted) -> Response:
    """Ask which car it is; with one job today there is nothing to ask."""
    services = desk.services
    today = services.board.today()
    jobs = services.bookings.list(today, today)
    if len(jobs) == 1:
        return RedirectResponse(f"/now/{jobs[0].ref}", 303)
    return desk.show("now/pick.html.j2", jobs=jobs)


@router.get("/now/{ref}")
def ask(desk: Wanted, ref: str) -> Response:
    """Show the form for one job."""
    return desk.show("now/now.html.j2", **_form(desk, _job(desk, ref), NowFields(), {}))


@router.post("/now/{ref}")
def answer(desk: Wanted, ref: str, form: Annotated[NowFields, Form()]) -> Response:
    """Answer on a page of its own, and keep what was read."""
    services, job = desk.services, _job(desk, ref)
    onsite = services.onsite
    try:
        asked = onsite.asked(ref, form.as_form())
        again = {} if form.at.strip() else read_before(asked, onsite.kept(ref), services.now(), job)
        if again:
            return _typed_again(desk, job, form, again, may_insist=True)
        found = onsite.ask(ref, asked)
    except InputError as error:
        parts = [panel.part.value for panel in job.panels]
        return _typed_again(desk, job, form, fault_at(str(error), form, parts))
    return desk.lead_to("now/now.html.j2", **_answered(desk, job, form, asked, found))


@router.post("/now/{ref}/begin")
def begin(
    desk: Wanted,
    ref: str,
    stage: Annotated[str, Form()] = "",
    once: Annotated[str, Form()] = "",
) -> Response:
    """Note once that a stage begins now, and go on."""
    names = {one.id: one.name for one in desk.services.onsite.stages(ref)}

    def act() -> str:
        desk.services.progress.at(ref, stage, by="page")
        return f"/now/{ref}"

    return desk.once(once, act, f"Noted: “{names.get(stage, stage)}” begins now.")


@router.post("/now/{ref}/strike")
def strike(desk: Wanted, ref: str, number: Annotated[int, Form()] = 0) -> Response:
    """Strike out a reading that was wrong; it stays in sight and counts no more."""
    struck = desk.services.onsite.strike(ref, number)
    said = "Struck out: it is not on the record." if struck else "Nothing was left to strike out."
    return desk.go(f"/now/{ref}", said)


def _job(desk: Desk, ref: str) -> Job:
    """Return a booked job.

    Raises:
        BookingError: there is none of this reference, or it is over.
    """
    job = desk.services.bookings.get(ref)
    if job.day != desk.services.board.today():
        raise BookingError(
            f"Job {ref} is on {job.day:%A} {job.day}; what is read at the car counts on its day."
        )
    return desk.services.bookings.booked(ref)


def _typed_again(
    desk: Desk, job: Job, form: NowFields, errors: dict[str, str], *, may_insist: bool = False
) -> Response:
    """Return the form with what was typed and what is wrong with it; nothing was judged."""
    values = _form(desk, job, form, errors)
    return desk.lead_to("now/now.html.j2", 422, **values | {"may_insist": may_insist})


def _answered(
    desk: Desk, job: Job, form: NowFields, asked: Asked, found: OnSiteAnswer
) -> dict[str, Any]:
    """Return what the page of an answer shows."""
    may_insist = any(doubt.may_insist for doubt in found.doubts)
    stage = form.next.strip().lower() or desk.services.onsite.next_of(job.ref)
    again = form if found.doubts else form.asked_next(stage)
    values = _form(desk, job, again.model_copy(update={"sure": ""}), at_fields(found.doubts))
    name = next((one.name for one in values["stages"] if one.id == stage), found.stage_name)
    told = desk.services.onsite.told(found)
    return values | {
        "told": told,
        "may_insist": may_insist,
        "answered_at": found.made_at,
        "notes": _notes(form, asked, found, job),
        # One ticket for this answer, however often it is gone back to.
        "begins": {"id": stage, "name": name, "once": secrets.token_urlsafe(12)},
        # A go that waits for the coat before is none to begin by yet.
        "advised": found.word in (Word.GO, Word.CARE) and told.label.endswith(LABELS[found.word]),
        "ask_matt": _ask_matt(values["stages"], stage, found),
    }


def _notes(form: NowFields, asked: Asked, found: OnSiteAnswer, job: Job) -> list[str]:
    """Return what was used of what was sent, and what of an earlier question."""
    since = found.asked.matt_at
    notes = list(form.not_used())
    if since and asked.matt_at is None:
        at = clock(since, job.site.zone)
        notes.append(f"Matt all over since {at}, as you said before.")
    return notes


def _ask_matt(stages: Sequence[Next], stage: str, found: OnSiteAnswer) -> bool:
    """Return whether a coat is to cover another of which nobody said that it is matt."""
    before = [one for one in stages if not one.beside or one.id == stage]
    at = [one.id for one in before].index(stage)
    open_ = found.word in (Word.GO, Word.CARE) and not found.doubts
    unknown = found.flash_off is None and found.asked.matt_at is None
    covers = at > 0 and before[at].kind == "coat" and before[at - 1].kind in ("coat", "flash")
    return open_ and unknown and covers


def _form(desk: Desk, job: Job, typed: NowFields, errors: dict[str, str]) -> dict[str, Any]:
    """Return what the form shows, before any answer."""
    onsite = desk.services.onsite
    stages = onsite.stages(job.ref)
    kept = sorted(onsite.kept(job.ref), key=lambda one: one.reading.taken_at, reverse=True)
    return {
        "job": job,
        "typed": typed,
        "errors": errors,
        "stages": stages,
        "stage_names": {one.id: one.name for one in stages},
        "next": typed.next or _usual_next(stages, onsite.next_of(job.ref)),
        "parts": [panel.part for panel in job.panels],
        "winds": WINDS,
        "mists": MISTS,
        "stripes": STRIPES,
        "covers": COVERS,
        "temp_units": TEMP_UNITS,
        "wind_units": WIND_UNITS,
        "sides": {side: name for side, (name, _) in SIDES.items()},
        "lamp_usable": job.lamp_usable(desk.services.kit),
        "kept": kept,
        "display": desk.services.display,
        "told": None,
        "may_insist": False,
        "fresh_min": FRESH.total_seconds() / 60,
    }


def _usual_next(stages: Sequence[Next], begun: str) -> str:
    """Return the stage that is asked about next.

    The first coat after the stage that was begun; the very next stage where none is left.
    """
    ids = [stage.id for stage in stages]
    after = ids.index(begun) + 1 if begun in ids else 0
    left = [stage for stage in stages[after:] if not stage.beside]
    return next((stage.id for stage in left if stage.wet), left[0].id if left else begun)

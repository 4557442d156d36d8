"""How a job goes on: the stage it is at, done, spoiled, cancelled. Each asks before it acts."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter, Response

from sprayadvisor.advice.model import Job
from sprayadvisor.errors import InputError
from sprayadvisor.web.booking_form import mark_of
from sprayadvisor.web.desk import Desk, JobLink, Page, Wanted
from sprayadvisor.web.pages.bookings import BY
from sprayadvisor.web.sent import Sent, Typed

router = APIRouter()
PAGE = Page(
    job_links=(
        JobLink("How it goes", "/job/{ref}/goes", 40),
        JobLink("Call the job off", "/job/{ref}/cancel", 60),
    )
)
_CHANGED = (
    "Job {ref} was changed in another place while this page was open, so it was not cancelled. "
    "Look at it as it is now, and press the button again if it shall be."
)
_UNTICKED = "Nothing was noted yet: tick that the work is finished, then press the button."


@router.get("/job/{ref}/goes")
def ask(desk: Wanted, ref: str) -> Response:
    """Ask how the job goes."""
    return _goes(desk, desk.services.bookings.booked(ref))


@router.post("/job/{ref}/at")
def at(desk: Wanted, ref: str, sent: Typed) -> Response:
    """Note that a stage begins."""
    return _note(
        desk, ref, sent, "stage", lambda: desk.services.progress.at(ref, sent.one("stage"), by=BY)
    )


@router.post("/job/{ref}/done")
def done(desk: Wanted, ref: str, sent: Typed) -> Response:
    """Note that a job is done; a tap of a glove alone is not enough, as it cannot be taken back."""

    def end() -> None:
        if not sent.one("finished"):
            raise InputError(_UNTICKED)
        desk.services.progress.done(ref, by=BY)

    return _note(desk, ref, sent, "finished", end)


@router.post("/job/{ref}/spoiled")
def spoiled(desk: Wanted, ref: str, sent: Typed) -> Response:
    """Note that a job was spoiled, and why."""
    return _note(
        desk, ref, sent, "why", lambda: desk.services.progress.spoiled(ref, sent.one("why"), by=BY)
    )


@router.get("/job/{ref}/cancel")
def ask_cancel(desk: Wanted, ref: str) -> Response:
    """Ask whether the job shall be cancelled."""
    return _sure(desk, desk.services.bookings.booked(ref))


@router.post("/job/{ref}/cancel")
def cancel(desk: Wanted, ref: str, sent: Typed) -> Response:
    """Cancel a job, unless it was changed since the question was put."""
    known = desk.services.bookings
    if desk.house.once.known(sent.one("once")):
        return desk.go("/bookings")
    job = known.booked(ref)
    if sent.one("was") != mark_of(job):
        return _sure(desk, job, sent, {"all": _CHANGED.format(ref=ref)}, 409)

    def act() -> str:
        known.cancel(ref, sent.one("why"), by=BY)
        return "/bookings"

    try:
        return desk.once(sent.one("once"), act, said=f"Job {ref} is cancelled.")
    except InputError as error:
        return _sure(desk, job, sent, {"why": str(error)}, 422)


def _note(desk: Desk, ref: str, sent: Sent, field: str, act: Callable[[], object]) -> Response:
    """Do it once and go back to the job; what is wrong is told at its field."""

    def acting() -> str:
        act()
        return f"/job/{ref}"

    try:
        return desk.once(sent.one("once"), acting, said="Noted.")
    except InputError as error:
        return _goes(desk, desk.services.bookings.booked(ref), sent, {field: str(error)}, 422)


def _goes(
    desk: Desk,
    job: Job,
    sent: Sent | None = None,
    errors: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    services = desk.services
    process = services.catalogue.processes.get(job.process)
    said = services.progress.report(job)
    show = desk.lead_to if sent else desk.show
    return show(
        "bookings/goes.html.j2",
        status,
        job=job,
        begun=job.day <= services.bookings.today(job.site),
        stages=process.stages if process else (),
        at=sent.one("stage") if sent else said.ids[0] if said else "",
        why=sent.one("why") if sent else "",
        errors=errors or {},
    )


def _sure(
    desk: Desk,
    job: Job,
    sent: Sent | None = None,
    errors: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    show = desk.lead_to if sent else desk.show
    return show(
        "bookings/cancel.html.j2",
        status,
        job=job,
        why=sent.one("why") if sent else "",
        errors=errors or {},
        was=mark_of(job),
    )

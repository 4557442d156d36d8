"""The bookings: the list, taking a new one, changing one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Any

from fastapi import APIRouter, Response

from sprayadvisor.advice.model import Job, JobState
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.services.ports import JobForm
from sprayadvisor.services.ports.places import CREDIT
from sprayadvisor.web.booking_form import (
    differing,
    fault_of,
    job_form,
    mark_of,
    missing,
    new_values,
    sent_values,
    stored_values,
)
from sprayadvisor.web.booking_widgets import PANEL_OPTIONS, SIDE_OPTIONS, widgets
from sprayadvisor.web.desk import Desk, JobLink, Nav, Page, Wanted
from sprayadvisor.web.place_field import Choice, locate
from sprayadvisor.web.sent import Sent, Typed, new_ticket, ticket

router = APIRouter()
PAGE = Page(
    nav=Nav("Bookings", "/bookings", 30),
    job_links=(JobLink("Change", "/job/{ref}/change", 30),),
)
BY = "page"
_BACK = timedelta(days=60)
_AGAIN = (
    "This form was opened too long ago to know whether it was sent before, so nothing was "
    "recorded. Look into the list of bookings; if the job is not there, send it again."
)
_MEANWHILE = (
    "Job {ref} was changed in another place while this form was open, so nothing was recorded. "
    "If what stands here shall count, send it again."
)
_TWIN = (
    "Job {ref} is booked just like this already, so nothing was recorded. For a second car of the "
    "same kind give a reference of your own, or write into the note what tells the two apart."
)


@router.get("/bookings")
def bookings(desk: Wanted, all: str = "") -> Response:  # noqa: A002 - the name in the address
    """List what still wants a word, what is to come, and what is over."""
    known, today = desk.services.bookings, desk.services.board.today()
    first = None if all else today - _BACK
    jobs = known.list(first, everything=True)
    booked = [job for job in jobs if job.state is JobState.BOOKED]
    over = [job for job in jobs if job.state is not JobState.BOOKED]
    return desk.show(
        "bookings/list.html.j2",
        open_jobs=[job for job in booked if job.day < known.today(job.site)],
        coming=[job for job in booked if job.day >= known.today(job.site)],
        past=over[::-1],
        everything=bool(all),
        back_days=_BACK.days,
    )


@router.get("/bookings/new")
def ask(desk: Wanted) -> Response:
    """Show an empty form."""
    values, rows = new_values()
    return _form(desk, None, values=values, rows=rows)


@router.post("/bookings/new")
def add(desk: Wanted, sent: Typed) -> Response:
    """Take a new job."""

    def keep(form: JobForm) -> Job:
        # Gone back to, a form that was sent comes with its texts and a new ticket.
        twin = None if form.ref else desk.services.bookings.twin(form)
        if twin:
            raise BookingError(_TWIN.format(ref=twin.ref))
        return desk.services.bookings.add(form, by=BY)

    return _save(desk, sent, None, keep, "Booked.")


@router.get("/job/{ref}/change")
def ask_change(desk: Wanted, ref: str, day: str = "", arrive: str = "") -> Response:
    """Show the form of a job that is booked, filled in with a slot that was agreed if there is one.

    Nothing is changed by that: it is for the button below the form to do so.
    """
    job = desk.services.bookings.booked(ref)
    values, rows = stored_values(job)
    slot = {name: text[:40] for name, text in (("day", day), ("arrive", arrive)) if text}
    return _form(desk, job, values=values | slot, rows=rows, filled=bool(slot))


@router.post("/job/{ref}/change")
def change(desk: Wanted, ref: str, sent: Typed) -> Response:
    """Change a job, unless somebody else did while the form was open."""
    known = desk.services.bookings
    done = desk.house.once.known(ticket(desk.services.signer, sent))
    if done:
        return desk.go(done, "Changed.")
    job = known.booked(ref)
    if sent.one("was") != mark_of(job):
        told = {"all": _MEANWHILE.format(ref=ref)}
        return _form(desk, job, sent, told, 409, differs=differing(sent, job))

    def keep(form: JobForm) -> Job:
        return known.change(ref, form, by=BY, was=job)

    return _save(desk, sent, job, keep, "Changed.")


def _save(
    desk: Desk, sent: Sent, was: Job | None, keep: Callable[[JobForm], Job], said: str
) -> Response:
    """Keep what was typed, once, or show it again with what is wrong."""
    once = ticket(desk.services.signer, sent)
    if once and (done := desk.house.once.known(once)):
        return desk.go(done, said)
    located = locate(desk.services, sent, job_form(sent, was), was)
    errors = missing(sent) | dict(located.errors)
    if not sent.one("site").strip() and (located.form.site or located.choices):
        errors.pop("site", None)  # a town that is chosen lends its name
    if errors or located.choices:
        return _form(desk, was, sent, errors, 422 if errors else 200, located.choices)
    if not once:
        return _form(desk, was, sent, {"all": _AGAIN}, 409)
    try:
        return desk.once(once, lambda: f"/job/{keep(located.form).ref}", said)
    except InputError as error:
        return _form(desk, was, sent, fault_of(error), 422)
    except BookingError as error:
        return _form(desk, was, sent, {"all": str(error)}, 409)


def _form(
    desk: Desk,
    job: Job | None,
    sent: Sent | None = None,
    errors: dict[str, str] | None = None,
    status: int = 200,
    choices: tuple[Choice, ...] = (),
    *,
    differs: Sequence[str] = (),
    filled: bool = False,
    **shown: Any,  # noqa: ANN401 - values and rows, where nothing was sent
) -> Response:
    """Return the form with what was typed, or with what ``shown`` says."""
    services = desk.services
    values, rows = sent_values(sent) if sent else (shown["values"], shown["rows"])
    processes = services.catalogue.processes
    names = {name: processes[name].name for name in sorted(processes)}
    if job and job.process not in names:
        names[job.process] = f"{job.process} (not usable)"
    fields = widgets(values, names, adding=job is None)
    faults = errors or {}
    # What came of a form can be gone back to.
    show = desk.lead_to if sent else desk.show
    return show(
        "bookings/form.html.j2",
        status,
        job=job,
        differs=differs,
        filled=filled,
        fields=fields,
        values=values,
        rows=rows,
        errors=faults,
        choices=choices,
        picked=sent.one("picked") if sent and sent.one("picked_for") == values.get("place") else "",
        stored=[site.name for site in services.bookings.sites()],
        panel_words=PANEL_OPTIONS,
        sides=SIDE_OPTIONS,
        credit=CREDIT,
        once=new_ticket(services.signer) if not sent else _kept_ticket(desk, sent),
        was=mark_of(job) if job else "",
        open_folds=bool({f.name for f in fields if f.folded} & set(faults)) or "downwind" in faults,
    )


def _kept_ticket(desk: Desk, sent: Sent) -> str:
    """Return the ticket the form had: the same form sent from two tabs is one form."""
    signer = desk.services.signer
    return sent.one("once") if ticket(signer, sent) else new_ticket(signer)

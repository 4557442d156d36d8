"""What a link in a mail opens: one day or one job, for reading only, without whom it is for."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, Response

from sprayadvisor.services.links import Opens
from sprayadvisor.web.desk import Desk, Wanted
from sprayadvisor.web.pages.job import job_values
from sprayadvisor.web.pages.today import RELOAD_S, RENEW_S
from sprayadvisor.web.view import cautions_of, day_view

router = APIRouter()
_TOO_OLD = (
    "This link is too old, was cut short, or has been ended. Take the newest mail, or open the "
    "page itself and log in."
)


@router.get("/v/{token}")
def opened(desk: Wanted, token: str) -> Response:
    """Show what a link opens."""
    opens = desk.services.links.read(token)
    if opens is None:
        raise HTTPException(410, _TOO_OLD)
    return _job(desk, opens) if opens.ref else _day(desk, opens)


def _day(desk: Desk, opens: Opens) -> Response:
    services = desk.services
    jobs = services.bookings.list(opens.day, opens.day)
    view = day_view(services, opens.day, jobs, nameless=True)
    too_far = not services.board.covers(opens.day)
    ready = (view.shown and view.current) or services.board.problem
    return desk.show(
        "day.html.j2",
        view=view,
        cautions=cautions_of([view]),
        now=services.now(),
        zone=services.settings.zone.key,
        problem=services.board.problem,
        over=opens.day < services.board.today(),
        too_far=too_far,
        refresh_s=None if ready or too_far else RELOAD_S,
        renew_s=RENEW_S,
        read_only=True,
    )


def _job(desk: Desk, opens: Opens) -> Response:
    booked = desk.services.bookings.get(opens.ref)
    if booked.day != opens.day:
        raise HTTPException(410, f"Job {opens.ref} was moved to another day. Take the newest mail.")
    values = job_values(desk, booked, nameless=True) | {"read_only": True}
    return desk.show("job.html.j2", history=(), job_links=(), **values)

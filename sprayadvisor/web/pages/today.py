"""Today, tomorrow and the coming days."""

from __future__ import annotations

from datetime import timedelta

from fastapi import APIRouter, Response

from sprayadvisor.web.desk import Nav, Page, Wanted
from sprayadvisor.web.view import cautions_of, coming, day_view

router = APIRouter()
PAGE = Page(nav=Nav("Today", "/", 10))
RELOAD_S = 4  # while something is being worked out
RENEW_S = 15 * 60  # of a phone without scripts, which cannot say that a page has grown old


@router.get("/")
def today(desk: Wanted) -> Response:
    """Show the jobs of today, then tomorrow, then the coming days in words."""
    services = desk.services
    day, jobs = coming(services)
    tomorrow = day + timedelta(days=1)
    later = sorted({job.day for job in jobs if job.day > tomorrow})
    views = [day_view(services, one, jobs) for one in (day, tomorrow, *later)]
    ready = all(view.shown and view.current for view in views) or services.board.problem
    response = desk.show(
        "today.html.j2",
        today=views[0],
        tomorrow=views[1],
        later=views[2:],
        cautions=cautions_of(views),
        now=services.now(),
        zone=services.settings.zone.key,
        business=services.settings.business,
        problem=services.board.problem,
        refresh_s=None if ready else RELOAD_S,
        renew_s=RENEW_S,
    )
    if views[0].shown and views[0].current:
        # The phone keeps this one page, and shows it with its age when there is no connection.
        response.headers["X-Keep"] = "brief"
    return response

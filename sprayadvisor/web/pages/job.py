"""One job: verdict, best play with its checks, chart, what would change it, history."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response

from sprayadvisor.advice.model import Job, JobState
from sprayadvisor.render.chart_svg import drawing
from sprayadvisor.render.told_first_night import AFTERCARE
from sprayadvisor.render.words import number_to_ring
from sprayadvisor.web.desk import Desk, Wanted
from sprayadvisor.web.pages.today import RELOAD_S, RENEW_S
from sprayadvisor.web.view import agreed_slots, cautions_of, day_view, entry_of, job_card

router = APIRouter()


@router.get("/job/{ref}")
def job(desk: Wanted, ref: str) -> Response:
    """Show one job, whatever became of it."""
    services = desk.services
    booked = services.bookings.get(ref)
    today = booked.day == services.board.today()
    over = booked.state is not JobState.BOOKED
    return desk.show(
        "job.html.j2",
        history=services.history.of(booked),
        job_links=[
            link
            for link in desk.house.job_links
            if (link.ended or not over) and (today or not link.of_the_day)
        ],
        **job_values(desk, booked),
    )


def job_values(desk: Desk, booked: Job, *, nameless: bool = False) -> dict[str, Any]:
    """Return what the page of a job shows of the advice.

    Args:
        desk: of the request.
        booked: the job as it is booked now.
        nameless: leave out whom it is for.
    """
    services = desk.services
    view = day_view(services, booked.day, [booked], nameless=nameless)
    open_ = booked.state is JobState.BOOKED
    shown = view.shown if open_ else None
    entry = entry_of(booked, shown)
    chart = entry.chart if entry else None
    waits = open_ and entry is None and services.board.covers(booked.day)
    return {
        "job": booked,
        "aftercare": AFTERCARE,
        "card": job_card(booked, shown),
        "view": view,
        "play": shown.plays.get(booked.ref) if entry and shown else None,
        "drawing": drawing(chart, services.display) if chart else None,
        "cautions": cautions_of([view]),
        "zone": services.settings.zone.key,
        "now": services.now(),
        "too_far": open_ and not services.board.covers(booked.day),
        "agreed": () if nameless else agreed_slots(booked, shown),
        "ring": "" if nameless else number_to_ring(booked.customer.phone),
        "problem": services.board.problem,
        "refresh_s": RELOAD_S if waits and not services.board.problem else None,
        "renew_s": RENEW_S if entry else None,
    }

"""What machines ask for: whether all is well, and the files that a phone keeps."""

from __future__ import annotations

import logging

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from sprayadvisor.errors import StoreError
from sprayadvisor.web.desk import Wanted

log = logging.getLogger(__name__)

router = APIRouter()


@router.get("/healthz")
def alive(desk: Wanted) -> Response:
    """Tell whether the clock ticks; nothing else, for anybody may ask."""
    health = desk.services.health
    return _told(well=health.state.alive(desk.services.now()))


@router.get("/readyz")
def ready(desk: Wanted) -> Response:
    """Tell whether the page can be used: its database answers."""
    today = desk.services.board.today()
    try:
        desk.services.bookings.list(today, today)
    except StoreError as error:
        log.error("Not ready. %s", error)  # noqa: TRY400 - the sentence says it all
        return _told(well=False)
    return _told(well=True)


def _told(*, well: bool) -> Response:
    words = "ok" if well else "not well; see the log"
    return JSONResponse({"status": words}, 200 if well else 503)


@router.get("/static/{hashed}")
def static(desk: Wanted, request: Request, hashed: str) -> Response:
    """Return a file by the name that holds its hash."""
    return desk.house.statics.hashed(request, hashed)


@router.get("/sw.js")
def service_worker(desk: Wanted, request: Request) -> Response:
    """Return the script that keeps the last brief for a phone without a connection."""
    return desk.house.statics.named(request, "sw.js")


@router.get("/manifest.webmanifest")
def manifest(desk: Wanted, request: Request) -> Response:
    """Return what a home screen wants to know."""
    return desk.house.statics.named(request, "manifest.webmanifest")


@router.get("/favicon.ico")
def icon(desk: Wanted, request: Request) -> Response:
    """Return the icon for browsers that ask for it by its old name."""
    return desk.house.statics.named(request, "icon-192.png")

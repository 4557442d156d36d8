"""What came of something sent, shown again; nothing is judged or changed by it."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, Response

from sprayadvisor.web.desk import Wanted

router = APIRouter()
_GONE = (
    "What stood here was an answer or a form of earlier, and it is kept no more. Nothing was "
    "changed; open the job or the bookings and go on from there."
)


@router.get("/shown/{token}")
def shown(desk: Wanted, token: str) -> Response:
    """Show a kept page with its age."""
    page = desk.house.kept.of(token, desk.services.now())
    if page is None:
        raise HTTPException(410, _GONE)
    return desk.show_again(page)

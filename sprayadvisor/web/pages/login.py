"""Logging in and out."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import APIRouter, Form, Response

from sprayadvisor.web.desk import Desk, Wanted

router = APIRouter()
# A path of this page and nothing that a browser could read as another host.
_OWN_PATH = re.compile(r"/(?![/\\])[A-Za-z0-9_.~%/-]*")
_HOME = "/"


@router.get("/login")
def ask(desk: Wanted, next: str = _HOME) -> Response:  # noqa: A002 - the name in the address
    """Ask for the passphrase."""
    if desk.is_in:
        return desk.go(_own(next))
    return _ask(desk, next)


@router.post("/login")
def log_in(
    desk: Wanted,
    passphrase: Annotated[str, Form()] = "",
    next: Annotated[str, Form()] = _HOME,  # noqa: A002 - the name of the field
) -> Response:
    """Let in whoever knows the passphrase."""
    client = desk.request.client
    address = client.host if client else ""
    wait_s = desk.house.limiter.wait_s(address)
    if wait_s:
        minutes = -(-wait_s // 60)
        why = f"Too many wrong tries. Wait {minutes} min and try again; who is in stays in."
        response = _ask(desk, next, why, 429)
        response.headers["Retry-After"] = str(wait_s)
        return response
    if not desk.house.access.opens(passphrase):
        return _ask(desk, next, "That is not the passphrase. Look at it and type it again.", 401)
    desk.house.limiter.forgive(address)
    response = desk.go(_own(next))
    desk.house.access.log_in(response)
    return response


@router.post("/logout")
def log_out(desk: Wanted) -> Response:
    """Forget the login on this phone, and what it kept."""
    response = desk.go("/login" if desk.house.access.needed else _HOME)
    desk.house.access.log_out(response)
    return response


def _ask(desk: Desk, path: str, problem: str = "", status: int = 200) -> Response:
    return desk.show("login.html.j2", status, next=_own(path), problem=problem)


def _own(path: str) -> str:
    """Return a path if it is one of this page, else its beginning."""
    return path if _OWN_PATH.fullmatch(path) and path != "/login" else _HOME

"""What is shown when something cannot be done: a sentence, a way on, and what was typed."""

from __future__ import annotations

import logging
from urllib.parse import parse_qsl

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import PlainTextResponse
from starlette.exceptions import HTTPException

from sprayadvisor.advice.model import Job
from sprayadvisor.errors import (
    BookingError,
    InputError,
    SprayadvisorError,
    StoreError,
    WeatherError,
)
from sprayadvisor.web.desk import desk
from sprayadvisor.web.field_words import in_words
from sprayadvisor.web.sent import MOST_FIELDS

log = logging.getLogger(__name__)

_TITLES = {
    400: "That cannot be read",
    401: "Log in first",
    403: "That is refused",
    404: "There is nothing here",
    405: "That cannot be done here",
    408: "That took too long",
    409: "That cannot be done as it stands",
    410: "This link opens nothing any more",
    413: "That is too much",
    421: "This page has another name",
    422: "Something does not fit",
    429: "Too many tries",
    500: "A defect",
    503: "That cannot be done just now",
}
_SENTENCES = {
    404: "Nothing is kept under this address. It may have been mistyped, or the link is too old.",
    405: "This address does not take what was sent. Go back and use the buttons of the page.",
    422: "What was sent does not fit this form. Go back, look at each field, and send it again.",
    500: "Something is wrong in the program itself, and nothing was recorded. Whoever runs it "
    "finds the place in the log.",
}
_IN_THE_LOG = "It does not work just now. Whoever runs it finds why in the log."
_SECRET = ("passphrase", "password")


def install(app: FastAPI) -> None:
    """Have an app show these pages."""
    app.add_exception_handler(HTTPException, _on_http)
    app.add_exception_handler(RequestValidationError, _on_form)
    app.add_exception_handler(SprayadvisorError, _on_own)


def refused(request: Request, status: int, sentence: str = "", *, again: bool = False) -> Response:
    """Return the page that says why something is not done, with what was typed.

    Args:
        request: what was asked.
        status: of the answer.
        sentence: why; else the usual one.
        again: keep the page, so that it can be gone back to; only for whoever is logged in.
    """
    title = _TITLES.get(status, "That did not work")
    why = sentence or _SENTENCES.get(status, "That did not work.")
    if "text/html" not in request.headers.get("accept", "text/html, */*") and (
        "*/*" not in request.headers.get("accept", "")
    ):
        return PlainTextResponse(f"{title}: {why}\n", status)
    show = desk(request).lead_to if again else desk(request).show
    sent = typed(request)
    return show(
        "error.html.j2",
        status,
        title=title,
        sentence=why,
        sent=sent,
        typed=in_words(sent, _changed(request)),
    )


def typed(request: Request) -> list[tuple[str, str]]:
    """Return the fields of the form that was sent, without secrets; none where none can be read."""
    body: bytes = getattr(request.state, "body", b"")
    kind = request.headers.get("content-type", "")
    if not kind.startswith("application/x-www-form-urlencoded"):
        return []
    pairs = parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True)
    kept = [(name, text) for name, text in pairs if not name.startswith(_SECRET)]
    return kept[:MOST_FIELDS]  # as many as any form may send: none of a booking is lost


def _changed(request: Request) -> Job | None:
    """Return the job whose form was sent; None for another form."""
    path = request.url.path
    ref = request.path_params.get("ref")
    if not ref or not path.endswith("/change"):
        return None
    try:
        return desk(request).services.bookings.get(ref)
    except SprayadvisorError:  # then all of it is told
        return None


def _on_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 - it is installed for these alone
    # The library's own words for these are no sentences.
    own = error.detail if error.status_code not in _SENTENCES else ""
    response = refused(request, error.status_code, own)
    response.headers.update(error.headers or {})
    return response


def _on_form(request: Request, _error: Exception) -> Response:
    return refused(request, 422)


def _on_own(request: Request, error: Exception) -> Response:
    if not desk(request).is_in and not isinstance(error, BookingError):
        # Paths and hosts are nobody's business who is not logged in.
        log.error("%s", error)
        return refused(request, 503, _IN_THE_LOG)
    if isinstance(error, InputError):
        status = 422
    elif isinstance(error, BookingError):
        status = 404 if request.method == "GET" else 409
    else:
        status = 503 if isinstance(error, (StoreError, WeatherError)) else 500
    return refused(
        request, status, str(error), again=request.method == "POST" and desk(request).is_in
    )

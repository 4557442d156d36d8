"""What every request must pass before any page sees it, and what every answer carries.

host ─ proxy ─ origin of a change ─ size ─ login ─▸ page ─▸ headers
"""

from __future__ import annotations

import asyncio
import logging
from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sprayadvisor.web import errors
from sprayadvisor.web.origin import came_through_proxy, is_own

if TYPE_CHECKING:
    from sprayadvisor.web.desk import House

log = logging.getLogger(__name__)

BODY_CAP = 64 * 1024
BODY_WAIT_S = 10.0
_SAFE = ("GET", "HEAD", "OPTIONS")
# Open to all: they show nothing of anybody's. A link is its own key.
_OPEN = ("/login", "/healthz", "/readyz", "/sw.js", "/manifest.webmanifest", "/favicon.ico")
_OPEN_BELOW = ("/static/", "/v/")
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
        "frame-ancestors 'none'; base-uri 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # Not "no-referrer": with that, browsers hide where the page's own forms come from.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(self)",
    "X-From": "sprayadvisor",  # so that a phone tells it from a proxy that found nobody here
    "Cache-Control": "no-store",  # a verdict that is kept is a verdict of yesterday
}
_STRICT_TRANSPORT = "max-age=31536000"


class Guard:
    """The gate in front of an app.

    Args:
        app: what is behind it.
        house: who may see it and what it may be called.
    """

    def __init__(self, app: ASGIApp, house: House) -> None:
        self._app, self._house = app, house

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        head_only = scope["method"] == "HEAD"
        scope = dict(scope, method="GET" if head_only else scope["method"])
        request = Request(scope, receive)
        send = self._with_headers(send, head_only=head_only)
        refusal = self._refusal(request)
        if refusal is None and request.method not in _SAFE:
            body = await _body(request, receive)
            if body is None:
                refusal = _too_much(request)
            else:
                request.state.body = body
                receive = _again(body, receive)
                refusal = self._foreign(request)
        if refusal is None and not self._may_see(request):
            refusal = _login_first(request)
        await self._answer(refusal or self._app, request, receive, send)

    async def _answer(
        self, answer: ASGIApp, request: Request, receive: Receive, send: Send
    ) -> None:
        """Answer, and where that ends in a defect say so."""
        begun = False

        async def send_noting(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await answer(request.scope, receive, send_noting)
        except Exception:
            # The route and not the address: a link is a secret.
            route = getattr(request.scope.get("route"), "path", "no page")
            log.exception("A defect in %s %s.", request.method, route)
            if begun:
                raise
            await errors.refused(request, 500)(request.scope, receive, send)

    def _refusal(self, request: Request) -> Response | None:
        """Refuse what was not meant for this page."""
        if not self._house.names.knows(request):
            why = (
                "It was asked for under a name that is not its own. Use the address in "
                "web.address, or add the name to web.allowed_hosts."
            )
            return Response(why + "\n", 421, media_type="text/plain")
        if not self._house.access.needed and came_through_proxy(request):
            why = (
                "It was asked for through a proxy, so others may reach it: set web.passphrase and "
                "web.address first."
            )
            return Response(why + "\n", 403, media_type="text/plain")
        return None

    def _foreign(self, request: Request) -> Response | None:
        """Refuse a change that was not asked for by a form of this page."""
        if is_own(request):
            return None
        why = (
            "This change did not come from a form of this page, so nothing was changed. Open the "
            "page itself and try there."
        )
        return errors.refused(request, 403, why)

    def _may_see(self, request: Request) -> bool:
        path = request.url.path
        return path in _OPEN or path.startswith(_OPEN_BELOW) or self._house.access.is_in(request)

    def _with_headers(self, send: Send, *, head_only: bool) -> Send:
        """Return a way to send that adds the headers, and leaves out a body nobody asked for."""

        async def send_with(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, text in HEADERS.items():
                    headers.setdefault(name, text)
                if self._house.access.secure:
                    headers.setdefault("Strict-Transport-Security", _STRICT_TRANSPORT)
            elif head_only and message["type"] == "http.response.body":
                message = dict(message, body=b"")
            await send(message)

        return send_with


async def _body(request: Request, receive: Receive) -> bytes | None:
    """Return the whole body; None if there is too much of it or it comes too slowly."""
    length = request.headers.get("content-length", "0")
    if not length.isdecimal() or int(length) > BODY_CAP:
        return None
    parts = bytearray()
    try:
        async with asyncio.timeout(BODY_WAIT_S):
            while True:
                message = await receive()
                if message["type"] != "http.request":
                    return None
                parts += message.get("body", b"")
                if len(parts) > BODY_CAP:
                    return None
                if not message.get("more_body"):
                    return bytes(parts)
    except TimeoutError:
        return None


def _again(body: bytes, receive: Receive) -> Receive:
    """Return a way to receive a body that was read already."""
    waiting = [body]

    async def receive_again() -> Message:
        if waiting:
            return {"type": "http.request", "body": waiting.pop(), "more_body": False}
        return await receive()

    return receive_again


def _too_much(request: Request) -> Response:
    why = (
        f"More than {BODY_CAP // 1024} kB were sent, or it took too long; nothing was recorded. "
        "Go back and shorten what you typed."
    )
    response = errors.refused(request, 413, why)
    response.headers["Connection"] = "close"
    return response


def _login_first(request: Request) -> Response:
    """Send somebody who reads to the login; keep what was typed of somebody who changes."""
    if request.method in _SAFE:
        return RedirectResponse(f"/login?next={quote(request.url.path, safe='/')}", 303)
    why = (
        "You are not logged in any more, so nothing was recorded. Log in in another tab, then come "
        "back here and press “Try again”."
    )
    return errors.refused(request, 401, why)

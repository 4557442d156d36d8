"""Whether a request was meant for this page and comes from it."""

from __future__ import annotations

import ipaddress
from collections.abc import Collection
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.requests import Request

_LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
_PORTS = {"http": 80, "https": 443}
# What proxies usually add; common practice but for "Forwarded" (RFC 7239) and "Via" (RFC 9110).
_PROXIED = ("forwarded", "via", "x-real-ip", "x-client-ip", "true-client-ip")
_PROXIED_BEGINS = ("x-forwarded", "x-original-", "cf-connecting-")


@dataclass(frozen=True, slots=True)
class Names:
    """The names by which the page may be called.

    Attributes:
        host: what it listens on.
        address: what it is reached by from outside, empty where it is not.
        more: further names.
    """

    host: str
    address: str
    more: Collection[str]

    def knows(self, request: Request) -> bool:
        """Return whether a request names this page as its host.

        A page of somebody else whose name was pointed at this machine does not. Where the page
        listens on all addresses, the very number at which the request came in is known too.
        """
        host = host_of(request.headers.get("host", ""))
        if host is None:
            return False
        own = {self.host, urlsplit(self.address).hostname or "", *self.more} | _LOOPBACK
        if _is_any(self.host):
            own |= {(request.scope.get("server") or ("",))[0]}
        return host in own - {"", "0.0.0.0", "::"}  # noqa: S104 - they are taken out


def host_of(netloc: str) -> str | None:
    """Return the host in ``host``, ``host:port`` or ``[host]:port``; None if it is not one."""
    try:
        parts = urlsplit(f"//{netloc}")
        parts.port  # noqa: B018 - raises where the port is no number
    except ValueError:
        return None
    bare = not (parts.path or parts.query or parts.fragment or "@" in netloc)
    return parts.hostname if bare else None


def _is_any(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_unspecified
    except ValueError:
        return False


def is_own(request: Request) -> bool:
    """Return whether a change was asked for by this page itself.

    A browser says where a request comes from, in two ways that no page can forge. Both must be
    right where both are there; a request without either is refused.
    """
    site = request.headers.get("sec-fetch-site")
    origin = request.headers.get("origin")
    if site not in (None, "same-origin", "none"):
        return False
    if origin is None:
        return site is not None
    if origin == "null":
        return site == "same-origin"
    return _same(origin, request.headers.get("host", ""))


def _same(origin: str, host: str) -> bool:
    """Return whether an origin is the host that was asked, port and all."""
    try:
        from_, to = urlsplit(origin), urlsplit(f"//{host}")
        usual = _PORTS.get(from_.scheme)
        ports = (from_.port or usual, to.port or usual)
    except ValueError:
        return False
    return usual is not None and ports[0] == ports[1] and from_.hostname == to.hostname


def came_through_proxy(request: Request) -> bool:
    """Return whether something stands between the browser and the page."""
    return any(
        name in _PROXIED or name.startswith(_PROXIED_BEGINS)
        for name in map(str.lower, request.headers.keys())
    )

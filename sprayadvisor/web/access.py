"""Who may see the page: everybody on this machine, or whoever knows the passphrase."""

from __future__ import annotations

import hashlib
import hmac
import logging
import secrets
from datetime import timedelta
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import Response

from sprayadvisor.errors import StoreError

if TYPE_CHECKING:
    from sprayadvisor.bootstrap import Services

log = logging.getLogger(__name__)

LOGGED_IN_FOR = timedelta(days=30)
# 16 MB and some 50 ms a try: what a phone's owner does not notice and a guesser does.
_SCRYPT = {"n": 2**14, "r": 8, "p": 1, "dklen": 32}


class Access:
    """Knows who is logged in.

    Attributes:
        needed: whether a login is needed at all.
        secure: whether the page is reached by https; then its cookies never leave otherwise.

    Args:
        services: with the settings and the keys.
    """

    def __init__(self, services: Services) -> None:
        web = services.settings.web
        self._signer = services.signer
        self.secure = urlsplit(web.address or "").scheme == "https"
        self.needed = web.passphrase is not None
        self._salt = secrets.token_bytes(16)
        passphrase = web.passphrase.get_secret_value() if web.passphrase else ""
        self._hash = self._scrypt(passphrase)
        # Signed for this passphrase: with another one nobody is logged in any more.
        self._purpose = f"login {passphrase}"
        prefix = "__Host-" if self.secure else ""
        self.cookie = f"{prefix}sprayadvisor"

    def opens(self, passphrase: str) -> bool:
        """Return whether this is the passphrase, always after the same time."""
        return hmac.compare_digest(self._scrypt(passphrase), self._hash) and self.needed

    def is_in(self, request: Request) -> bool:
        """Return whether whoever asks may see and change everything."""
        if not self.needed:
            return True
        text = request.cookies.get(self.cookie, "")
        return bool(text) and self._is_good(text)

    def _is_good(self, text: str) -> bool:
        """Return whether a login was signed here; where no key can be read nobody is in."""
        try:
            return self._signer.read(self._purpose, text, LOGGED_IN_FOR) is not None
        except StoreError as error:
            log.error("Nobody can be logged in. %s", error)  # noqa: TRY400 - the sentence says it all
            return False

    def log_in(self, response: Response) -> None:
        """Have the phone keep a signed login."""
        text = self._signer.sign(self._purpose, [])
        self.set_cookie(response, self.cookie, text, LOGGED_IN_FOR)

    def log_out(self, response: Response) -> None:
        """Have the phone forget its login and everything that it kept of the page."""
        self.set_cookie(response, self.cookie, "", timedelta(0))
        response.headers["Clear-Site-Data"] = '"cache", "storage"'

    def set_cookie(self, response: Response, name: str, text: str, lasts: timedelta) -> None:
        """Set a cookie that no script and no other site can use."""
        response.set_cookie(
            name,
            text,
            max_age=int(lasts.total_seconds()),
            httponly=True,
            secure=self.secure,
            samesite="lax",
        )

    def _scrypt(self, passphrase: str) -> bytes:
        return hashlib.scrypt(passphrase.encode("utf-8", "replace"), salt=self._salt, **_SCRYPT)

"""Links in mails that open one day or one job on the page, without a login, for reading only."""

from __future__ import annotations

import logging
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from sprayadvisor.errors import StoreError
from sprayadvisor.render.html import NO_LINKS, MailLinks
from sprayadvisor.services.ports.signing import Signer

log = logging.getLogger(__name__)

LASTS = timedelta(days=7)  # long enough for a day out of reach, too short to lie about for a year
_PURPOSE = "link"


@dataclass(frozen=True, slots=True)
class Opens:
    """What a link opens.

    Attributes:
        day: the local day it is about.
        ref: reference of the one job; empty where it opens the whole day.
    """

    day: date
    ref: str = ""


@dataclass(frozen=True, slots=True)
class Links:
    """Makes links and reads them.

    Attributes:
        signer: signs them; any method here may raise its ``StoreError``.
        address: what the page is reached by from outside; empty where it is not, and then no
            links are made.
    """

    signer: Signer
    address: str = ""

    def to(self, opens: Opens) -> str:
        """Return the whole address of a link; empty where the page is not reached from outside."""
        if not self.address:
            return ""
        token = self.signer.sign(_PURPOSE, [opens.day.isoformat(), opens.ref])
        return f"{self.address}/v/{token}"

    def mail(self, day: date, refs: Collection[str]) -> MailLinks:
        """Return the links of a mail about a day and its jobs; none where none are made.

        A key that cannot be read costs the links and not the mail.
        """
        if not self.address:
            return NO_LINKS
        try:
            jobs = {ref: self.to(Opens(day, ref)) for ref in refs}
            return MailLinks(self.to(Opens(day)), jobs)
        except StoreError as error:
            log.warning("A mail goes without its links. %s", error)
            return NO_LINKS

    def read(self, token: str) -> Opens | None:
        """Return what a link opens; None if it was not made here or is too old."""
        value = self.signer.read(_PURPOSE, token, LASTS)
        if value is None or len(value) != 2:
            return None
        return Opens(date.fromisoformat(value[0]), value[1])

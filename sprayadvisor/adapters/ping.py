"""A dead man's switch elsewhere: told after each brief, it raises the alarm once it hears nothing.

Its address is a secret: whoever has it can keep the alarm from being raised.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from urllib.parse import urlsplit

import requests

TIMEOUT_S = (3.05, 5.0)  # to connect, to answer

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, repr=False)
class Ping:
    """Asks an address and forgets the answer.

    Attributes:
        url: the address.
    """

    url: str

    def __call__(self) -> None:
        """Ask. That nobody heard it is logged and is nobody's error here."""
        try:
            answer = requests.get(self.url, timeout=TIMEOUT_S)
            answer.close()
            why = "" if answer.ok else f"answered {answer.status_code}"
        except requests.RequestException as error:
            why = type(error).__name__  # its words hold the address
        if why:
            host = urlsplit(self.url).hostname
            log.warning("The ping to %s failed: %s; check ping_url.", host, why)

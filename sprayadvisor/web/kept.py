"""Pages that came of something sent, each with an address of its own.

A page that answers a form directly cannot be gone back to: the browser shows its own error, or
sends the form again. So what came of it is kept here for a while, and the phone is led there.
"""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

KEPT_FOR = timedelta(hours=12)  # a working day
_MOST = 500


@dataclass(frozen=True, slots=True)
class KeptPage:
    """What came of something sent.

    Attributes:
        template: its file below ``web/templates``.
        status: of the answer.
        path: to which it was sent.
        at: when, aware.
        values: what the template names.
    """

    template: str
    status: int
    path: str
    at: datetime
    values: Mapping[str, Any]


class KeptPages:
    """Keeps the last pages in memory, never on disk; none outlives the process."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._pages: OrderedDict[str, KeptPage] = OrderedDict()

    def keep(self, page: KeptPage) -> str:
        """Keep a page and return the token it is found by, which says nothing of it."""
        token = secrets.token_urlsafe(16)
        with self._lock:
            self._pages[token] = page
            while len(self._pages) > _MOST:
                self._pages.popitem(last=False)
        return token

    def of(self, token: str, now: datetime) -> KeptPage | None:
        """Return a page, None if it is kept no more."""
        with self._lock:
            page = self._pages.get(token)
        return page if page and abs(now - page.at) <= KEPT_FOR else None

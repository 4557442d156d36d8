"""Forgetting what is old, so that the database does not grow for ever."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

WEATHER_KEPT = timedelta(days=14)
# A key names a day, and no brief or notice is ever owed for one so long past.
LEDGER_KEPT = timedelta(days=400)
CALLS_KEPT = timedelta(days=40)  # the longest window is a month

log = logging.getLogger(__name__)


class Store(Protocol):
    """Whatever can forget. Any method may raise ``StoreError``; then nothing was changed."""

    def forget_weather(self, before: datetime) -> int:
        """Remove answers fetched before ``before``, but never the last of a place; count them."""
        ...

    def forget_calls(self, before: datetime) -> int:
        """Remove what was counted of calls before ``before``; count the lines."""
        ...

    def forget_messages(self, before: datetime) -> int:
        """Remove ledger lines that were closed before ``before``; count them."""
        ...


@dataclass(frozen=True, slots=True)
class Tidy:
    """Forgets weather after 14 days, ledger lines after 400, counts of calls after 40.

    Attributes:
        store: where they are.
        now: the clock, aware.
    """

    store: Store
    now: Callable[[], datetime]

    def __call__(self) -> None:
        """Forget what is old."""
        now = self.now()
        weather = self.store.forget_weather(now - WEATHER_KEPT)
        messages = self.store.forget_messages(now - LEDGER_KEPT)
        self.store.forget_calls(now - CALLS_KEPT)
        if weather or messages:
            log.info("Forgot %d old weather answers and %d ledger lines.", weather, messages)

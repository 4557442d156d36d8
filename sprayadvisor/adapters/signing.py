"""Signing with itsdangerous: HMAC by SHA-256, with the time inside, by the clock we are given."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from itsdangerous import BadData, TimestampSigner, URLSafeTimedSerializer


class _Stamped(TimestampSigner):
    """Stamps with a clock of ours, which tests and trials can set."""

    default_digest_method = staticmethod(hashlib.sha256)

    def __init__(self, *args: Any, now: Callable[[], datetime], **options: Any) -> None:  # noqa: ANN401 - the library's own arguments
        super().__init__(*args, **options)
        self._now = now

    def get_timestamp(self) -> int:
        """Return the time in seconds."""
        return int(self._now().timestamp())


@dataclass(frozen=True, slots=True)
class TimedSigner:
    """``Signer``; its contract is there.

    Attributes:
        keys: returns the keys, oldest first.
        now: the clock, aware.
    """

    keys: Callable[[], tuple[str, ...]]
    now: Callable[[], datetime]

    def sign(self, purpose: str, value: list[str]) -> str:
        """Return a value as signed text."""
        return str(self._serializer(purpose).dumps(value))

    def read(self, purpose: str, text: str, longest: timedelta) -> list[str] | None:
        """Return what was signed, None if it is not to be trusted."""
        seconds = int(longest.total_seconds())
        try:
            value = self._serializer(purpose).loads(text, max_age=seconds)
        except BadData:
            return None
        sound = isinstance(value, list) and all(isinstance(part, str) for part in value)
        return value if sound else None

    def _serializer(self, purpose: str) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(
            list(self.keys()), salt=purpose, signer=_Stamped, signer_kwargs={"now": self.now}
        )

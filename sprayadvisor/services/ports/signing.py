"""What links and logins need: something that signs a value and knows its own signature again."""

from __future__ import annotations

from datetime import timedelta
from typing import Protocol


class Signer(Protocol):
    """Signs values with a key that never leaves this computer."""

    def sign(self, purpose: str, value: list[str]) -> str:
        """Return the value as text fit for an address, with the time and a signature.

        Whoever has the text can read the value. A text made for one purpose is none for another.

        Raises:
            StoreError: there is no key and none can be kept.
        """
        ...

    def read(self, purpose: str, text: str, longest: timedelta) -> list[str] | None:
        """Return what was signed; None if it was not signed here, or longer ago than ``longest``.

        Raises:
            StoreError: the key cannot be read.
        """
        ...

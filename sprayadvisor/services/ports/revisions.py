"""What the page needs to notice that something has changed, without reading all of it."""

from __future__ import annotations

from typing import Protocol


class Revisions(Protocol):
    """Numbers that change whenever what they stand for does."""

    def bookings(self) -> int:
        """Return a number that grows with every change to a job or a site."""
        ...

    def weather(self) -> int:
        """Return a number that grows with every answer of a weather service that is kept."""
        ...

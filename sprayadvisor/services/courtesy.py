"""Whoever stands at the car goes first: what runs in the background gives way to them.

All threads share one interpreter, so that an answer takes as many times longer as there are others
at work. Answers come one after the other, and a brief waits between two jobs while there are any.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

LONGEST_S = 1.0  # that a brief waits before it goes on with the next job all the same


class Courtesy:
    """Knows whether somebody waits for an answer; any thread may ask."""

    def __init__(self) -> None:
        self._count = threading.Lock()
        self._turn = threading.Lock()
        self._nobody = threading.Event()
        self._nobody.set()
        self._waiting = 0

    @contextmanager
    def urgent(self) -> Iterator[None]:
        """Do what somebody waits for, alone among all that is urgent."""
        with self._count:
            self._waiting += 1
            self._nobody.clear()
        try:
            with self._turn:
                yield
        finally:
            with self._count:
                self._waiting -= 1
                if not self._waiting:
                    self._nobody.set()

    def give_way(self) -> None:
        """Wait while somebody waits for an answer, but not for ever."""
        self._nobody.wait(LONGEST_S)

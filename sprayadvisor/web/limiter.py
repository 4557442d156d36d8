"""How often a login may be tried: by one address, and by all together."""

from __future__ import annotations

import ipaddress
import threading
from collections import deque
from collections.abc import Callable
from datetime import datetime, timedelta

WINDOW = timedelta(minutes=15)
BY_ONE = 5
BY_ALL = 30  # then nobody new gets in for a while, and whoever is in stays in


class Limiter:
    """Counts wrong tries; any thread may ask.

    A try is counted before it is known to be wrong, so that many at once are no way around it.

    Args:
        now: the clock, aware.
    """

    def __init__(self, now: Callable[[], datetime]) -> None:
        self._now = now
        self._tries: deque[tuple[datetime, str]] = deque()
        self._lock = threading.Lock()

    def wait_s(self, address: str) -> int:
        """Count a try and return 0, or return after how many seconds one may be made."""
        now, who = self._now(), _who(address)
        with self._lock:
            # A clock that was set back must not keep anybody out for longer.
            self._tries = deque(t for t in self._tries if timedelta(0) <= now - t[0] < WINDOW)
            mine = [at for at, by in self._tries if by == who]
            waits = []
            if len(mine) >= BY_ONE:
                waits.append(mine[-BY_ONE])
            if len(self._tries) >= BY_ALL:
                waits.append(self._tries[-BY_ALL][0])
            if waits:
                return max(1, int((max(waits) + WINDOW - now).total_seconds()))
            self._tries.append((now, who))
            return 0

    def forgive(self, address: str) -> None:
        """Forget the tries of whoever has got it right."""
        who = _who(address)
        with self._lock:
            self._tries = deque(one for one in self._tries if one[1] != who)


def _who(address: str) -> str:
    """Return whose tries count together: an IPv4 address, or the /64 an IPv6 address lies in."""
    try:
        number = ipaddress.ip_address(address)
    except ValueError:
        return address
    if isinstance(number, ipaddress.IPv6Address):
        return str(ipaddress.ip_network((number, 64), strict=False))
    return str(number)

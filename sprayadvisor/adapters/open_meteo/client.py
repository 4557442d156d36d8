"""Fetching from a weather service: one connection, few calls, nothing asked in vain.

    places → batches → URL → try, try again within the deadline → answers by place

urllib3's ``Retry`` is not used. It decides by status and by ``Retry-After``, which this service
never sends: how long to wait stands in the text of the body, a body cut off comes with status
200, and it knows no deadline over all tries together.
"""

from __future__ import annotations

import logging
import random
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from urllib.parse import urlencode

import requests
import urllib3

from sprayadvisor.adapters.open_meteo.fields import FORECAST, Service
from sprayadvisor.adapters.open_meteo.replies import (
    Answers,
    Cure,
    Reply,
    Trouble,
    budget_used,
    judge,
)
from sprayadvisor.adapters.open_meteo.troubles import (
    MAX_BODY,
    checked_base_url,
    checked_key,
    too_large,
    transport_trouble,
)
from sprayadvisor.errors import (
    StoreError,
    WeatherError,
    WeatherUnreachable,
)
from sprayadvisor.services.ports import FetchResult, Place
from sprayadvisor.services.ports.budget import Budget

PLACES_PER_CALL = 50  # keeps the URL under 2,500 characters; the service's proxy stops at 8,000
TRIES = 4  # every failed call counts against the limits
_CHUNK = 65_536

log = logging.getLogger(__name__)


class OpenMeteo:
    """Client of an Open-Meteo server: the free one, the paid one, or one's own.

    Args:
        base_url: scheme, host and maybe path in front of the service's own.
        api_key: key of a paid plan. It travels in a header only, so that it never stands in a
            URL, a log or an error.
        timeout: longest wait for the connection and between two pieces of the answer, s.
        deadline_s: longest time for one ``fetch`` with all its calls and pauses, s.
        sleep: pauses, s.
        clock: monotonic time, s.
        now: the time of day, aware, to tell when a limit falls away.
        session: a session to use instead of an own one.
        service: which of its services, and what is asked of it.
        budget: counts the calls and says when to stop; without it nobody counts.

    Raises:
        InputError: the address or the key cannot be used as given.
    """

    def __init__(
        self,
        base_url: str,
        api_key: str | None = None,
        *,
        timeout: tuple[float, float] = (5.0, 20.0),
        deadline_s: float = 90.0,
        sleep: Callable[[float], None] = time.sleep,
        clock: Callable[[], float] = time.monotonic,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        session: requests.Session | None = None,
        service: Service = FORECAST,
        budget: Budget | None = None,
    ) -> None:
        self._service, self._budget = service, budget
        self._base_url = checked_base_url(base_url, service)
        self._headers = {"User-Agent": "sprayadvisor", "Accept": "application/json"}
        if api_key:
            self._headers["X-Api-Key"] = checked_key(api_key)
        self._timeout, self._deadline_s = timeout, deadline_s
        self._sleep, self._clock, self._now = sleep, clock, now
        self._session = session or _StraightSession()
        self._lock = threading.Lock()
        self.skew_s: float | None = None  # by how much our clock is ahead of the service's

    def __repr__(self) -> str:
        """Return the address and whether there is a key, never the key."""
        return f"OpenMeteo({self._base_url!r}, key={'X-Api-Key' in self._headers})"

    def close(self) -> None:
        """Close the connection."""
        self._session.close()

    def fetch(self, places: Sequence[Place]) -> dict[str, FetchResult]:
        """Return an answer or an error for every place, by its key.

        Args:
            places: where; places with the same key are asked for once.
        """
        with self._lock:  # the free service lets one call at a time run per address
            return self._fetch(list({place.key: place for place in places}.values()))

    def ask(self, query: Mapping[str, str]) -> bytes:
        """Return the answer to one question that is not about the weather of places.

        Raises:
            WeatherError: there is none.
        """
        url = (
            f"{self._base_url}{self._service.path}?{urlencode({**self._service.request, **query})}"
        )
        with self._lock:
            outcome = self._ask(url, 1, self._clock() + self._deadline_s)
        answer = outcome.error if isinstance(outcome, Trouble) else outcome[0]
        if isinstance(answer, WeatherError):
            raise answer
        return answer

    def _fetch(self, places: list[Place]) -> dict[str, FetchResult]:
        """Ask batch by batch; split a batch that is refused until the bad place is alone."""
        ends = self._clock() + self._deadline_s
        results: dict[str, FetchResult] = {}
        batches = deque(_batches(places))
        stop: Trouble | None = None
        while batches:
            batch = batches.popleft()
            url = self.url(batch)
            outcome = stop or self._ask(url, len(batch), ends)
            if isinstance(outcome, Trouble) and outcome.cure is Cure.STOP:
                stop = outcome
            if isinstance(outcome, Trouble) and outcome.cure is Cure.SPLIT and len(batch) > 1:
                half = len(batch) // 2
                batches.extendleft((batch[half:], batch[:half]))
            else:
                results |= _results(batch, url, outcome)
        return results

    def url(self, places: Sequence[Place]) -> str:
        """Return the URL that asks for these places; it holds no key."""
        where = {
            "latitude": ",".join(f"{place.latitude:.4f}" for place in places),
            "longitude": ",".join(f"{place.longitude:.4f}" for place in places),
        }
        known = [place.elevation_m for place in places if place.elevation_m is not None]
        if self._service.takes_elevation and len(known) == len(places):
            where["elevation"] = ",".join(f"{elevation:.0f}" for elevation in known)
        query = urlencode(where | self._service.request, safe=",")
        return f"{self._base_url}{self._service.path}?{query}"

    def _ask(self, url: str, places: int, ends: float) -> Answers | Trouble:
        """Ask until there is an answer, no cure, no try or no time left."""
        tries = 0
        while True:
            tries += 1
            outcome = self._try(url, places, ends)
            if not isinstance(outcome, Trouble) or outcome.cure not in (Cure.AGAIN, Cure.WAIT):
                return outcome
            pause = outcome.wait_s or 2.0 ** (tries - 1)
            pause += random.uniform(0.0, 1.0)  # noqa: S311 - keeps many vans apart, hides nothing
            if tries == TRIES or self._clock() + pause >= ends:
                return outcome
            log.warning("%s Next try in %.0f s.", outcome.error, pause)
            self._sleep(pause)

    def _try(self, url: str, places: int, ends: float) -> Answers | Trouble:
        """Ask once."""
        if self._clock() >= ends:
            return self._too_late()
        if full := self._over_budget(places):
            return full
        try:
            reply = self._send(url, ends)
        # Only the words are kept: the exception itself holds the request with its headers.
        except (requests.RequestException, urllib3.exceptions.HTTPError) as error:
            return transport_trouble(self._service, error)
        if isinstance(reply, Trouble):
            return reply
        return judge(self._service, reply, places, self._now())

    def _over_budget(self, places: int) -> Trouble | None:
        """Count a call, or return that there is no room for it; what cannot be counted may go."""
        if self._budget is None:
            return None
        try:
            full = self._budget.take(self._service.weight(places), self._now())
        except StoreError as error:
            log.warning("A call is not counted. %s", error)
            return None
        return budget_used(self._service, full, self._now()) if full else None

    def _send(self, url: str, ends: float) -> Reply | Trouble:
        """Send the request and read the reply to its end, by size and by time."""
        left = max(0.1, ends - self._clock())
        timeout = (min(self._timeout[0], left), min(self._timeout[1], left))
        with self._session.get(
            url, headers=self._headers, timeout=timeout, allow_redirects=False, stream=True
        ) as response:
            self.skew_s = _skew_s(response.headers.get("Date", ""), self._now())
            body = bytearray()
            # read1 returns what has arrived; read would wait for a full chunk, however slowly
            # it drips, and the deadline would never be looked at.
            while piece := response.raw.read1(_CHUNK, decode_content=True):
                body += piece
                if len(body) > MAX_BODY:
                    return too_large(self._service)
                if self._clock() >= ends:
                    return self._too_late()
            if response.status_code != 200:
                body = body.replace(self._headers.get("X-Api-Key", "\n").encode(), b"(key)")
            location = response.headers.get("Location", "")
            return Reply(response.status_code, bytes(body), location)

    def _too_late(self) -> Trouble:
        words = (
            f"The {self._service.name} took longer than {self._deadline_s:g} s; "
            "try again later, and check the internet connection if it goes on."
        )
        return Trouble(WeatherUnreachable(words), Cure.NOTHING)


def _skew_s(date: str, now: datetime) -> float | None:
    """Return by how many seconds ``now`` is ahead of a reply's date, None if it has none."""
    try:
        theirs = parsedate_to_datetime(date)
    except ValueError:
        return None
    return (now - theirs).total_seconds() if theirs.tzinfo else None


class _StraightSession(requests.Session):
    """A session that sees no redirects.

    Even when told not to follow one, requests looks where it leads, and for that reads the whole
    body without measure and trips over an address it cannot parse.
    """

    def get_redirect_target(self, resp: requests.Response) -> None:
        """Return that there is none."""


def _batches(places: list[Place]) -> Iterator[list[Place]]:
    """Yield batches of one kind: the elevations are given for every place of a call or for none."""
    for known in (True, False):
        alike = [place for place in places if (place.elevation_m is not None) is known]
        for begin in range(0, len(alike), PLACES_PER_CALL):
            yield alike[begin : begin + PLACES_PER_CALL]


def _results(batch: list[Place], url: str, outcome: Answers | Trouble) -> dict[str, FetchResult]:
    """Return what came of one batch, by key."""
    answers = [outcome.error] * len(batch) if isinstance(outcome, Trouble) else outcome
    return {
        place.key: FetchResult(None, url, answer)
        if isinstance(answer, WeatherError)
        else FetchResult(answer, url, None)
        for place, answer in zip(batch, answers, strict=True)
    }

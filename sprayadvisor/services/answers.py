"""What a weather service knows of each place: from the store, from the service, or the reason why.

    places → young enough in the store? ── yes ──────────────────→ value
                  │ no
                  └→ ask once for all ── read ── keep ───────────→ value
                           │ failed
                           └→ last good answer, not too old ─────→ value, marked stale
                                        │ none
                                        └────────────────────────→ the reason

An answer is read before it is kept, so that what is kept can always be used. The forecast and the
air quality differ only in who is asked and how the answer is read.
"""

from __future__ import annotations

import logging
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Generic, Protocol, TypeVar

from sprayadvisor.advice.model import Site
from sprayadvisor.errors import StoreError, WeatherBusy, WeatherError, WeatherMalformed
from sprayadvisor.services.ports import ForecastClient, Place, Snapshot, SnapshotStore

REST_AFTER_FAILURE = timedelta(minutes=2)  # so that an outage does not slow every page down
LONGEST_REST = timedelta(hours=1)
# The models behind the slowest places are run every six hours; two runs that change nothing in
# eleven days of fourteen quantities are no runs.
FROZEN_AFTER = timedelta(hours=12)

log = logging.getLogger(__name__)

Value = TypeVar("Value")
Value_co = TypeVar("Value_co", covariant=True)


class Reader(Protocol[Value_co]):
    """Turns an answer into a value; ``WeatherMalformed`` if it cannot be used."""

    def __call__(
        self, payload: bytes, site: Site, *, fetched_at: datetime, stale: bool
    ) -> Value_co:
        """Return what the answer says about the site."""
        ...


@dataclass(frozen=True, slots=True)
class Answer(Generic[Value]):
    """What is known of one place, or why nothing is.

    Attributes:
        value: None if there is none that may be used.
        problem: a sentence if something went wrong, also where an older value stands in.
    """

    value: Value | None
    problem: str = ""


@dataclass(frozen=True, slots=True)
class _Rest:
    """An error that is repeated until a time instead of asking again."""

    until: datetime
    error: WeatherError


class Answers(Generic[Value]):
    """Gets one kind of answer for places.

    Args:
        client: asks the service.
        snapshots: keeps its answers.
        now: the time, aware, UTC.
        read: turns an answer into a value.
        kind: the kind of snapshot it is kept as.
        noun: what it is called in sentences.
        same: whether two answers hold the same numbers; without it nobody looks.
    """

    def __init__(
        self,
        client: ForecastClient,
        snapshots: SnapshotStore,
        now: Callable[[], datetime],
        read: Reader[Value],
        *,
        kind: str,
        noun: str,
        same: Callable[[bytes, bytes], bool] | None = None,
    ) -> None:
        self._client, self._snapshots, self._now, self._read = client, snapshots, now, read
        self._kind, self._noun, self._same = kind, noun, same
        self._rests: dict[str, _Rest] = {}

    def for_places(
        self,
        places: Mapping[str, Site],
        *,
        max_age: timedelta,
        unusable_after: timedelta,
        refresh: bool = False,
    ) -> dict[str, Answer[Value]]:
        """Return what is known of each place, by its key. Never raises for want of an answer.

        Args:
            places: a site of each place, by the place's key.
            max_age: an answer younger than this is used without asking.
            unusable_after: an answer older than this does not stand in for a new one.
            refresh: ask in any case.
        """
        kept = {key: self._latest(key) for key in places}
        young: dict[str, Answer[Value]] = {}
        for key, site in () if refresh else places.items():
            if answer := self._young(site, kept[key], max_age, unusable_after):
                young[key] = answer
        wanted = {key: site for key, site in places.items() if key not in young}
        fetched = {
            key: self._fall_back(places[key], kept[key], unusable_after, outcome)
            if isinstance(outcome, WeatherError)
            else outcome
            for key, outcome in self._fetch(wanted, kept, unusable_after, refresh=refresh).items()
        }
        return {key: young.get(key) or fetched[key] for key in places}

    def _young(
        self, site: Site, snapshot: Snapshot | None, max_age: timedelta, unusable_after: timedelta
    ) -> Answer[Value] | None:
        """Return the kept answer if it may be used without asking."""
        if snapshot is None or not timedelta(0) <= self._now() - snapshot.fetched_at < max_age:
            return None
        try:
            return self._judged(site, snapshot, unusable_after)
        except WeatherMalformed:
            return None

    def _fetch(
        self,
        places: Mapping[str, Site],
        kept: Mapping[str, Snapshot | None],
        unusable_after: timedelta,
        *,
        refresh: bool,
    ) -> dict[str, Answer[Value] | WeatherError]:
        """Ask for the places that are not resting after a failure."""
        outcomes: dict[str, Answer[Value] | WeatherError] = {}
        for key in places:
            rest = self._rests.get(key)
            if rest and not refresh and self._now() < rest.until:
                outcomes[key] = rest.error
        asked = [
            Place(key, site.latitude, site.longitude, site.elevation_m)
            for key, site in places.items()
            if key not in outcomes
        ]
        results = self._client.fetch(asked) if asked else {}
        fetched_at = self._now()
        for place in asked:
            result = results[place.key]
            if result.payload is None:
                error = result.error or WeatherMalformed(f"The {self._noun} service sent nothing.")
                outcomes[place.key] = error
            else:
                since = self._unchanged_since(kept[place.key], result.payload)
                snapshot = Snapshot(
                    place.key, self._kind, fetched_at, result.request, result.payload, since
                )
                outcomes[place.key] = self._take(places[place.key], snapshot, unusable_after)
            self._note(place.key, outcomes[place.key])
        return outcomes

    def _unchanged_since(self, before: Snapshot | None, payload: bytes) -> datetime | None:
        """Return since when a place's numbers have been these, None if they are new."""
        if before is None or self._same is None or not self._same(before.payload, payload):
            return None
        return before.first_seen

    def _take(
        self, site: Site, snapshot: Snapshot, unusable_after: timedelta
    ) -> Answer[Value] | WeatherError:
        """Read an answer and, if it can be used, keep it."""
        try:
            answer = self._judged(site, snapshot, unusable_after)
        except WeatherMalformed as error:
            return error
        try:
            self._snapshots.save(snapshot)
        except StoreError as error:  # the answer is good all the same
            log.warning("%s", error)
            return Answer(answer.value, " ".join(filter(None, (answer.problem, str(error)))))
        return answer

    def _judged(self, site: Site, snapshot: Snapshot, unusable_after: timedelta) -> Answer[Value]:
        """Return an answer, as old as its numbers where they have not changed for too long.

        Raises:
            WeatherMalformed: it cannot be read.
        """
        if snapshot.fetched_at - snapshot.first_seen <= FROZEN_AFTER:
            return Answer(self._value(site, snapshot, stale=False))
        age = self._now() - snapshot.first_seen
        told = (
            f"The {self._noun} service has sent the same numbers for {_age_words(age)}, "
            "so it may have stopped renewing them"
        )
        if age > unusable_after:
            return Answer(None, f"{told}: too old to judge by; try again later.")
        value = self._read(snapshot.payload, site, fetched_at=snapshot.first_seen, stale=True)
        return Answer(value, f"{told}; they are used as being that old.")

    def _note(self, key: str, outcome: Answer[Value] | WeatherError) -> None:
        """Let a place rest after a failure, and log it once."""
        if isinstance(outcome, Answer):
            self._rests.pop(key, None)
            return
        # The same mark for the same place each time; where a customer lives is no matter for a log.
        log.warning("Place %08x: %s", zlib.crc32(key.encode()), outcome)
        rest = REST_AFTER_FAILURE
        if isinstance(outcome, WeatherBusy):
            rest = min(max(rest, timedelta(seconds=outcome.retry_after_s)), LONGEST_REST)
        self._rests[key] = _Rest(self._now() + rest, outcome)

    def _fall_back(
        self,
        site: Site,
        snapshot: Snapshot | None,
        unusable_after: timedelta,
        error: WeatherError,
    ) -> Answer[Value]:
        """Return the last good answer with its age, or the reason why there is none."""
        if snapshot is None:
            return Answer(None, f"{error} There is no earlier {self._noun} for this place.")
        # Of a fetch in the future, which a clock set back makes, the distance counts.
        since = snapshot.fetched_at
        if since - snapshot.first_seen > FROZEN_AFTER:
            since = snapshot.first_seen
        age = abs(self._now() - since)
        told = f"The last {self._noun} is {_age_words(age)} old"
        if age > unusable_after:
            return Answer(None, f"{error} {told}, too old to judge by.")
        try:
            value = self._value(site, snapshot, stale=True)
        except WeatherMalformed as damaged:
            return Answer(None, f"{error} The last {self._noun} is of no use: {damaged}")
        return Answer(value, f"{error} {told} and is used instead.")

    def _value(self, site: Site, snapshot: Snapshot, *, stale: bool) -> Value:
        """Read an answer."""
        return self._read(snapshot.payload, site, fetched_at=snapshot.fetched_at, stale=stale)

    def _latest(self, key: str) -> Snapshot | None:
        """Return the last answer; one that cannot be read back counts as none."""
        try:
            return self._snapshots.latest(key, self._kind)
        except StoreError as error:
            log.warning("%s", error)
            return None


def _age_words(age: timedelta) -> str:
    """Return an age as a person says it."""
    minutes = age.total_seconds() / 60
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.0f} h"

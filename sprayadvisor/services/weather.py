"""The weather at each site, from the service if it can be had, else from the last good answer.

    sites → places → young enough in the store? ── yes ──────────────────→ outlook
                        │ no
                        └→ ask once for all ── read ── keep ─────────────→ outlook
                                 │ failed
                                 └→ last good answer, not too old ───────→ outlook, marked stale
                                              │ none
                                              └───────────────────────────→ the reason

An answer is read before it is kept, so that what is kept can always be used.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from sprayadvisor.advice.model import Site
from sprayadvisor.advice.outlook import Outlook
from sprayadvisor.advice.policy import Policy
from sprayadvisor.errors import StoreError, WeatherBusy, WeatherError, WeatherMalformed
from sprayadvisor.services.ports import ForecastClient, Place, Snapshot, SnapshotStore

SAME_PLACE_DEG = 0.02
SAME_PLACE_M = 20.0
KIND = "forecast"
MAX_AGE = timedelta(minutes=50)  # the service renews its forecasts hourly at most
REST_AFTER_FAILURE = timedelta(minutes=2)  # so that an outage does not slow every page down
LONGEST_REST = timedelta(hours=1)
_STEP_MIN = 15  # of an outlook

log = logging.getLogger(__name__)


class ForecastReader(Protocol):
    """Turns an answer into an outlook; ``WeatherMalformed`` if it cannot be used."""

    def __call__(self, payload: bytes, site: Site, *, fetched_at: datetime, stale: bool) -> Outlook:
        """Return the weather at the site."""
        ...


@dataclass(frozen=True, slots=True)
class SiteWeather:
    """The weather at one place, or why there is none.

    Attributes:
        outlook: the weather; None if there is none that may be judged by.
        problem: a sentence if something went wrong, also where an older outlook stands in.
    """

    outlook: Outlook | None
    problem: str = ""


@dataclass(frozen=True, slots=True)
class _Rest:
    """An error that is repeated until a time instead of asking again."""

    until: datetime
    error: WeatherError


def place_key(site: Site) -> str:
    """Return the name of the place a site lies in.

    Sites within the same 0.02° (about 2 km) and 20 m of height share one forecast.
    """
    latitude = round(site.latitude / SAME_PLACE_DEG) * SAME_PLACE_DEG + 0.0
    longitude = round(site.longitude / SAME_PLACE_DEG) * SAME_PLACE_DEG + 0.0
    height = ""
    if site.elevation_m is not None:
        height = f",{round(site.elevation_m / SAME_PLACE_M) * SAME_PLACE_M:.0f}m"
    return f"{latitude:.2f},{longitude:.2f}{height}"


class Weather:
    """Gets the weather for sites.

    Args:
        client: asks the forecast service.
        snapshots: keeps its answers.
        now: the time, aware, UTC.
        read: turns an answer into an outlook.
    """

    def __init__(
        self,
        client: ForecastClient,
        snapshots: SnapshotStore,
        now: Callable[[], datetime],
        read: ForecastReader,
    ) -> None:
        self._client, self._snapshots, self._now, self._read = client, snapshots, now, read
        self._rests: dict[str, _Rest] = {}

    def for_sites(
        self,
        sites: Sequence[Site],
        policy: Policy,
        *,
        max_age: timedelta = MAX_AGE,
        refresh: bool = False,
    ) -> dict[str, SiteWeather]:
        """Return the weather by ``place_key`` of the sites. Never raises for want of weather.

        Args:
            sites: where; a place is asked for once, however many sites lie in it.
            policy: how old weather may be.
            max_age: an answer younger than this is used without asking.
            refresh: ask in any case.
        """
        places: dict[str, Site] = {}
        for site in sites:
            places.setdefault(place_key(site), site)
        kept = {key: self._latest(key) for key in places}
        young: dict[str, SiteWeather] = {}
        for key, site in () if refresh else places.items():
            if weather := self._young(site, kept[key], max_age):
                young[key] = weather
        wanted = {key: site for key, site in places.items() if key not in young}
        fetched = {
            key: self._fall_back(places[key], kept[key], policy, outcome)
            if isinstance(outcome, WeatherError)
            else outcome
            for key, outcome in self._fetch(wanted, refresh=refresh).items()
        }
        return {key: young.get(key) or fetched[key] for key in places}

    def _young(
        self, site: Site, snapshot: Snapshot | None, max_age: timedelta
    ) -> SiteWeather | None:
        """Return the kept answer if it may be used without asking."""
        if snapshot is None or not timedelta(0) <= self._now() - snapshot.fetched_at < max_age:
            return None
        try:
            return SiteWeather(self._outlook(site, snapshot, stale=False))
        except WeatherMalformed:
            return None

    def _fetch(
        self, places: dict[str, Site], *, refresh: bool
    ) -> dict[str, SiteWeather | WeatherError]:
        """Ask for the places that are not resting after a failure."""
        outcomes: dict[str, SiteWeather | WeatherError] = {}
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
                error = result.error or WeatherMalformed("The forecast service sent nothing.")
                outcomes[place.key] = error
            else:
                snapshot = Snapshot(place.key, KIND, fetched_at, result.request, result.payload)
                outcomes[place.key] = self._take(places[place.key], snapshot)
            self._note(place.key, outcomes[place.key])
        return outcomes

    def _take(self, site: Site, answer: Snapshot) -> SiteWeather | WeatherError:
        """Read an answer and, if it can be used, keep it."""
        try:
            outlook = self._outlook(site, answer, stale=False)
        except WeatherMalformed as error:
            return error
        try:
            self._snapshots.save(
                answer.place, answer.kind, answer.fetched_at, answer.request, answer.payload
            )
        except StoreError as error:  # the weather is good all the same
            log.warning("%s", error)
            return SiteWeather(outlook, str(error))
        return SiteWeather(outlook)

    def _note(self, key: str, outcome: SiteWeather | WeatherError) -> None:
        """Let a place rest after a failure, and log it once."""
        if isinstance(outcome, SiteWeather):
            self._rests.pop(key, None)
            return
        log.warning("%s: %s", key, outcome)
        rest = REST_AFTER_FAILURE
        if isinstance(outcome, WeatherBusy):
            rest = min(max(rest, timedelta(seconds=outcome.retry_after_s)), LONGEST_REST)
        self._rests[key] = _Rest(self._now() + rest, outcome)

    def _fall_back(
        self, site: Site, snapshot: Snapshot | None, policy: Policy, error: WeatherError
    ) -> SiteWeather:
        """Return the last good answer with its age, or the reason why there is none."""
        if snapshot is None:
            return SiteWeather(None, f"{error} There is no earlier forecast for this place.")
        # Of a fetch in the future, which a clock set back makes, the distance counts.
        age = abs(self._now() - snapshot.fetched_at)
        told = f"The last forecast is {_age_words(age)} old"
        if age > timedelta(hours=policy.unusable_after_h):
            return SiteWeather(None, f"{error} {told}, too old to judge by.")
        try:
            outlook = self._outlook(site, snapshot, stale=True)
        except WeatherMalformed as damaged:
            return SiteWeather(None, f"{error} The last forecast is of no use: {damaged}")
        return SiteWeather(outlook, f"{error} {told} and is used instead.")

    def _outlook(self, site: Site, answer: Snapshot, *, stale: bool) -> Outlook:
        """Read an answer and see that it is about the present.

        Raises:
            WeatherMalformed: it cannot be read, or now lies outside the time it covers.
        """
        outlook = self._read(answer.payload, site, fetched_at=answer.fetched_at, stale=stale)
        minute = outlook.minute_of(self._now())
        minutes = len(outlook) * _STEP_MIN
        if not 0 <= minute < minutes:
            begin, end = outlook.begins, outlook.time_of(minutes)
            raise WeatherMalformed(
                f"The forecast runs from {begin:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M} UTC and "
                "does not cover the present; check this computer's clock, and ask again."
            )
        return outlook

    def _latest(self, key: str) -> Snapshot | None:
        """Return the last answer; one that cannot be read back counts as none."""
        try:
            return self._snapshots.latest(key, KIND)
        except StoreError as error:
            log.warning("%s", error)
            return None


def _age_words(age: timedelta) -> str:
    """Return an age as a person says it."""
    minutes = age.total_seconds() / 60
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.0f} h"

"""The weather at each site: the forecast, and beside it what is known of the air.

sites → places ─┬─ forecast ──── none? the job cannot be judged, and the reason is told
                ├─ air quality ─ none? pollen and fine dust are not known, and nothing else
                └─ ensemble ──── none? the odds come from the usual errors of a forecast
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sprayadvisor.advice.model import Site
from sprayadvisor.advice.outlook import AirQuality, Outlook
from sprayadvisor.advice.policy import Policy
from sprayadvisor.errors import WeatherMalformed
from sprayadvisor.services.answers import Answer, Answers, Reader
from sprayadvisor.services.ports import ForecastClient, SnapshotStore

SAME_PLACE_DEG = 0.02
SAME_PLACE_M = 20.0
MAX_AGE = timedelta(minutes=50)  # the service renews its forecasts hourly at most
AIR_MAX_AGE = timedelta(hours=6)  # and its air quality once or twice a day
READ_KEPT = 64  # sites whose last forecast is kept as it was read; each is a good hundred kB
RUNS_MAX_AGE = timedelta(hours=6)  # an ensemble is run as often
_STEP_MIN = 15  # of an outlook


@dataclass(frozen=True, slots=True)
class SiteWeather:
    """The weather at one place, or why there is none.

    Attributes:
        outlook: the weather; None if there is none that may be judged by.
        problem: a sentence if something went wrong, also where an older outlook stands in.
        air: pollen and fine dust; None where nothing is known of them.
        air_problem: a sentence if they could not be had.
        runs: the same weather in each run of an ensemble; empty where none is asked for or had.
        runs_problem: a sentence if they could not be had.
    """

    outlook: Outlook | None
    problem: str = ""
    air: AirQuality | None = None
    air_problem: str = ""
    runs: tuple[Outlook, ...] = ()
    runs_problem: str = ""


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
        air_client: asks the air-quality service; without it the air is not known.
        read_air: turns an answer into pollen and fine dust.
        same: whether two forecasts hold the same numbers.
        ensemble: asks an ensemble service and reads its answers; without it there are no runs.
    """

    def __init__(
        self,
        client: ForecastClient,
        snapshots: SnapshotStore,
        now: Callable[[], datetime],
        read: Reader[Outlook],
        air_client: ForecastClient | None = None,
        read_air: Reader[AirQuality] | None = None,
        same: Callable[[bytes, bytes], bool] | None = None,
        ensemble: tuple[ForecastClient, Reader[tuple[Outlook, ...]]] | None = None,
    ) -> None:
        self._now, self._read = now, read
        self._lock = threading.Lock()
        self._read_before: dict[object, tuple[object, Outlook]] = {}
        # Whoever comes second finds the answer of the first and does not ask again.
        self._one_at_a_time = threading.Lock()
        self._forecasts = Answers(
            client, snapshots, now, self._outlook, kind="forecast", noun="forecast", same=same
        )
        self._air: Answers[AirQuality] | None = None
        if air_client is not None and read_air is not None:
            self._air = Answers(
                air_client,
                snapshots,
                now,
                read_air,
                kind="air_quality",
                noun="air-quality forecast",
            )
        self._runs: Answers[tuple[Outlook, ...]] | None = None
        if ensemble is not None:
            asked, read_runs = ensemble
            self._runs = Answers(asked, snapshots, now, read_runs, kind="ensemble", noun="ensemble")

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
            max_age: a forecast younger than this is used without asking.
            refresh: ask in any case.
        """
        places: dict[str, Site] = {}
        for site in sites:
            places.setdefault(place_key(site), site)
        unusable_after = timedelta(hours=policy.unusable_after_h)
        with self._one_at_a_time:
            found = self._forecasts.for_places(
                places, max_age=max_age, unusable_after=unusable_after, refresh=refresh
            )
            judged = {key: site for key, site in places.items() if found[key].value is not None}
            airs: dict[str, Answer[AirQuality]] = {}
            if self._air is not None:
                airs = self._air.for_places(
                    judged, max_age=AIR_MAX_AGE, unusable_after=unusable_after, refresh=refresh
                )
            runs: dict[str, Answer[tuple[Outlook, ...]]] = {}
            if self._runs is not None:
                runs = self._runs.for_places(
                    judged, max_age=RUNS_MAX_AGE, unusable_after=unusable_after, refresh=refresh
                )
        no_air: Answer[AirQuality] = Answer(None)
        no_runs: Answer[tuple[Outlook, ...]] = Answer(None)
        return {
            key: SiteWeather(
                answer.value,
                answer.problem,
                airs.get(key, no_air).value,
                airs.get(key, no_air).problem,
                runs.get(key, no_runs).value or (),
                runs.get(key, no_runs).problem,
            )
            for key, answer in found.items()
        }

    def _read_once(self, payload: bytes, site: Site, fetched_at: datetime, stale: bool) -> Outlook:
        """Read a forecast, or return what was read of these very bytes for this site before.

        Whoever asks at the car shall not wait for what a brief has read already.
        """
        where = (site.latitude, site.longitude, site.elevation_m)
        mark = (fetched_at, stale, hashlib.sha256(payload).digest())
        with self._lock:
            before, known = self._read_before.get(where, (None, None))
        if known is None or before != mark:
            known = self._read(payload, site, fetched_at=fetched_at, stale=stale)
            with self._lock:
                # The newest of a site alone, so that it does not grow with the days.
                self._read_before.pop(where, None)
                self._read_before[where] = (mark, known)
                while len(self._read_before) > READ_KEPT:
                    self._read_before.pop(next(iter(self._read_before)))
        return known

    def _outlook(self, payload: bytes, site: Site, *, fetched_at: datetime, stale: bool) -> Outlook:
        """Read a forecast and see that it is about the present.

        Raises:
            WeatherMalformed: it cannot be read, or now lies outside the time it covers.
        """
        outlook = self._read_once(payload, site, fetched_at, stale)
        minute = outlook.minute_of(self._now())
        minutes = len(outlook) * _STEP_MIN
        if not 0 <= minute < minutes:
            begin, end = outlook.begins, outlook.time_of(minutes)
            raise WeatherMalformed(
                f"The forecast runs from {begin:%Y-%m-%d %H:%M} to {end:%Y-%m-%d %H:%M} UTC and "
                "does not cover the present; check this computer's clock, and ask again."
            )
        return outlook

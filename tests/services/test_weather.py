"""The weather use case: one call a place, young answers reused, old ones standing in, reasons."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
import weather_payloads as weather

from sprayadvisor.adapters.open_meteo import OpenMeteo, read_air_quality, read_outlook, same_values
from sprayadvisor.advice.model import Site
from sprayadvisor.advice.policy import Policy
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.errors import (
    StoreError,
    WeatherBusy,
    WeatherMalformed,
    WeatherRefused,
    WeatherUnreachable,
)
from sprayadvisor.services.ports import FetchResult, Snapshot
from sprayadvisor.services.weather import READ_KEPT, Weather, place_key

NOON = datetime(2026, 4, 18, 12, 0, tzinfo=UTC)
POLICY = Policy(unusable_after_h=18.0)
YARD = Site("Yard", 52.051, 1.051, "Europe/London", elevation_m=31.0)
NEXT_DOOR = Site("Next door", 52.053, 1.054, "Europe/London", elevation_m=33.0)
FARM = Site("Farm", 57.02, -4.01, "Europe/London")
GONE = WeatherUnreachable("The forecast service could not be reached; check the connection.")


def body(hours: int = 72, begin: datetime = weather.BEGIN, **columns: list) -> bytes:
    """Return an answer as bytes."""
    return json.dumps(weather.answer(hours, begin, **columns)).encode()


class Clock:
    """A time that tests move."""

    def __init__(self) -> None:
        self.time = NOON

    def __call__(self) -> datetime:
        return self.time

    def later(self, **delta: float) -> None:
        self.time += timedelta(**delta)


class Service:
    """A forecast client that answers from a list of bodies or errors."""

    def __init__(self, reply: bytes | Exception) -> None:
        self.reply: bytes | Exception = reply
        self.by_latitude: dict[float, bytes | Exception] = {}
        self.calls: list[list] = []

    def fetch(self, places):
        self.calls.append(list(places))
        return {place.key: self.result(place) for place in places}

    def result(self, place) -> FetchResult:
        reply = self.by_latitude.get(place.latitude, self.reply)
        if isinstance(reply, bytes):
            return FetchResult(reply, "http://forecast.invalid/?x", None)
        return FetchResult(None, "http://forecast.invalid/?x", reply)


class Shelf:
    """A snapshot store in memory."""

    def __init__(self) -> None:
        self.kept: list[Snapshot] = []
        self.broken = ""

    def save(self, snapshot) -> None:
        if self.broken == "save":
            raise StoreError("The disk is full; make room.")
        self.kept.append(snapshot)

    def latest(self, place, kind="forecast"):
        if self.broken == "latest":
            raise StoreError("The stored forecast is damaged; fetch the weather again.")
        found = [kept for kept in self.kept if (kept.place, kept.kind) == (place, kind)]
        return max(found, key=lambda kept: kept.fetched_at, default=None)


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def service():
    return Service(body())


@pytest.fixture
def shelf():
    return Shelf()


@pytest.fixture
def forecasts(service, shelf, clock):
    return Weather(service, shelf, clock, read_outlook, same=same_values)


@pytest.mark.parametrize(
    ("latitude", "longitude", "elevation_m", "key"),
    [
        (52.051, 1.051, 31.0, "52.06,1.06,40m"),
        (52.069, 1.069, 49.9, "52.06,1.06,40m"),
        (52.071, 1.051, 31.0, "52.08,1.06,40m"),
        (52.051, 1.051, 51.0, "52.06,1.06,60m"),
        (52.051, 1.051, None, "52.06,1.06"),
        (-0.001, -0.001, 0.0, "0.00,0.00,0m"),
        (-33.873, -151.2, -3.0, "-33.88,-151.20,0m"),
    ],
)
def test_sites_within_a_fiftieth_of_a_degree_and_twenty_metres_are_one_place(
    latitude, longitude, elevation_m, key
):
    """Keys are the place's rounded position, without a minus before zero."""
    assert place_key(Site("x", latitude, longitude, "UTC", elevation_m=elevation_m)) == key


def test_a_place_is_asked_for_once_and_kept(forecasts, service, shelf):
    """Two sites in one place cost one question; what was read is kept with its request."""
    found = forecasts.for_sites([YARD, NEXT_DOOR, FARM], POLICY)
    assert list(found) == [place_key(YARD), place_key(FARM)]
    ((yard, farm),) = service.calls
    assert (yard.latitude, yard.longitude, yard.elevation_m) == (52.051, 1.051, 31.0)
    assert (farm.latitude, farm.longitude, farm.elevation_m) == (57.02, -4.01, None)
    assert [kept.place for kept in shelf.kept] == list(found)
    assert shelf.kept[0] == Snapshot(
        place_key(YARD), "forecast", NOON, "http://forecast.invalid/?x", body()
    )


def test_the_outlook_carries_weather_and_where_it_is_from(forecasts):
    """Quarter hours of the answer, its source and age, nothing stale and no problem."""
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.problem == ""
    outlook = found.outlook
    assert len(outlook) == 71 * 4
    assert outlook.begins == weather.BEGIN
    assert outlook["air_temp_c"][40] == pytest.approx(
        np.interp(10.125, range(72), weather.series(72)["temperature_2m"])
    )
    assert outlook.provenance.source == "Open-Meteo.com"
    assert outlook.provenance.fetched_at == NOON
    assert not outlook.provenance.stale
    assert not outlook.provenance.quarter_hours_native
    assert (outlook.suspect, outlook.missing) == ((), ())


def test_doubts_and_gaps_of_the_answer_reach_the_outlook(forecasts, service):
    """Suspect hours and missing quantities are told, not only emptied."""
    service.reply = body(relative_humidity_2m=[104] * 72, cloud_cover=[None] * 72)
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook.missing == ("cloud_fraction",)
    assert "104 is above 100" in found.outlook.suspect[0]
    assert np.isnan(found.outlook["rh_pct"]).all()


def test_no_sites_need_no_weather(forecasts, service):
    """Nothing is asked for nobody."""
    assert forecasts.for_sites([], POLICY) == {}
    assert service.calls == []


def test_a_young_answer_is_used_without_asking(forecasts, service, clock):
    """Within fifty minutes nothing is asked; after them it is, and then the new one counts."""
    forecasts.for_sites([YARD], POLICY)
    clock.later(minutes=49)
    (young,) = forecasts.for_sites([NEXT_DOOR], POLICY).values()
    assert len(service.calls) == 1
    assert young.outlook.provenance.fetched_at == NOON
    assert not young.outlook.provenance.stale
    clock.later(minutes=1)
    (new,) = forecasts.for_sites([YARD], POLICY).values()
    assert len(service.calls) == 2
    assert new.outlook.provenance.fetched_at == NOON + timedelta(minutes=50)


def test_how_young_is_for_the_caller_to_say(forecasts, service, clock):
    """A shorter age or a refresh asks again."""
    forecasts.for_sites([YARD], POLICY)
    clock.later(minutes=10)
    forecasts.for_sites([YARD], POLICY, max_age=timedelta(minutes=5))
    assert len(service.calls) == 2
    forecasts.for_sites([YARD], POLICY, refresh=True)
    assert len(service.calls) == 3


def test_an_answer_from_the_future_is_not_young(forecasts, service, clock):
    """After the clock was set back, the service is asked again."""
    forecasts.for_sites([YARD], POLICY)
    clock.later(hours=-2)
    forecasts.for_sites([YARD], POLICY)
    assert len(service.calls) == 2


def test_a_kept_answer_that_cannot_be_read_is_asked_for_anew(forecasts, service, shelf):
    """A young answer of another make is no reason to go without weather."""
    shelf.save(Snapshot(place_key(YARD), "forecast", NOON, "", b"{}"))
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook is not None
    assert len(service.calls) == 1


def test_without_the_service_the_last_answer_stands_in_with_its_age(forecasts, service, clock):
    """It is marked stale, keeps its own time, and the reason and age are told."""
    forecasts.for_sites([YARD], POLICY)
    service.reply = GONE
    clock.later(hours=7)
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook.provenance.stale
    assert found.outlook.provenance.fetched_at == NOON
    assert found.outlook.provenance.age(clock()) == timedelta(hours=7)
    assert found.problem == f"{GONE} The last forecast is 7 h old and is used instead."


@pytest.mark.parametrize(
    ("hours", "usable", "words"),
    [(1.0, True, "60 min old"), (18.0, True, "18 h old"), (18.1, False, "18 h old, too old"),
     (40.0, False, "40 h old, too old to judge by")],
)  # fmt: skip
def test_beyond_the_policys_age_nothing_is_judged(forecasts, service, clock, hours, usable, words):
    """Weather older than the policy allows is none, and the sentence says so."""
    forecasts.for_sites([YARD], POLICY)
    service.reply = GONE
    clock.later(hours=hours)
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert (found.outlook is not None) is usable
    assert words in found.problem
    assert found.problem.startswith(str(GONE))


def test_without_service_and_store_there_is_a_reason(forecasts, service, shelf):
    """The first day without a connection judges nothing, and nothing is kept."""
    service.reply = GONE
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook is None
    assert found.problem == f"{GONE} There is no earlier forecast for this place."
    assert shelf.kept == []


def test_one_place_without_weather_does_not_cost_the_others(forecasts, service):
    """Each place has its own outcome."""
    service.by_latitude[FARM.latitude] = WeatherRefused("No weather there; check the site.")
    found = forecasts.for_sites([YARD, FARM], POLICY)
    assert found[place_key(YARD)].outlook is not None
    assert found[place_key(FARM)].outlook is None
    assert "check the site" in found[place_key(FARM)].problem


BAD = {
    "no JSON": b"<html>",
    "wrong units": body().replace(b'"m/s"', b'"km/h"'),
    "a column short": body(precipitation=[0.0] * 71),
    "one hour only": body(hours=1, begin=NOON),
    "of the past": body(begin=datetime(2026, 4, 1, tzinfo=UTC)),
    "of the future": body(begin=datetime(2026, 5, 1, tzinfo=UTC)),
    "ending now": body(hours=13),
}


@pytest.mark.parametrize("bad", BAD.values(), ids=BAD.keys())
def test_an_answer_that_cannot_be_used_never_replaces_a_good_one(
    forecasts, service, shelf, clock, bad
):
    """It is read before it is kept; the good one stands in, the reason is told."""
    forecasts.for_sites([YARD], POLICY)
    clock.later(hours=2) if bad is not BAD["ending now"] else clock.later(minutes=55)
    service.reply = bad
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert [kept.payload for kept in shelf.kept] == [body()]
    assert found.outlook.provenance.stale
    assert found.outlook.provenance.fetched_at == NOON
    assert "and is used instead." in found.problem


def test_an_answer_about_another_time_is_told_as_such(forecasts, service):
    """A wrong clock shows as a forecast that does not cover the present."""
    service.reply = BAD["of the past"]
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook is None
    assert "runs from 2026-04-01 00:00 to 2026-04-03 23:00 UTC" in found.problem
    assert "check this computer's clock" in found.problem


def test_the_last_step_of_the_forecast_still_covers_the_present(forecasts, service, clock):
    """A quarter of an hour before its end a forecast is of use, at its end it is not."""
    service.reply = body(hours=13)
    clock.time = NOON - timedelta(minutes=15)
    assert forecasts.for_sites([YARD], POLICY)[place_key(YARD)].outlook is not None


def test_a_last_answer_that_cannot_be_used_does_not_stand_in(forecasts, service, shelf):
    """Both reasons are told."""
    shelf.save(Snapshot(place_key(YARD), "forecast", NOON - timedelta(hours=3), "", b"{}"))
    service.reply = GONE
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook is None
    assert str(GONE) in found.problem
    assert "The last forecast is of no use: The answer from Open-Meteo.com" in found.problem


def test_a_failure_is_not_asked_about_again_at_once(forecasts, service, clock):
    """For two minutes the reason is repeated; then, or on demand, the service is asked again."""
    service.reply = GONE
    for _ in range(3):
        (found,) = forecasts.for_sites([YARD], POLICY).values()
        assert str(GONE) in found.problem
    assert len(service.calls) == 1
    forecasts.for_sites([YARD, FARM], POLICY)
    assert [place.key for place in service.calls[1]] == [place_key(FARM)]
    forecasts.for_sites([YARD], POLICY, refresh=True)
    assert len(service.calls) == 3
    clock.later(minutes=2)
    service.reply = body()
    assert forecasts.for_sites([YARD], POLICY)[place_key(YARD)].problem == ""


@pytest.mark.parametrize(("retry_s", "rest_s"), [(1800, 1800), (10, 120), (50_000, 3600)])
def test_a_busy_service_is_left_alone_until_its_limit_falls_away(
    forecasts, service, clock, retry_s, rest_s
):
    """As long as it says, but two minutes at least and an hour at most."""
    service.reply = WeatherBusy("No more calls; wait.", retry_s)
    forecasts.for_sites([YARD], POLICY)
    clock.later(seconds=rest_s - 1)
    forecasts.for_sites([YARD], POLICY)
    assert len(service.calls) == 1
    clock.later(seconds=1)
    forecasts.for_sites([YARD], POLICY)
    assert len(service.calls) == 2


def test_an_answer_that_cannot_be_kept_is_used_all_the_same(forecasts, shelf):
    """A full disk costs the store its copy, not the painter his weather; it is told."""
    shelf.broken = "save"
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook is not None
    assert found.problem == "The disk is full; make room."


def test_a_store_that_cannot_be_read_counts_as_empty(forecasts, service, shelf, caplog):
    """The service is asked, and the log says why."""
    shelf.broken = "latest"
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook is not None
    assert "The stored forecast is damaged" in caplog.text


def test_a_client_that_sends_nothing_is_no_weather(forecasts, service, monkeypatch):
    """A result with neither body nor error is a failure like any other."""
    monkeypatch.setattr(service, "result", lambda _: FetchResult(None, "", None))
    (found,) = forecasts.for_sites([YARD], POLICY).values()
    assert found.outlook is None
    assert "The forecast service sent nothing" in found.problem


def test_an_answer_of_one_hour_is_malformed():
    """One stamp makes no quarter hours."""
    with pytest.raises(WeatherMalformed, match="cannot be used: it is too short"):
        read_outlook(body(hours=1), YARD, fetched_at=NOON, stale=False)


def test_from_the_loopback_service_to_the_outlook_and_back_to_the_store(shelf, clock):
    """The real client and reader: weather, then a broken service, then the stored answer."""
    with WeatherServer({(52.0, 1.0): weather.series(72)}) as server:
        client = OpenMeteo(server.url, sleep=lambda _: None)
        forecasts = Weather(client, shelf, clock, read_outlook)
        (fresh,) = forecasts.for_sites([YARD], POLICY).values()
        server.faults.switch(Fault.SHORT_COLUMN, column="wind_gusts_10m")
        clock.later(hours=1)
        (old,) = forecasts.for_sites([YARD], POLICY).values()
        client.close()
    assert not fresh.outlook.provenance.stale
    assert old.outlook.provenance.stale
    assert "hourly.wind_gusts_10m has 71 values for 72 times" in old.problem
    np.testing.assert_array_equal(fresh.outlook["gust_10m_ms"], old.outlook["gust_10m_ms"])


AIR_HOURS = [f"2026-04-18T{hour:02}:00" for hour in range(24)]


def air_body(grains: float = 30.0) -> bytes:
    """Return an answer of the air-quality service with birch and no other pollen."""
    names = [f"{plant}_pollen" for plant in ("alder", "grass", "mugwort", "olive", "ragweed")]
    return json.dumps(
        {
            "utc_offset_seconds": 0,
            "hourly_units": {"time": "iso8601", "pm10": "\u03bcg/m³", "birch_pollen": "grains/m³"}
            | dict.fromkeys(names, "grains/m³"),
            "hourly": {"time": AIR_HOURS, "pm10": [9.0] * 24, "birch_pollen": [grains] * 24}
            | dict.fromkeys(names, [None] * 24),
        }
    ).encode()


@pytest.fixture
def air():
    return Service(air_body())


@pytest.fixture
def both(service, air, shelf, clock):
    return Weather(service, shelf, clock, read_outlook, air, read_air_quality)


def test_air_comes_beside_the_forecast_and_is_kept_longer(both, air, service, shelf, clock):
    """Both kinds are kept; hours later only the forecast is asked for anew."""
    found = both.for_sites([YARD], POLICY)[place_key(YARD)]
    assert found.air.values["birch_pollen_m3"][0] == 30.0
    assert found.air_problem == ""
    assert {kept.kind for kept in shelf.kept} == {"forecast", "air_quality"}
    clock.later(hours=5)
    both.for_sites([YARD], POLICY)
    assert (len(service.calls), len(air.calls)) == (2, 1)
    clock.later(hours=2)
    both.for_sites([YARD], POLICY)
    assert len(air.calls) == 2


@pytest.mark.parametrize("reply", [GONE, b"[]", b"{"], ids=["gone", "list", "cut"])
def test_without_air_quality_the_forecast_is_as_good(both, air, reply):
    """A service that fails or garbles costs nothing but what it alone knows."""
    air.reply = reply
    found = both.for_sites([YARD], POLICY)[place_key(YARD)]
    assert found.outlook is not None
    assert found.problem == ""
    assert found.air is None
    assert found.air_problem.endswith("There is no earlier air-quality forecast for this place.")


def test_an_older_air_quality_stands_in(both, air, clock):
    """It is used with its age told, until it is too old."""
    both.for_sites([YARD], POLICY)
    air.reply = GONE
    clock.later(hours=7)
    found = both.for_sites([YARD], POLICY)[place_key(YARD)]
    assert found.air.provenance.stale
    assert "last air-quality forecast is 7 h old and is used" in found.air_problem


def test_where_nothing_is_judged_the_air_is_not_asked_about(both, air, service):
    """A place without a forecast needs no pollen."""
    service.reply = GONE
    found = both.for_sites([YARD], POLICY)[place_key(YARD)]
    assert found.outlook is None
    assert air.calls == []
    assert (found.air, found.air_problem) == (None, "")


def test_numbers_that_do_not_change_count_as_old(forecasts, service, shelf, clock):
    """The same forecast for half a day is used as being that old; at last nothing is judged by it.

    A forecast renewed with the same numbers within a model run is not held against anybody.
    """
    first = forecasts.for_sites([YARD], POLICY)[place_key(YARD)]
    assert first.problem == ""
    for _ in range(12):
        clock.later(hours=1)
        found = forecasts.for_sites([YARD], POLICY)[place_key(YARD)]
        assert (found.problem, found.outlook.provenance.fetched_at) == ("", clock())
    clock.later(hours=1)
    frozen = forecasts.for_sites([YARD], POLICY)[place_key(YARD)]
    assert frozen.problem == (
        "The forecast service has sent the same numbers for 13 h, so it may have stopped renewing "
        "them; they are used as being that old."
    )
    assert frozen.outlook.provenance.fetched_at == NOON
    assert frozen.outlook.provenance.stale
    # From the store it is as old, and so it is where the service then falls silent.
    assert forecasts.for_sites([YARD], POLICY)[place_key(YARD)].problem == frozen.problem
    clock.later(hours=2)
    service.reply = GONE
    silent = forecasts.for_sites([YARD], POLICY)[place_key(YARD)]
    assert "The last forecast is 15 h old and is used instead." in silent.problem
    service.reply = body()
    clock.later(hours=4)
    gone = forecasts.for_sites([YARD], POLICY)[place_key(YARD)]
    assert gone.outlook is None
    assert "the same numbers for 19 h" in gone.problem
    assert "too old to judge by" in gone.problem
    service.reply = body(air_temp_c=[9.9] * 72)
    clock.later(hours=1)
    renewed = forecasts.for_sites([YARD], POLICY)[place_key(YARD)]
    assert (renewed.problem, renewed.outlook.provenance.fetched_at) == ("", clock())


def test_a_clock_set_back_freezes_nothing(forecasts, clock):
    """An answer first seen in what is now the future is no older than its fetch."""
    clock.later(hours=24)
    forecasts.for_sites([YARD], POLICY)
    clock.later(hours=-20)
    assert forecasts.for_sites([YARD], POLICY, refresh=True)[place_key(YARD)].problem == ""


RUNS = (object(),) * 12


def with_ensemble(service, shelf, clock, asked, read=lambda *_a, **_k: RUNS):
    """Return the use case with an ensemble service."""
    return Weather(service, shelf, clock, read_outlook, ensemble=(asked, read))


def test_runs_come_with_the_forecast_and_are_asked_for_every_six_hours(service, shelf, clock):
    """They are kept like any answer, and young ones are used again."""
    asked = Service(b"{}")
    weather_of = with_ensemble(service, shelf, clock, asked)
    assert weather_of.for_sites([YARD], POLICY)[place_key(YARD)].runs == RUNS
    clock.later(hours=5)
    assert weather_of.for_sites([YARD], POLICY)[place_key(YARD)].runs == RUNS
    assert len(asked.calls) == 1
    clock.later(hours=2)
    weather_of.for_sites([YARD], POLICY)
    assert len(asked.calls) == 2
    assert {kept.kind for kept in shelf.kept} == {"forecast", "ensemble"}


def test_without_runs_there_is_a_forecast_all_the_same(service, shelf, clock):
    """The reason is told; nothing else is lost."""
    found = with_ensemble(service, shelf, clock, Service(GONE)).for_sites([YARD], POLICY)
    (one,) = found.values()
    assert one.outlook is not None
    assert one.problem == ""
    assert one.runs == ()
    assert "There is no earlier ensemble for this place." in one.runs_problem


def test_no_runs_are_asked_for_where_there_is_no_forecast(shelf, clock):
    """They would judge nothing."""
    asked = Service(b"{}")
    with_ensemble(Service(GONE), shelf, clock, asked).for_sites([YARD], POLICY)
    assert asked.calls == []


def test_a_forecast_is_read_once_and_another_anew(service, shelf, clock):
    """The same bytes of the same fetch are not read again; other bytes or a later fetch are."""
    reads = []

    def read(*args, **options):
        reads.append(options["fetched_at"])
        return read_outlook(*args, **options)

    weather_of = Weather(service, shelf, clock, read)
    first = weather_of.for_sites([YARD], POLICY)[place_key(YARD)].outlook
    assert weather_of.for_sites([YARD], POLICY)[place_key(YARD)].outlook is first
    assert len(reads) == 1
    clock.later(hours=1)
    service.reply = body(air_temp_c=[9.9] * 72)
    assert weather_of.for_sites([YARD], POLICY)[place_key(YARD)].outlook is not first
    assert len(reads) == 2
    assert len(weather_of._read_before) == 1


def test_what_was_read_is_kept_of_so_many_sites_and_no_more(service, shelf, clock):
    """The site that was read longest ago goes first."""
    reads = []

    def read(payload, site, **options):
        reads.append(site.name)
        return read_outlook(payload, site, **options)

    weather_of = Weather(service, shelf, clock, read)
    sites = [replace(YARD, name=f"S{n}", latitude=50 + n / 10) for n in range(READ_KEPT + 1)]
    for site in sites:
        weather_of.for_sites([site], POLICY)
    assert len(weather_of._read_before) == READ_KEPT
    reads.clear()
    weather_of.for_sites([sites[-1]], POLICY)
    weather_of.for_sites([sites[0]], POLICY)
    assert reads == ["S0"]

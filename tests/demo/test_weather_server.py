"""The loopback forecast service, alone and with the real client and parser against it."""

from __future__ import annotations

import socket
import threading
import time
from contextlib import contextmanager
from datetime import UTC, datetime

import pytest
import requests
import weather_payloads as weather

from sprayadvisor.adapters.open_meteo import OpenMeteo, parse_forecast
from sprayadvisor.demo.weather_answers import UNITS
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.errors import (
    WeatherBusy,
    WeatherMalformed,
    WeatherRefused,
    WeatherUnreachable,
)
from sprayadvisor.services.ports import Place

SERIES = weather.series(hours=48)
MILD, COLD = (52.0, 1.0), (57.0, -4.0)
PLACES = {MILD: SERIES, COLD: SERIES | {"temperature_2m": [-5.0] * 48}}
HERE = Place("here", 52.05, 1.05, 31.0)
FARM = Place("farm", 57.02, -4.01, 120.0)


@pytest.fixture
def server():
    with WeatherServer(PLACES) as server:
        yield server


@contextmanager
def client_of(server: WeatherServer, key: str | None = None, **options):
    """Give a client that does not sleep."""
    pauses: list[float] = []
    client = OpenMeteo(
        server.url,
        key,
        sleep=pauses.append,
        now=lambda: datetime(2026, 4, 18, 9, 20, 40, tzinfo=UTC),
        **options,
    )
    try:
        yield client
    finally:
        client.close()


def ask(server: WeatherServer, path: str = "/v1/forecast", **query: object) -> requests.Response:
    """Ask without the client."""
    return requests.get(server.url + path, params=query, timeout=5)


def test_it_listens_on_the_loopback_only(server):
    """Nobody else on the network reaches it."""
    assert server.url.startswith("http://127.0.0.1:")
    port = int(server.url.rsplit(":", 1)[1])
    assert server._http.socket.getsockname() == ("127.0.0.1", port)


def test_one_place_is_an_object_with_keys_in_the_api_order(server):
    """Only what was asked for comes, in the order of the API, without a location_id."""
    reply = ask(server, latitude=52.05, longitude=1.05, hourly="temperature_2m,precipitation",
                elevation=31)  # fmt: skip
    assert reply.headers["Content-Type"] == "application/json; charset=utf-8"
    answer = reply.json()
    assert list(answer) == [
        "latitude", "longitude", "generationtime_ms", "utc_offset_seconds", "timezone",
        "timezone_abbreviation", "elevation", "hourly_units", "hourly",
    ]  # fmt: skip
    assert answer["elevation"] == 31.0
    assert (answer["latitude"], answer["longitude"]) == (52.0625, 1.0625)
    assert answer["hourly_units"] == {
        "time": "iso8601",
        "temperature_2m": "°C",
        "precipitation": "mm",
    }
    assert answer["hourly"] == {
        name: SERIES[name] for name in ("time", "temperature_2m", "precipitation")
    }


def test_several_places_are_a_list_and_all_but_the_first_are_numbered(server):
    """The order is that of the request; each gets the series nearest to it."""
    answers = ask(
        server, latitude="57.02,52.05,57", longitude="-4,1,-4", hourly="temperature_2m"
    ).json()
    assert [answer.get("location_id") for answer in answers] == [None, 1, 2]
    assert [answer["hourly"]["temperature_2m"][0] for answer in answers] == [
        -5.0,
        SERIES["temperature_2m"][0],
        -5.0,
    ]


def test_wind_is_in_km_h_unless_metres_per_second_are_asked_for(server):
    """A client that forgets the unit gets the API's default and says so in the units."""
    where = {"latitude": 52, "longitude": 1, "hourly": "wind_speed_10m"}
    default, metric = ask(server, **where).json(), ask(server, wind_speed_unit="ms", **where).json()
    assert default["hourly_units"]["wind_speed_10m"] == "km/h"
    assert metric["hourly_units"]["wind_speed_10m"] == "m/s"
    assert default["hourly"]["wind_speed_10m"] == pytest.approx(
        [value * 3.6 for value in metric["hourly"]["wind_speed_10m"]], abs=0.051
    )


def test_a_variable_without_a_series_is_null_in_no_unit():
    """Like the API for a model that lacks a variable."""
    with WeatherServer({MILD: {"time": SERIES["time"]}}) as server:
        answer = ask(server, latitude=52, longitude=1, hourly="surface_pressure").json()
    assert answer["hourly"]["surface_pressure"] == [None] * 48
    assert answer["hourly_units"]["surface_pressure"] == "undefined"


@pytest.mark.parametrize(
    ("query", "reason"),
    [
        ({"latitude": 91}, "Latitude must be in range of -90 to 90°. Given: 91.0."),
        ({"longitude": 181}, "Longitude must be in range of -180 to 180°. Given: 181.0."),
        ({"latitude": 10}, "No data is available for this location"),
        ({"latitude": "nan"}, "Latitude must be in range of -90 to 90°. Given: nan."),
        ({"latitude": "x"}, "Parameter 'latitude' is not a list of numbers"),
        ({"latitude": None}, "Parameter 'latitude' is required"),
        ({"latitude": "1,2"}, "Parameter 'latitude' and 'longitude' must have the same number"),
        ({"elevation": "1,2"}, "Parameter 'elevation' must have the same number"),
        ({"hourly": "temperature"}, "from invalid String value temperature."),
        ({"forecast_days": 17}, "Forecast days is invalid. Allowed range 0 to 16. Given 17."),
        ({"latitude": "1," * 1000 + "1", "longitude": "1," * 1000 + "1"}, "Only up to 1000 loc"),
    ],
)
def test_a_wrong_request_is_refused_like_the_api_does(server, query, reason):
    """Status 400 and the reason in an error object."""
    reply = ask(server, **({"latitude": 52, "longitude": 1, "hourly": "precipitation"} | query))
    assert reply.status_code == 400
    assert reply.json()["error"] is True
    assert reason in reply.json()["reason"]


def test_other_paths_are_not_found(server):
    """Only the forecast is here."""
    reply = ask(server, "/v1/elsewhere")
    assert (reply.status_code, reply.json()) == (404, {"error": True, "reason": "Not Found"})


def test_weather_may_come_from_a_function():
    """The function sees the place asked for."""
    seen = []

    def source(latitude, longitude):
        seen.append((latitude, longitude))
        return SERIES

    with WeatherServer(source) as server:
        assert ask(server, latitude=1.5, longitude=-2.5).json()["hourly"] == {
            "time": SERIES["time"]
        }
    assert seen == [(1.5, -2.5)]


def test_no_places_means_no_data_anywhere():
    """An empty mapping refuses every place."""
    with WeatherServer({}) as server:
        assert ask(server, latitude=1, longitude=1).status_code == 400


def test_requests_are_recorded(server):
    """Tests can see what was asked, and that the key came in a header and nowhere else."""
    with client_of(server, "a-key-for-a-test") as client:
        client.fetch([HERE, FARM])
    (received,) = server.received
    assert received.path == "/v1/forecast"
    assert received.query["latitude"] == "52.0500,57.0200"
    assert set(received.query["hourly"].split(",")) == set(UNITS)
    assert received.headers["X-Api-Key"] == "a-key-for-a-test"
    assert "a-key-for-a-test" not in str(received.query)


def test_client_and_parser_read_the_weather_given(server):
    """What goes in as series comes out as frames, each for its own place."""
    with client_of(server) as client:
        results = client.fetch([HERE, FARM, Place("sea", 40.0, -30.0, 0.0)])
    mild, cold = (parse_forecast(results[key].payload) for key in ("here", "farm"))
    assert mild["air_temp_c"].tolist() == SERIES["temperature_2m"]
    assert mild["cloud_fraction"].tolist() == [0.25] * 48
    assert cold["air_temp_c"].isna().all()  # its dew point, left as it was, contradicts
    assert "No data is available" in str(results["sea"].error)


PASSING = [
    Fault.REFUSE,
    Fault.RESET,
    Fault.BROKEN_JSON,
    Fault.STREAM_FAILURE,
    Fault.EMPTY,
    Fault.HTML_200,
    Fault.HTML_502,
    Fault.HTML_504,
    Fault.SERVER_ERROR,
    Fault.OVERLOADED,
    Fault.ERROR_WITH_200,
]
LASTING = [
    (Fault.MINUTELY, WeatherBusy, "this minute"),
    (Fault.HOURLY, WeatherBusy, "this hour"),
    (Fault.DAILY, WeatherBusy, "today"),
    (Fault.CONCURRENT, WeatherBusy, "answering other calls"),
    (Fault.WRONG_KEY, WeatherRefused, "API key is invalid.*forecast.api_key"),
    (Fault.KEY_NEEDED, WeatherRefused, "API key required.*forecast.api_key"),
    (Fault.PLAN_NEEDED, WeatherRefused, "Professional.*forecast.api_key"),
    (Fault.REDIRECT, WeatherRefused, "http://elsewhere.invalid, which was not followed"),
    (Fault.NOT_FOUND, WeatherRefused, "Not Found.*forecast.base_url"),
    (Fault.WRONG_COUNT, WeatherMalformed, "holds 1 places where 2 were"),
    (Fault.NAN_LITERAL, WeatherMalformed, "NaN"),
    *((fault, WeatherUnreachable, "internet connection") for fault in PASSING),
]


@pytest.mark.parametrize(("fault", "kind", "words"), LASTING, ids=[f[0].name for f in LASTING])
def test_a_fault_that_lasts_becomes_one_sentence_for_each_place(server, fault, kind, words):
    """Whatever goes wrong, the client answers for both places with a reason and no weather."""
    server.faults.switch(fault)
    with client_of(server) as client:
        results = client.fetch([HERE, FARM])
    assert set(results) == {"here", "farm"}
    for result in results.values():
        assert result.payload is None
        with pytest.raises(kind, match=words):
            raise result.error
        assert "\n" not in str(result.error)


@pytest.mark.parametrize("fault", [*PASSING, Fault.MINUTELY, Fault.CONCURRENT])
def test_a_fault_that_passes_costs_nothing_but_a_pause(server, fault):
    """After one bad reply the weather is there, as if nothing had been."""
    server.faults.switch(fault, times=1)
    with client_of(server) as client:
        result = client.fetch([HERE])["here"]
    assert result.error is None
    assert parse_forecast(result.payload).attrs["suspect"] == ()


def test_a_url_too_long_is_halved(server):
    """Two places are asked for one by one."""
    server.faults.switch(Fault.URI_TOO_LONG)
    with client_of(server) as client:
        results = client.fetch([HERE, FARM])
    assert all(result.payload for result in results.values())
    assert len(server.received) == 3


def test_a_service_that_is_gone_is_told(server):
    """After the server has stopped nobody listens at its address."""
    with WeatherServer(PLACES) as gone:
        pass
    with client_of(gone) as client, pytest.raises(WeatherUnreachable, match="no connection"):
        raise client.fetch([HERE])["here"].error


def test_a_black_hole_ends_by_the_time_out(server):
    """No answer is waited for longer than the time set."""
    server.faults.switch(Fault.BLACK_HOLE)
    began = time.monotonic()
    with client_of(server, timeout=(0.5, 0.05)) as client:
        result = client.fetch([HERE])["here"]
    with pytest.raises(WeatherUnreachable, match="no answer in time"):
        raise result.error
    assert time.monotonic() - began < 3


def test_a_slow_drip_ends_by_the_deadline(server):
    """Bytes that keep coming do not stretch the deadline."""
    server.faults.switch(Fault.SLOW_DRIP)
    began = time.monotonic()
    with client_of(server, deadline_s=0.3) as client:
        result = client.fetch([HERE])["here"]
    with pytest.raises(WeatherUnreachable, match=r"took longer than 0\.3 s"):
        raise result.error
    assert time.monotonic() - began < 3
    assert len(server.received) == 1


@pytest.mark.parametrize("fault", [Fault.BLACK_HOLE, Fault.SLOW_DRIP])
def test_it_stops_at_once_though_a_client_hangs(fault):
    """A stop does not wait for the faults to end."""
    others = set(threading.enumerate())
    with WeatherServer(PLACES) as server:
        server.faults.switch(fault)
        host, port = server.url.removeprefix("http://").split(":")
        hanging = socket.create_connection((host, int(port)), timeout=5)
        hanging.sendall(b"GET /v1/forecast?latitude=52&longitude=1 HTTP/1.0\r\n\r\n")
        while not server.received:
            time.sleep(0.005)
        began = time.monotonic()
    assert time.monotonic() - began < 1
    hanging.close()
    left = {thread.name for thread in set(threading.enumerate()) - others}
    assert "weather-server" not in left


DATA_FAULTS = [
    (Fault.SHORT_COLUMN, "precipitation", r"hourly\.precipitation has 47 values for 48 times"),
    (Fault.SHORT_COLUMN, "cloud_cover", r"hourly\.cloud_cover has 47 values for 48 times"),
    (Fault.WRONG_UNITS, "", r"wind_speed_10m is 'km/h' where 'm/s' was asked for"),
]


@pytest.mark.parametrize(("fault", "column", "words"), DATA_FAULTS)
def test_data_of_the_wrong_shape_are_refused_by_the_parser(server, fault, column, words):
    """The client hands them over; the parser names the column."""
    server.faults.switch(fault, column=column)
    with client_of(server) as client:
        payload = client.fetch([HERE])["here"].payload
    with pytest.raises(WeatherMalformed, match=words):
        parse_forecast(payload)


@pytest.mark.parametrize(
    ("fault", "name", "words"),
    [
        (Fault.RH_104, "rh_pct", "104 is above 100 (the first of 48 hours)"),
        (Fault.GUST_TIMES_100, "gust_10m_ms", "is above 90 (the first of 48 hours)"),
    ],
)
def test_values_that_cannot_be_true_are_emptied_by_the_parser(server, fault, name, words):
    """The quantity is unknown throughout, and the reason stands beside it."""
    server.faults.switch(fault)
    with client_of(server) as client:
        frame = parse_forecast(client.fetch([HERE])["here"].payload)
    assert frame[name].isna().all()
    assert words in frame.attrs["suspect"][0]


def test_a_column_of_nulls_is_missing(server):
    """The parser names the quantity."""
    server.faults.switch(Fault.NULL_COLUMN, column="shortwave_radiation")
    with client_of(server) as client:
        frame = parse_forecast(client.fetch([HERE])["here"].payload)
    assert frame.attrs["missing"] == ("ghi_wm2",)


def test_wrong_units_touch_only_what_was_asked_for(server):
    """Without wind in the request there is nothing to be wrong."""
    server.faults.switch(Fault.WRONG_UNITS)
    reply = ask(server, latitude=52, longitude=1, hourly="precipitation")
    assert list(reply.json()["hourly"]) == ["time", "precipitation"]


def test_old_data_come_again_whatever_has_changed():
    """The first answer ever given is repeated while the switch is on."""
    temperatures = iter([[1.0] * 48, [2.0] * 48, [3.0] * 48])
    with WeatherServer(lambda *_: SERIES | {"temperature_2m": next(temperatures)}) as server:
        firsts = []
        for fault in (None, Fault.OLD_DATA, None):
            server.faults.switch(fault)
            answer = ask(server, latitude=1, longitude=1, hourly="temperature_2m").json()
            firsts.append(answer["hourly"]["temperature_2m"][0])
    assert firsts == [1.0, 1.0, 3.0]


def test_a_fault_counts_down_and_can_be_switched_off(server):
    """Twice is twice; None is never."""
    server.faults.switch(Fault.SERVER_ERROR, times=2)
    where = {"latitude": 52, "longitude": 1}
    assert [ask(server, **where).status_code for _ in range(3)] == [500, 500, 200]
    server.faults.switch(Fault.SERVER_ERROR)
    server.faults.switch(None)
    assert ask(server, **where).status_code == 200


def test_a_source_that_fails_is_logged(caplog):
    """A defect in the weather given is not hidden: the client sees no answer, the log says why."""

    def source(latitude, longitude):
        raise RuntimeError("no such weather")

    with WeatherServer(source) as server, pytest.raises(requests.ConnectionError, match="aborted"):
        ask(server, latitude=1, longitude=1)
    assert "no such weather" in caplog.text


def test_air_quality_is_a_service_of_its_own():
    """It knows its own variables and days; without a source there is none."""
    air = {MILD: {"time": SERIES["time"], "pm10": [12.0] * 48, "birch_pollen": [40.0] * 48}}
    asked = {"latitude": "52.05", "longitude": "1.05", "hourly": "pm10,birch_pollen,olive_pollen"}
    with WeatherServer(PLACES, air) as server:
        answer = ask(server, "/v1/air-quality", **asked).json()
        refused = ask(server, "/v1/air-quality", **(asked | {"hourly": "temperature_2m"})).json()
        too_far = ask(server, "/v1/air-quality", **asked, forecast_days=8).json()
        server.faults.switch(Fault.RH_104)
        unspoiled = ask(server, "/v1/air-quality", **asked).json()
    assert answer["hourly_units"] == {
        "time": "iso8601",
        "pm10": "\u03bcg/m³",
        "birch_pollen": "grains/m³",
        "olive_pollen": "undefined",
    }
    assert answer["hourly"]["birch_pollen"] == [40.0] * 48
    assert answer["hourly"]["olive_pollen"] == [None] * 48
    assert unspoiled["hourly"] == answer["hourly"]
    assert "temperature_2m" in refused["reason"]
    assert "range 0 to 7" in too_far["reason"]
    with WeatherServer(PLACES) as server:
        assert ask(server, "/v1/air-quality", **asked).status_code == 404

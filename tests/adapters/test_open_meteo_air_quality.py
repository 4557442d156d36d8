"""Pollen and fine dust: asked like the forecast, read as strictly, and never needed."""

import json
import logging
from datetime import UTC, datetime
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
import responses
from days import SITE

from sprayadvisor.adapters.open_meteo import AIR_QUALITY, OpenMeteo, read_air_quality
from sprayadvisor.adapters.open_meteo.client import PLACES_PER_CALL
from sprayadvisor.errors import InputError, WeatherMalformed, WeatherRefused
from sprayadvisor.services.ports import Place

BASE = "http://air.invalid"
URL = f"{BASE}/v1/air-quality"
FETCHED = datetime(2026, 4, 16, 17, 5, tzinfo=UTC)
MICRO = "\u03bc"  # the Greek letter; the micro sign would be another character
POLLEN = ("alder", "birch", "grass", "mugwort", "olive", "ragweed")


def answer(hours: int = 4, **columns):
    """Return an answer in the service's shape; a keyword replaces a column."""
    names = ("pm10", *(f"{plant}_pollen" for plant in POLLEN))
    units = {n: f"{MICRO}g/m³" if n == "pm10" else "grains/m³" for n in names}
    values = {n: [float(h) for h in range(hours)] for n in names}
    return {
        "latitude": 53.1,
        "longitude": -8.9,
        "generationtime_ms": 0.2,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 14.0,
        "hourly_units": {"time": "iso8601"} | units,
        "hourly": {"time": [f"2026-04-16T{h:02}:00" for h in range(hours)]} | values | columns,
    }


def read(payload):
    """Return an answer as it is read."""
    body = json.dumps(payload, ensure_ascii=False).encode()
    return read_air_quality(body, SITE, fetched_at=FETCHED, stale=False)


@pytest.fixture
def client():
    client = OpenMeteo(BASE, "k3y", service=AIR_QUALITY, sleep=lambda _: None)
    yield client
    client.close()


def test_the_same_client_asks_the_other_service(client):
    """Its own path and variables, GMT, five days, the key in a header, no height, 50 places."""
    with responses.RequestsMock() as service:
        service.get(URL, json=[answer() for _ in range(PLACES_PER_CALL)])
        service.get(URL, json=answer())
        places = [Place(f"p{n}", 50 + n / 100, 1.0, 20.0) for n in range(PLACES_PER_CALL + 1)]
        results = client.fetch(places)
        assert all(result.error is None for result in results.values())
        calls = [call.request for call in service.calls]
    assert len(calls) == 2
    for call in calls:
        asked = {name: values[0] for name, values in parse_qs(urlsplit(call.url).query).items()}
        plants = ",".join(f"{plant}_pollen" for plant in POLLEN)
        assert asked["hourly"] == f"pm10,{plants}"
        assert (asked["timezone"], asked["timeformat"]) == ("GMT", "iso8601")
        assert asked["forecast_days"] == "5"
        assert "elevation" not in asked
        assert call.headers["X-Api-Key"] == "k3y"
        assert "k3y" not in call.url


def test_sentences_name_the_service_and_its_setting(client):
    """What goes wrong with this service is not blamed on the forecast."""
    with responses.RequestsMock() as service:
        service.get(URL, status=404, json={"error": True, "reason": "Not Found"})
        error = client.fetch([Place("one", 52.0, 1.0, None)])["one"].error
    assert isinstance(error, WeatherRefused)
    assert "air-quality service" in str(error)
    assert "forecast.air_quality_url" in str(error)
    with pytest.raises(InputError, match=r"^forecast\.air_quality_url must be"):
        OpenMeteo("no address", service=AIR_QUALITY)


def test_hours_and_values_come_in_our_names():
    """Every hour of every variable, in UTC, with where it came from."""
    air = read(answer())
    assert set(air.values) == {"pm10_ugm3", *(f"{plant}_pollen_m3" for plant in POLLEN)}
    assert air.hours_utc[0] == np.datetime64("2026-04-16T00:00:00", "s")
    assert air.provenance.fetched_at == FETCHED
    for values in air.values.values():
        np.testing.assert_array_equal(values, [0.0, 1.0, 2.0, 3.0])


def test_outside_europe_pollen_is_not_known_and_no_error():
    """Null throughout is an answer, with a unit or with none."""
    gone = {f"{plant}_pollen": [None] * 4 for plant in POLLEN}
    payload = answer(**gone, pm10=[None] * 4)
    payload["hourly_units"]["pm10"] = "undefined"
    for values in read(payload).values.values():
        assert np.isnan(values).all()


def test_gaps_and_impossible_values_are_not_known(caplog):
    """A null hour, a missing stamp and a negative amount become NaN; the last is logged."""
    payload = answer(5, grass_pollen=[0.0, None, 2.0, -40.0, -0.4])
    del payload["hourly"]["time"][2]
    for name, values in payload["hourly"].items():
        if name != "time":
            del values[2]
    with caplog.at_level(logging.WARNING):
        grass = read(payload).values["grass_pollen_m3"]
    np.testing.assert_array_equal(grass, [0.0, np.nan, np.nan, np.nan, 0.0])
    assert "grass_pollen_m3" in caplog.text


@pytest.mark.parametrize(
    ("unit", "name"), [("\u00b5g/m³", "pm10"), ("mg/m³", "pm10"), ("1/m³", "birch_pollen")]
)
def test_another_unit_is_refused(unit, name):
    """A unit that was not asked for would be read wrong by a thousand."""
    payload = answer()
    payload["hourly_units"][name] = unit
    with pytest.raises(WeatherMalformed, match=rf"hourly_units\.{name} is"):
        read(payload)


def test_an_hour_holds_until_the_next():
    """A time takes the value of the hour it lies in; outside the answer nothing is known."""
    air = read(answer())
    times = np.array(
        ["2026-04-15T23:59", "2026-04-16T00:00", "2026-04-16T02:59", "2026-04-16T04:00"],
        dtype="datetime64[s]",
    )
    np.testing.assert_array_equal(air.at("pm10_ugm3", times), [np.nan, 0.0, 2.0, np.nan])

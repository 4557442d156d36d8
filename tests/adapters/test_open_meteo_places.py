"""Place search: asked once, read strictly, and nothing chosen for anybody."""

import json

import pytest
import requests
import responses

from sprayadvisor.adapters.open_meteo import PLACE_SEARCH, OpenMeteo, PlaceSearch
from sprayadvisor.errors import InputError, WeatherBusy, WeatherMalformed, WeatherUnreachable
from sprayadvisor.services.places import Places

BASE = "http://places.invalid"
URL = f"{BASE}/v1/search"
# The shape of the service's answer, empty fields left out; the places are invented.
HARBOUR = {
    "id": 1, "name": "Sandquay", "latitude": 53.21, "longitude": -8.87, "elevation": 12.0,
    "feature_code": "PPL", "country_code": "IE", "timezone": "Europe/Dublin", "country": "Ireland",
    "admin1": "Connacht", "admin2": "Sandquay",
}  # fmt: skip
TWIN = {
    "id": 2, "name": "Sandquay", "latitude": -41.3, "longitude": 174.8, "feature_code": "PPL",
    "timezone": "Pacific/Auckland", "country": "New Zealand",
}  # fmt: skip


@pytest.fixture
def search():
    client = OpenMeteo(BASE, "k3y", service=PLACE_SEARCH, sleep=lambda _: None)
    yield Places(PlaceSearch(client))
    client.close()


def test_every_place_of_the_name_is_given_with_zone_and_height(search):
    """Both places of one name come back, in the service's order, with what tells them apart."""
    with responses.RequestsMock() as service:
        service.get(URL, json={"results": [HARBOUR, TWIN], "generationtime_ms": 0.3})
        here, there = search.find(" Sandquay ")
        sent = service.calls[0].request
    assert (here.name, here.within) == ("Sandquay", ("Connacht", "Ireland"))
    assert (here.latitude, here.longitude, here.elevation_m) == (53.21, -8.87, 12.0)
    assert (here.zone, there.zone) == ("Europe/Dublin", "Pacific/Auckland")
    assert (there.within, there.elevation_m) == (("New Zealand",), None)
    assert sent.params == {"count": "10", "language": "en", "format": "json", "name": "Sandquay"}
    assert sent.headers["X-Api-Key"] == "k3y"


def test_no_match_is_an_answer_without_places(search):
    """The service leaves the list out where nothing matches."""
    with responses.RequestsMock() as service:
        service.get(URL, json={"generationtime_ms": 0.1})
        assert search.find("Qqqqzz") == ()


def test_a_name_cannot_change_the_question(search):
    """Signs that mean something in an address stay part of the name."""
    with responses.RequestsMock() as service:
        service.get(URL, json={"generationtime_ms": 0.1})
        search.find("a&count=99#/../?name=b")
        assert service.calls[0].request.params["name"] == "a&count=99#/../?name=b"
        assert service.calls[0].request.params["count"] == "10"


@pytest.mark.parametrize(
    "spoilt",
    [
        {"latitude": 95.0}, {"latitude": "53"}, {"longitude": True}, {"longitude": None},
        {"timezone": "Mars/Olympus"}, {"timezone": None}, {"name": ""},
    ],
)  # fmt: skip
def test_a_place_that_cannot_be_is_left_out(search, spoilt):
    """What lacks a zone, a name or possible coordinates is no choice; the others stay."""
    with responses.RequestsMock() as service:
        service.get(URL, json={"results": [HARBOUR | spoilt, "x", TWIN]})
        assert [place.zone for place in search.find("Sandquay")] == ["Pacific/Auckland"]


def test_controls_in_a_name_are_not_passed_on(search):
    """A name from outside is one line of bearable length."""
    with responses.RequestsMock() as service:
        service.get(URL, json={"results": [HARBOUR | {"name": "Sand\r\nquay" + "x" * 500}]})
        (place,) = search.find("Sandquay")
    assert place.name.startswith("Sand quayxxx")
    assert len(place.name) == 80


@pytest.mark.parametrize(
    ("name", "sentence"),
    [("a", "at least two letters"), ("  ", "at least two letters"), ("x" * 81, "80 are enough")],
)
def test_a_name_not_worth_asking_for_is_refused(search, name, sentence):
    """Too short or too long is told without asking anybody."""
    with pytest.raises(InputError, match=sentence):
        search.find(name)


@pytest.mark.parametrize(
    ("reply", "error", "sentence"),
    [
        ({"body": requests.ConnectionError()}, WeatherUnreachable, "place search could not be re"),
        ({"body": b"<html>", "status": 502}, WeatherUnreachable, "web page"),
        ({"body": json.dumps({"results": 5}).encode()}, WeatherMalformed, "no list of places"),
        (
            {"json": {"error": True, "reason": "Daily API request limit exceeded."}, "status": 429},
            WeatherBusy,
            "no more calls today",
        ),
    ],
)
def test_a_search_that_fails_says_so(search, reply, error, sentence):
    """No answer, a wrong one and a limit are told apart."""
    with responses.RequestsMock(assert_all_requests_are_fired=False) as service:
        service.get(URL, **reply)
        with pytest.raises(error, match=sentence):
            search.find("Sandquay")

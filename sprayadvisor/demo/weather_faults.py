"""What a forecast service and the line to it can do wrong, at the turn of a switch."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from enum import StrEnum
from typing import Any, NamedTuple

from sprayadvisor.demo.weather_answers import in_kmh


class Fault(StrEnum):
    """One thing that goes wrong."""

    REFUSE = "closes every connection before a request is read"
    BLACK_HOLE = "takes the request and never answers"
    SLOW_DRIP = "answers a byte at a time"
    RESET = "breaks the connection in the middle of the body"
    BROKEN_JSON = "sends half an answer with status 200"
    STREAM_FAILURE = "says in the middle of the body that it failed, with status 200"
    EMPTY = "sends nothing with status 200"
    HTML_200 = "sends a web page with status 200"
    HTML_502 = "sends a proxy's error page"
    HTML_504 = "sends a proxy's time-out page"
    URI_TOO_LONG = "finds the URL too long if it names more than one place"
    MINUTELY = "has answered enough this minute"
    HOURLY = "has answered enough this hour"
    DAILY = "has answered enough today"
    CONCURRENT = "is answering other calls"
    WRONG_KEY = "does not know the key"
    KEY_NEEDED = "wants a key"
    PLAN_NEEDED = "wants a better plan"
    REDIRECT = "points to another host"
    NOT_FOUND = "has no such page"
    SERVER_ERROR = "fails"
    OVERLOADED = "is overloaded"
    ERROR_WITH_200 = "sends an error with status 200"
    WRONG_UNITS = "sends wind in km/h whatever was asked for"
    WRONG_COUNT = "leaves the last place out"
    NULL_COLUMN = "sends a column of nulls"
    SHORT_COLUMN = "sends a column one value short"
    NAN_LITERAL = "sends NaN, which JSON does not know"
    RH_104 = "sends a relative humidity of 104 %"
    GUST_TIMES_100 = "sends gusts a hundred times too large"
    OLD_DATA = "sends the first answer it ever gave again"


class Canned(NamedTuple):
    """A reply that is the same whatever was asked."""

    status: int
    body: str
    content_type: str = "application/json"
    location: str = ""


def _error(status: int, reason: str) -> Canned:
    return Canned(status, json.dumps({"error": True, "reason": reason}))


def _page(status: int, words: str) -> Canned:
    body = f"<html><head><title>{words}</title></head><body><h1>{words}</h1></body></html>"
    return Canned(status, body, "text/html")


_LIMIT = "API request limit exceeded. Please try again"
CANNED = {
    Fault.EMPTY: Canned(200, ""),
    Fault.HTML_200: _page(200, "Sign in to this network"),
    Fault.HTML_502: _page(502, "502 Bad Gateway"),
    Fault.HTML_504: _page(504, "504 Gateway Time-out"),
    Fault.URI_TOO_LONG: _page(414, "414 Request-URI Too Large"),
    Fault.MINUTELY: _error(429, f"Minutely {_LIMIT} in one minute."),
    Fault.HOURLY: _error(429, f"Hourly {_LIMIT} in the next hour."),
    Fault.DAILY: _error(429, f"Daily {_LIMIT} tomorrow."),
    Fault.CONCURRENT: _error(429, "Too many concurrent requests"),
    Fault.WRONG_KEY: _error(400, "The supplied API key is invalid."),
    Fault.KEY_NEEDED: _error(401, "API key required. Please add &apikey= to the URL."),
    Fault.PLAN_NEEDED: _error(
        403, "This API endpoint requires the API Professional or Enterprise plan"
    ),
    Fault.REDIRECT: Canned(302, "", location="http://elsewhere.invalid/v1/forecast"),
    Fault.NOT_FOUND: _error(404, "Not Found"),
    Fault.SERVER_ERROR: _error(500, "Something went wrong."),
    Fault.OVERLOADED: _error(503, "The service is overloaded"),
    Fault.ERROR_WITH_200: _error(200, "Something went wrong."),
}
STREAM_WORDS = "Unexpected error while streaming data: timeoutReached"


def _wrong_units(place: dict[str, Any], _column: str) -> None:
    for name in ("wind_speed_10m", "wind_gusts_10m"):
        if name in place["hourly"]:
            place["hourly"][name] = in_kmh(place["hourly"][name])
            place["hourly_units"][name] = "km/h"


def _null_column(place: dict[str, Any], column: str) -> None:
    place["hourly"][column] = [None] * len(place["hourly"]["time"])


def _short_column(place: dict[str, Any], column: str) -> None:
    place["hourly"][column] = place["hourly"][column][:-1]


def _nan_literal(place: dict[str, Any], column: str) -> None:
    place["hourly"][column] = [float("nan"), *place["hourly"][column][1:]]


def _rh_104(place: dict[str, Any], _column: str) -> None:
    place["hourly"]["relative_humidity_2m"] = [104] * len(place["hourly"]["time"])


def _gust_times_100(place: dict[str, Any], _column: str) -> None:
    gusts = place["hourly"]["wind_gusts_10m"]
    place["hourly"]["wind_gusts_10m"] = [None if g is None else round(g * 100, 1) for g in gusts]


# Faults of the data change a place's object; ``column`` is the one the switch names.
SPOIL: dict[Fault, Callable[[dict[str, Any], str], None]] = {
    Fault.WRONG_UNITS: _wrong_units,
    Fault.NULL_COLUMN: _null_column,
    Fault.SHORT_COLUMN: _short_column,
    Fault.NAN_LITERAL: _nan_literal,
    Fault.RH_104: _rh_104,
    Fault.GUST_TIMES_100: _gust_times_100,
}


class Switchboard:
    """Which fault is on, for how many connections more."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._fault: Fault | None = None
        self._times: int | None = None
        self._column = ""

    def switch(
        self, fault: Fault | None, *, times: int | None = None, column: str = "precipitation"
    ) -> None:
        """Turn a fault on, or with None every fault off.

        Args:
            fault: what goes wrong from now on.
            times: for how many connections; None until switched again.
            column: which variable a fault of a column befalls.
        """
        with self._lock:
            self._fault, self._times, self._column = fault, times, column

    def refuses(self) -> bool:
        """Return whether a new connection is to be closed unread, and count it if so."""
        with self._lock:
            if self._fault is not Fault.REFUSE:
                return False
            self._count()
            return True

    def take(self) -> tuple[Fault | None, str]:
        """Return the fault for one request and its column, and count it."""
        with self._lock:
            fault = self._fault
            self._count()
            return fault, self._column

    def _count(self) -> None:
        """Turn the fault off after the last of its times."""
        if self._times is not None:
            self._times -= 1
            if self._times <= 0:
                self._fault, self._times = None, None

"""Telling a forecast that was renewed from one that was only sent again."""

import json
from datetime import timedelta

import pytest
import weather_payloads as weather

from sprayadvisor.adapters.open_meteo import same_values


def body(hours=72, begin=weather.BEGIN, **changes):
    """Return an answer as bytes; a keyword replaces what stands beside the columns."""
    return json.dumps(weather.answer(hours, begin) | changes).encode()


def test_what_the_service_says_of_itself_does_not_count():
    """The time it took and the name of the zone may differ."""
    assert same_values(body(), body(generationtime_ms=9.9, timezone="UTC"))


def test_one_value_is_enough_to_differ():
    """A tenth of a degree in one hour of one column."""
    changed = weather.answer(72, weather.BEGIN)
    changed["hourly"]["temperature_2m"][71] += 0.1
    assert not same_values(body(), json.dumps(changed).encode())


def test_only_the_hours_that_both_hold_are_compared():
    """A day later the window has moved on by a day; what both hold decides."""
    whole = weather.answer(96, weather.BEGIN)
    early, late = json.loads(json.dumps(whole)), json.loads(json.dumps(whole))
    for name, column in whole["hourly"].items():
        early["hourly"][name], late["hourly"][name] = column[:80], column[24:]
    assert same_values(json.dumps(early).encode(), json.dumps(late).encode())
    late["hourly"]["temperature_2m"][0] += 0.1
    assert not same_values(json.dumps(early).encode(), json.dumps(late).encode())


@pytest.mark.parametrize(
    "other",
    [
        b"", b"[]", b"{}", b'{"hourly": 3}', b'{"hourly": {"time": ["x"]}}',
        body(47), body(72, weather.BEGIN + timedelta(days=9)),
    ],
)  # fmt: skip
def test_what_cannot_be_compared_differs(other):
    """Too little overlap, or nothing to read: never called the same."""
    assert not same_values(body(), other)
    assert not same_values(other, body())

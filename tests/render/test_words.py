"""Small words."""

from datetime import UTC, date, datetime, timedelta

import pytest

from sprayadvisor.advice.model import Colour, Panel, Part, Surface
from sprayadvisor.render.words import (
    clock,
    counted,
    day_and_clock,
    either,
    from_to,
    kept_together,
    listed,
    long_day,
    odds,
    panel_words,
    sentence,
    short_day,
)

ODDS = [
    (0.0, "less than 1 in 10"),
    (0.04, "less than 1 in 10"),
    (0.05, "about 1 in 10"),
    (0.72, "about 7 in 10"),
    (0.94, "about 9 in 10"),
    (0.95, "better than 9 in 10"),
    (0.985, "better than 9 in 10"),
]


@pytest.mark.parametrize(("likelihood", "words"), ODDS)
def test_odds_are_tenths_and_never_certain(likelihood, words):
    """No likelihood is spoken finer than tenths, none as certain."""
    assert odds(likelihood) == words


@pytest.mark.parametrize(
    ("parts", "words"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (list("abc"), "a, b and c")],
)
def test_lists(parts, words):
    """Lists read as a person says them."""
    assert listed(parts) == words


@pytest.mark.parametrize(("n", "words"), [(1, "1 job"), (0, "0 jobs"), (2.4, "2 jobs")])
def test_one_and_many(n, words):
    """One is one, all else is many."""
    assert counted(n, "job", "jobs") == words


def test_times_are_local():
    """In April the clock at the bay is an hour ahead of UTC."""
    at = datetime(2026, 4, 16, 23, 5, tzinfo=UTC)
    assert clock(at, "Europe/Dublin") == "00:05"
    assert day_and_clock(at, "Europe/Dublin") == "Fri 17 Apr 00:05"
    assert (short_day(date(2026, 4, 5)), long_day(date(2026, 4, 5))) == (
        "Sun 5 Apr",
        "Sunday 5 April",
    )


@pytest.mark.parametrize(
    ("text", "words"), [("", ""), ("a b", "A b."), ("Why?", "Why?"), ("x.", "X.")]
)
def test_sentences(text, words):
    """A capital and a full stop, once."""
    assert sentence(text) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [("4 °C at", "4\u00a0°C at"), ("80 % or 3 K", "80\u00a0% or 3\u00a0K"),
     ("4 Kettles", "4 Kettles"),
     ("2 m/s, 9 min.", "2\u00a0m/s, 9\u00a0min."), ("2 minutes", "2 minutes")],
)  # fmt: skip
def test_numbers_keep_their_units(text, words):
    """No line ends between a number and its unit."""
    assert kept_together(text) == words


@pytest.mark.parametrize(
    ("parts", "words"), [([], ""), (["a"], "a"), (["a", "b"], "a or b"), (list("abc"), "a, b or c")]
)
def test_choices(parts, words):
    """Either reads as a person says it."""
    assert either(parts) == words


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        ([], ""),
        ([14], "from 15:00 to 16:00"),
        ([13, 14, 15], "from 14:00 to 17:00"),
        ([8, 14, 15], "from 09:00 to 10:00 and from 15:00 to 17:00"),
    ],
)
def test_hours_in_a_row_are_one_stretch(hours, words):
    """Three wet hours in a row are told from when to when, by the local clock."""
    times = [datetime(2026, 4, 16, hour, tzinfo=UTC) for hour in hours]
    assert from_to(times, timedelta(hours=1), "Europe/Dublin") == words


@pytest.mark.parametrize(
    ("surface", "words"),
    [
        (Surface.PAINT, "dark grey left door"),
        (Surface.PRIMER, "dark grey left door in primer"),
        (Surface.FILLER, "dark grey left door in filler"),
        (Surface.BARE, "dark grey left door, bare"),
    ],
)
def test_a_panel_is_named_by_colour_and_part_and_by_what_is_not_painted(surface, words):
    """As one would say it at the car."""
    assert panel_words(Panel(Part.LEFT_DOOR, Colour.DARK_GREY, surface=surface)) == words

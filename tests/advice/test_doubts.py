"""Readings that cannot be, or hardly, are asked about; the rest passes without a word."""

import re
from datetime import timedelta

import numpy as np
import pytest
from days import MORNING, climate_for, job, outlook

from sprayadvisor.advice.doubts import METRIC, Model, doubts, model_at
from sprayadvisor.advice.onsite import Asked, Felt, Reading, felt
from sprayadvisor.units import Display, f_to_c, wind_to_ms

NOW = MORNING + timedelta(hours=5)
# A mild grey day: panel 9 to 13 °C, air 12, dew point 7, wind 1 with gusts of 3 m/s at the gun.
MODEL = Model(9.0, 13.0, 12.0, 7.0, 1.0, 3.0)
UNKNOWN = Model(*[float("nan")] * 6)


def asking(model=MODEL, *, goal_c=None, shown=METRIC, **changes):
    """Return the doubts about a reading."""
    names = [name for name in changes if name in Reading.__dataclass_fields__]
    read = Reading(**({"taken_at": NOW} | {name: changes.pop(name) for name in names}))
    return doubts(Asked(read, "clear", **changes), model, NOW, lamp_goal_c=goal_c, shown=shown)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"panel_temp_c": 43.0}, "panel_temp_c", "hot lamp in view or on just now, or the car"),
        ({"panel_temp_c": 55.0}, "panel_temp_c", r"is that °F\? Then write 55 F, which is 13 °C"),
        ({"panel_temp_c": -22.0}, "panel_temp_c", "bare shiny metal or chrome"),
        ({"panel_temp_c": 2.9}, "panel_temp_c", "bare shiny metal"),
        ({"air_temp_c": 20.0}, "air_temp_c", "in the shade, off the metal and out of the van"),
        ({"air_temp_c": 4.0}, "air_temp_c", "where about 12 °C is expected"),
        ({"air_temp_c": 50.0}, "air_temp_c", r"is that °F\? Then write 50 F, which is 10 °C"),
        ({"rh_pct": 25.0}, "rh_pct", "ten minutes in the open"),
        ({"air_temp_c": 18.0, "rh_pct": 95.0}, "rh_pct", "dew point at 17 °C where about 7 °C"),
        ({"wind_ms": 11.0}, "wind_ms", "is that kn"),
        ({"wind_ms": 15.0}, "wind_ms", "is that km/h"),
        ({"wind_ms": 39.0}, "wind_ms", "was that a gust"),
        (
            {"panel_temp_c": 6.5, "air_temp_c": 12.0, "rh_pct": 85.0},
            "panel_temp_c",
            "running with water: is it",
        ),
        (
            {"panel_temp_c": 6.5, "mist_s": 3.0},
            "mist_s",
            "Breath mist cannot go in 3 s from a panel at its dew point of 7 °C",
        ),
        (
            {"panel_temp_c": 6.5, "rh_pct": 73.0, "mist_s": 2.0},
            "mist_s",
            "please try both again",
        ),
    ],
)
def test_odd_readings_get_one_question_each(changes, field, words):
    """The sentence names what is odd and what it may come from; the painter may insist."""
    found = asking(**changes)
    assert [doubt.field for doubt in found] == [field]
    assert re.search(words, found[0].question)
    assert found[0].may_insist
    assert found[0].question.endswith((".", "?"))
    assert asking(**changes, sure=True) == ()


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"rh_pct": 140.0}, "rh_pct", "A humidity of 140 % cannot be"),
        ({"rh_pct": 0.0}, "rh_pct", "between 1 % and 100 %"),
        ({"panel_temp_c": float("nan")}, "panel_temp_c", "A panel temperature of nan °C cannot be"),
        ({"panel_temp_c": 200.0}, "panel_temp_c", "cannot be"),
        ({"panel_temp_c": 95.0}, "panel_temp_c", "Is that °F? Then write 95 F. Please"),
        ({"air_temp_c": 59.0}, "air_temp_c", "An air temperature of 59 °C cannot be: it lies"),
        ({"air_temp_c": 59.0}, "air_temp_c", "and 50 °C. Is that °F? Then write 59 F. Please"),
        ({"wind_ms": 41.0}, "wind_ms", "Is that km/h or mph? Then write it behind the number."),
        ({"air_temp_c": -40.0}, "air_temp_c", "cannot be"),
        ({"wind_ms": -1.0}, "wind_ms", "A wind of -1 m/s cannot be"),
        ({"wind_ms": float("inf")}, "wind_ms", "cannot be"),
        ({"mist_s": -3.0}, "mist_s", "breath mist cannot last -3"),
        ({"stripe_min": 1e9}, "stripe_min", "damp stripe cannot last"),
        ({"taken_at": NOW + timedelta(minutes=30)}, "taken_at", "from 30 minutes ahead of now"),
        ({"taken_at": NOW - timedelta(hours=3)}, "taken_at", "180 minutes old"),
        (
            {"matt_at": NOW + timedelta(minutes=9)},
            "matt_at",
            "said to be matt from 9 minutes ahead",
        ),
    ],
)
def test_what_cannot_be_is_never_used(changes, field, words):
    """Not even by who is sure."""
    for sure in (False, True):
        found = asking(**changes, sure=sure)
        assert [(doubt.field, doubt.may_insist) for doubt in found] == [(field, False)]
        assert words in found[0].question


IMPERIAL = Display("f", "mph")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"air_temp_c": f_to_c(17.0)},
            "The air reads 17 °F where about 54 °F is expected: is that °C? Then write 17 C, w",
        ),
        (
            {"panel_temp_c": f_to_c(99.0)},
            "The panel reads 99 °F where at most about 55 °F is expected: was a hot",
        ),
        (
            {"panel_temp_c": f_to_c(8.0)},
            "The panel reads 8 °F where at least about 48 °F is expected: was it bare",
        ),
        (
            {"wind_ms": wind_to_ms(40.0, "mph")},
            "The wind reads 40 mph where gusts of about 7 mph are expected: was that a gust?",
        ),
        ({"air_temp_c": f_to_c(140.0)}, "An air temperature of 140 °F cannot be: it lies between"),
    ],
)
def test_readings_are_questioned_in_the_painters_own_units(changes, words):
    """What was typed is told back as it was typed, and °C instead of °F is asked about too."""
    assert asking(shown=IMPERIAL, **changes)[0].question.startswith(words)


@pytest.mark.parametrize(
    ("panel_temp_c", "goal_c", "words"),
    [
        (29.0, None, "where at most about 13 °C is expected"),
        (28.0, 28.0, None),
        (36.0, 28.0, None),
        (37.0, 28.0, "where at most about 28 °C is expected: was a hot lamp in view"),
        (58.0, 55.0, None),
        (55.0, 28.0, "Then write 55 F, which is 13 °C"),
    ],
)
def test_a_panel_the_lamp_has_warmed_by_the_plan_may_be_that_warm(panel_temp_c, goal_c, words):
    """Up to what it was warmed to and a little more: common practice, no source."""
    found = asking(panel_temp_c=panel_temp_c, goal_c=goal_c)
    assert [words in doubt.question for doubt in found] == ([True] if words else [])


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"panel_temp_c": 11.0, "air_temp_c": 12.5, "rh_pct": 72.0, "wind_ms": 2.0},
        {"panel_temp_c": 27.9},
        {"panel_temp_c": 60.0, "lamp": True},
        {"panel_temp_c": 6.5, "mist_s": 8.0},
        {"panel_temp_c": 8.0, "mist_s": 3.0},
        {"taken_at": NOW + timedelta(minutes=1)},
        {"taken_at": NOW - timedelta(minutes=119)},
        {"matt_at": NOW - timedelta(minutes=40)},
        {"wind_ms": 9.4},
    ],
)
def test_what_may_well_be_passes(changes):
    """A warmed panel is hot where a lamp is used."""
    assert asking(**changes) == ()


def test_what_is_not_known_is_not_compared():
    """Without a model only what cannot be is asked about."""
    read = {"panel_temp_c": 44.0, "air_temp_c": 30.0, "rh_pct": 20.0, "wind_ms": 20.0}
    assert asking(UNKNOWN, **read) == ()
    found = asking(UNKNOWN, **read | {"panel_temp_c": -5.0})
    assert [doubt.field for doubt in found] == ["panel_temp_c"]


def test_the_model_is_the_climate_at_the_time_of_the_reading():
    """Of the panel that was read; outside the forecast nothing is known."""
    met = climate_for(job(), outlook())
    found = model_at(met, Reading(NOW))
    assert found.panel_low_c == found.panel_high_c
    assert found.air_temp_c == pytest.approx(16.2, abs=0.5)
    assert found.gust_ms > found.wind_ms > 0
    far = model_at(met, Reading(NOW + timedelta(days=30)))
    assert np.isnan([getattr(far, name) for name in Model.__dataclass_fields__]).all()


@pytest.mark.parametrize(
    ("mist_s", "stripe_min", "says"),
    [
        (None, None, Felt.NOTHING),
        (3.0, None, Felt.FINE),
        (5.0, None, Felt.BETWEEN),
        (10.0, None, Felt.BETWEEN),
        (10.5, None, Felt.DAMP),
        (None, 15.0, Felt.FINE),
        (None, 16.0, Felt.DAMP),
        (3.0, 20.0, Felt.DAMP),
        (7.0, 10.0, Felt.BETWEEN),
    ],
)
def test_hands_know_damp_without_instruments(mist_s, stripe_min, says):
    """Mist gone in 5 s is fine, beyond 10 s too damp; a stripe dries in 15 min: old trade rules."""
    assert felt(mist_s, stripe_min) is says


def test_only_what_was_measured_counts_as_measured():
    """Zero is a value; nothing is not."""
    assert Reading(NOW, wind_ms=0.0).measured == ("wind_ms",)
    assert Reading(NOW).measured == ()

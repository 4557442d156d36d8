"""What a coat met, and what of a record is kept."""

from datetime import UTC, datetime, timedelta

import pytest
from days import catalogue, climate_for, job, outlook

from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.outlook import time_of
from sprayadvisor.advice.record import CoatRecord, JobRecord, Met, Part, met, only, suited

CLIMATE = climate_for(job(), outlook())
AT = time_of(CLIMATE.starts_utc, 2 * 24 * 60 + 11 * 60)
COAT = CoatRecord("clear", AT, True, (Met("rh_pct", 71.0, True),), "Clear", "r1", ("cool",))
WHOLE = JobRecord("T1", frozenset(Part), (COAT,), "care", "late")


def found(read=None, climate=CLIMATE, at=AT):
    """Return what was met by quantity."""
    return {one.quantity: (one.value, one.measured) for one in met(climate, at, read)}


def test_without_a_reading_the_forecast_counts():
    """All five, none of them measured."""
    here = found()
    assert set(here) == {"panel_temp_c", "air_temp_c", "rh_pct", "dew_margin_k", "wind_ms"}
    assert not any(measured for _, measured in here.values())


def test_a_reading_moves_the_margin():
    """A colder panel measured lowers the margin by as much; half measured is not measured."""
    plain = found()
    read = Reading(AT, panel_temp_c=plain["panel_temp_c"][0] - 3.0)
    here = found(read)
    assert here["panel_temp_c"] == (plain["panel_temp_c"][0] - 3.0, True)
    assert here["dew_margin_k"][0] == pytest.approx(plain["dew_margin_k"][0] - 3.0, abs=0.2)
    assert not here["dew_margin_k"][1]


def test_a_wind_alone_leaves_the_margin_as_it_is():
    """Nothing it hangs on was measured."""
    assert found(Reading(AT, wind_ms=2.0))["dew_margin_k"] == found()["dew_margin_k"]


@pytest.mark.parametrize(
    "at", [AT - timedelta(days=30), AT + timedelta(days=30), datetime(2020, 1, 1, tzinfo=UTC)]
)
def test_outside_the_forecast_only_readings_are_known(at):
    """Neither a value of another day nor a margin of half its parts."""
    assert found(at=at) == {}
    assert found(Reading(at, panel_temp_c=14.0), at=at) == {"panel_temp_c": (14.0, True)}
    assert found(Reading(at, rh_pct=70.0), None) == {"rh_pct": (70.0, True)}


@pytest.mark.parametrize("part", list(Part))
def test_what_is_not_chosen_is_gone(part):
    """Each part by itself; the reason is the painter's and stays."""
    kept = only(WHOLE, {part})
    (coat,) = kept.coats
    assert kept.parts == {part}
    assert (coat.at is not None) == (part is Part.TIMES)
    assert bool(coat.met) == (part is Part.CONDITIONS)
    assert bool(coat.product) == bool(coat.choices) == (part is Part.PRODUCTS)
    assert bool(kept.advice) == (part is Part.ADVICE)
    assert kept.reason == "late"


def test_a_hardener_is_named_for_a_known_panel_alone():
    """Of a panel nobody knows none is made for it."""
    sheet = next(one for one in catalogue().sheets.values() if len(one.choices) > 1)
    made_for_it = [c for c in sheet.choices if (c.from_c or -99) <= 20.0 < (c.below_c or 99)]
    assert 0 < len(made_for_it) < len(sheet.choices)
    assert suited(sheet, (Met("panel_temp_c", 20.0, True),)) == tuple(
        f"{choice.name} {choice.what}" for choice in made_for_it
    )
    assert suited(sheet, ()) == ()

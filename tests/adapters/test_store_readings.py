"""What was read at the car reads back as it was kept."""

from dataclasses import replace
from datetime import timedelta

import pytest
from booked import NOW, PLAIN
from sqlalchemy import update

from sprayadvisor.adapters.store.bookings import SqlBookings
from sprayadvisor.adapters.store.engine import migrate, open_engine, write
from sprayadvisor.adapters.store.readings import SqlReadings
from sprayadvisor.adapters.store.schema import READINGS
from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import StoreError
from sprayadvisor.services.ports.readings import KeptReading

WHOLE = KeptReading(
    Reading(NOW - timedelta(minutes=3), 14.5, 12.0, 71.0, 0.0, 245.0, panel=1),
    NOW,
    "clear",
    Word.CARE,
    4.0,
    12.0,
    NOW - timedelta(minutes=9),
)
BARE = KeptReading(Reading(NOW), NOW, "base", Word.UNKNOWN)


@pytest.fixture
def readings(tmp_path):
    """A store with two jobs."""
    engine = open_engine(f"sqlite:///{tmp_path / 'jobs.db'}")
    migrate(engine)
    for ref in ("J1", "J2"):
        SqlBookings(engine).add(replace(PLAIN, ref=ref), NOW)
    yield SqlReadings(engine)
    engine.dispose()


def test_readings_come_back_in_order_and_whole(readings):
    """What was not measured stays unsaid; zero stays zero; no job sees another's."""
    assert readings.of("J1") == ()
    readings.keep("J1", WHOLE)
    readings.keep("J1", BARE)
    readings.keep("J2", BARE)
    assert readings.of("J1") == (WHOLE, BARE)
    assert readings.of("J9") == ()


def test_a_word_that_nobody_knows_is_told(readings):
    """It was written by another version."""
    readings.keep("J1", WHOLE)
    with write(readings.engine) as connection:
        connection.execute(update(READINGS).values(word="splendid"))
    with pytest.raises(StoreError, match="splendid"):
        readings.of("J1")


def test_a_struck_reading_stays_and_says_so(readings):
    """Once, and only of its own job; the others count as before."""
    readings.keep("J1", WHOLE)
    readings.keep("J1", BARE)
    first = readings.of("J1")[0].number
    assert not readings.strike("J2", first, NOW)
    assert readings.strike("J1", first, NOW)
    assert not readings.strike("J1", first, NOW + timedelta(minutes=1))
    assert readings.of("J1") == (replace(WHOLE, struck_at=NOW), BARE)

"""What was said of a job reads back as it was said, newest first."""

from datetime import UTC, date, datetime, timedelta

import pytest
from booked import NOW, PLAIN
from sqlalchemy import update

from sprayadvisor.adapters.store.bookings import SqlBookings
from sprayadvisor.adapters.store.engine import migrate, open_engine, write
from sprayadvisor.adapters.store.said import SqlSaid
from sprayadvisor.adapters.store.schema import SAID
from sprayadvisor.advice.rest import StageTime
from sprayadvisor.advice.said import Said
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import StoreError

BEGIN = datetime(2027, 5, 4, 9, 15, tzinfo=UTC)
TIMES = (
    StageTime("look", "hand", BEGIN, BEGIN + timedelta(minutes=5)),
    StageTime("base-1", "coat", BEGIN + timedelta(minutes=5), BEGIN + timedelta(minutes=7), True),
)
EVENING = Said(NOW, "evening", Word.GO, "", TIMES)
RAIN = Said(NOW - timedelta(days=1), "worse", Word.NO_GO, "rain", ())


@pytest.fixture
def said(tmp_path):
    """A store with one job."""
    engine = open_engine(f"sqlite:///{tmp_path / 'jobs.db'}")
    migrate(engine)
    SqlBookings(engine).add(PLAIN, NOW)
    yield SqlSaid(engine)
    engine.dispose()


def test_nothing_was_said(said):
    """Of a job that no brief told of there is nothing."""
    assert said.newest("J1", PLAIN.day) == ()


def test_it_reads_back_newest_first_whatever_its_clock_said(said):
    """The order is that in which it was kept, for a clock may be set back."""
    said.keep("J1", PLAIN.day, "evening", EVENING)
    said.keep("J1", PLAIN.day, "n 1", RAIN)
    assert said.newest("J1", PLAIN.day) == (("n 1", RAIN), ("evening", EVENING))


def test_the_same_subject_again_is_the_newest_and_the_only_one(said):
    """What was begun twice was said once."""
    said.keep("J1", PLAIN.day, "n 1", RAIN)
    said.keep("J1", PLAIN.day, "evening", EVENING)
    said.keep("J1", PLAIN.day, "n 1", RAIN)
    assert [subject for subject, _ in said.newest("J1", PLAIN.day)] == ["n 1", "evening"]


def test_a_job_that_moved_was_not_spoken_of_yet(said):
    """What was said of another day is not about this one."""
    said.keep("J1", PLAIN.day, "evening", EVENING)
    assert said.newest("J1", date(2027, 5, 9)) == ()


def test_a_word_of_a_newer_version_is_told(said):
    """One sentence instead of a guess."""
    said.keep("J1", PLAIN.day, "evening", EVENING)
    with write(said.engine) as connection:
        connection.execute(update(SAID).values(word="perhaps"))
    with pytest.raises(StoreError, match="'perhaps' for job J1"):
        said.newest("J1", PLAIN.day)

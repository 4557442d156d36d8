"""Records of jobs in a database."""

from datetime import UTC, datetime

import pytest
from days import job
from sqlalchemy import update

from sprayadvisor.adapters.store.bookings import SqlBookings
from sprayadvisor.adapters.store.engine import migrate, open_engine, write
from sprayadvisor.adapters.store.records import SqlRecords
from sprayadvisor.adapters.store.schema import RECORDS
from sprayadvisor.advice.record import CoatRecord, JobRecord, Met, Part
from sprayadvisor.errors import StoreError

AT = datetime(2026, 4, 17, 12, 4, tzinfo=UTC)
COAT = CoatRecord(
    "clear, coat 1", AT, True, (Met("panel_temp_c", 14.5, True), Met("rh_pct", 71.0, False)),
    "Quick 2K clear", "demo-1", ("cool hardener",),
)  # fmt: skip
BARE = CoatRecord("base, coat 1", None, False, (), "", "", ())
RECORD = JobRecord("T1", frozenset({Part.TIMES, Part.ADVICE}), (BARE, COAT), "go", "in a hurry", AT)


@pytest.fixture
def engine(tmp_path):
    """A database with one job."""
    made = open_engine(f"sqlite:///{tmp_path / 'live.db'}")
    migrate(made)
    SqlBookings(made).add(job(), AT)
    yield made
    made.dispose()


def test_a_record_comes_back_as_it_was_kept(engine):
    """Times with their zone, values exactly, parts and reason."""
    store = SqlRecords(engine)
    assert store.of("T1") is None
    store.keep(RECORD)
    assert store.of("T1") == RECORD
    store.keep(JobRecord("T1", frozenset(), (), kept_at=AT))
    assert store.of("T1") == JobRecord("T1", frozenset(), (), kept_at=AT)
    store.forget("T1")
    assert store.of("T1") is None


@pytest.mark.parametrize("coats", [[{"stage": "x"}], [3], [{"at": "no time"}]])
def test_a_damaged_record_says_so(engine, coats):
    """One sentence with the mend."""
    store = SqlRecords(engine)
    store.keep(RECORD)
    with write(engine) as connection:
        connection.execute(update(RECORDS).values(coats=coats))
    with pytest.raises(StoreError, match="record kept of job T1 is damaged; keep it anew"):
        store.of("T1")

"""A copy of the live database, and forgetting what is no longer needed."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from days import job
from outgoing import ME, key, outgoing

from sprayadvisor.adapters.store.bookings import SqlBookings
from sprayadvisor.adapters.store.engine import migrate, open_engine
from sprayadvisor.adapters.store.outbox import SqlOutbox
from sprayadvisor.adapters.store.snapshots import SqlSnapshots
from sprayadvisor.adapters.store.upkeep import SqlUpkeep
from sprayadvisor.advice.model import Customer
from sprayadvisor.errors import StoreError
from sprayadvisor.services.ports import Snapshot
from sprayadvisor.services.ports.outbox import Sending

AT = datetime(2026, 4, 16, 17, 0, tzinfo=UTC)


@pytest.fixture
def engine(tmp_path):
    """A database with its tables."""
    made = open_engine(f"sqlite:///{tmp_path / 'live.db'}")
    migrate(made)
    yield made
    made.dispose()


def test_a_copy_holds_what_the_live_database_holds(engine, tmp_path):
    """The copy opens by itself and has the jobs, also those written since the last checkpoint."""
    SqlBookings(engine).add(job(), AT)
    target = tmp_path / "copies" / "copy.db"
    SqlUpkeep(engine).backup(target)
    copy = open_engine(f"sqlite:///{target}")
    assert SqlBookings(copy).get("T1") == job()
    copy.dispose()
    assert target.stat().st_mode & 0o777 == 0o600
    assert target.parent.stat().st_mode & 0o777 == 0o700
    assert [path.name for path in target.parent.iterdir()] == ["copy.db"]


def test_a_copy_that_cannot_be_written_is_one_sentence(engine, tmp_path):
    """Nothing is left behind, and the sentence names the file."""
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match=r"file/copy.db cannot be written .*another folder"):
        SqlUpkeep(engine).backup(tmp_path / "file" / "copy.db")
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "taken.db").mkdir()
    with pytest.raises(StoreError, match=r"taken\.db cannot be written"):
        SqlUpkeep(engine).backup(tmp_path / "folder" / "taken.db")
    assert [path.name for path in (tmp_path / "folder").iterdir()] == ["taken.db"]


def test_a_server_is_copied_by_its_own_tool():
    """PostgreSQL has pg_dump."""
    engine = open_engine("sqlite://")
    engine.dialect.name = "postgresql"
    with pytest.raises(StoreError, match="pg_dump"):
        SqlUpkeep(engine).backup("copy.db")


def test_customers_of_old_jobs_are_forgotten_and_the_jobs_stay(engine):
    """Name, phone, mail and note go; day, site and history stay; later jobs are left alone."""
    store = SqlBookings(engine)
    who = Customer("Ms Vale", "(none)", "vale@example.org", "grey gate")
    old = replace(job(ref="OLD", day=date(2025, 3, 1)), customer=who)
    new = replace(job(ref="NEW"), customer=who)
    for one in (old, new):
        store.add(one, AT)
    upkeep = SqlUpkeep(engine)
    assert upkeep.forget_customers(date(2026, 1, 1)) == 1
    assert store.get("OLD") == replace(old, customer=Customer())
    assert store.get("NEW") == new
    assert len(store.history("OLD")) == 1
    assert upkeep.forget_customers(date(2026, 1, 1)) == 0


def test_old_weather_goes_but_the_last_of_a_place_stays(engine):
    """Fourteen days back is enough; the last good answer is kept however old."""
    kept = SqlSnapshots(engine)
    for place, days in (("a", 30), ("a", 20), ("a", 1), ("b", 40)):
        kept.save(Snapshot(place, "forecast", AT - timedelta(days=days), "request", b"{}"))
    assert SqlUpkeep(engine).forget_weather(AT - timedelta(days=14)) == 2
    assert kept.latest("a").fetched_at == AT - timedelta(days=1)
    assert kept.latest("b").fetched_at == AT - timedelta(days=40)


def test_old_ledger_lines_go_and_what_waits_stays(engine):
    """A line closed long ago is removed; one closed lately or still open is kept."""
    box = SqlOutbox(engine, ME)
    for subject in ("old", "new", "waiting"):
        box.enqueue(outgoing(key(subject=subject)), AT - timedelta(days=500))
    for closed in (AT - timedelta(days=450), AT):
        claim = box.claim(AT - timedelta(days=500), AT)
        box.close(claim, Sending.SENT, closed)
    assert SqlUpkeep(engine).forget_messages(AT - timedelta(days=400)) == 1
    assert [line.key.subject for line in box.ledger()] == ["new", "waiting"]
    assert SqlUpkeep(engine).forget_messages(AT - timedelta(days=400)) == 0

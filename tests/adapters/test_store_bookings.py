"""Jobs in a real database: nothing lost on the way in and out, nothing half-written."""

import threading
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone
from types import MappingProxyType

import pytest
from booked import MILL_LANE, NOW, PLAIN, jobs, moments
from hypothesis import HealthCheck, given, settings
from sqlalchemy import event, exc, func, select, text

from sprayadvisor.adapters.store.bookings import SqlBookings
from sprayadvisor.adapters.store.engine import migrate, open_engine, read, write
from sprayadvisor.adapters.store.schema import JOB_EVENTS, JOBS, SITES
from sprayadvisor.advice.model import Customer, JobState, Surface
from sprayadvisor.errors import BookingError, StoreError
from sprayadvisor.services.ports import BookingStore, Event, JobEvent

ONE_ENGINE = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture
def store(tmp_path):
    """Return an empty store in a file."""
    engine = open_engine(f"sqlite:///{tmp_path}/jobs.db")
    migrate(engine)
    yield SqlBookings(engine)
    engine.dispose()


def rows(store, table):
    """Return how many rows a table has."""
    with read(store.engine) as connection:
        return connection.execute(select(func.count()).select_from(table)).scalar_one()


@ONE_ENGINE
@given(job=jobs, at=moments)
def test_every_field_comes_back(store, job, at):
    """Any job reads back equal to what was stored, and its event at the same moment in UTC."""
    with write(store.engine) as connection:
        for table in ("job_events", "jobs", "sites"):
            connection.execute(text(f"DELETE FROM {table}"))  # noqa: S608 - our own table names
    store.add(job, at, by="page")
    assert store.get(job.ref) == job
    assert store.between(job.day, job.day, [job.state]) == (job,)
    assert store.sites() == (job.site,)
    (added,) = store.history(job.ref)
    assert added == JobEvent(at, Event.ADDED, "page", "")
    assert added.at.tzinfo is UTC


def test_store_keeps_its_contract(store):
    """The store is what the services ask for."""
    contract: BookingStore = store
    assert contract.get("J1") is None
    assert contract.history("J1") == ()


def test_taken_reference_changes_nothing(store):
    """A second job under a reference is refused, with its site and its event."""
    store.add(PLAIN, NOW)
    other = replace(PLAIN, process="door", site=replace(MILL_LANE, name="Quarry", latitude=47.0))
    with pytest.raises(BookingError, match="already a job J1; give another reference"):
        store.add(other, NOW)
    assert store.get("J1") == PLAIN
    assert store.sites() == (MILL_LANE,)
    assert len(store.history("J1")) == 1


def test_many_are_stored_together_or_not_at_all(store):
    """Where one reference is taken, none of the others is kept, nor its site."""
    store.add(PLAIN, NOW)
    quarry = replace(MILL_LANE, name="Quarry", latitude=47.0)
    others = [replace(PLAIN, ref="J2", site=quarry), replace(PLAIN, ref="J1")]
    with pytest.raises(BookingError, match="already a job J1"):
        store.add_all(others, NOW, by="file")
    assert store.get("J2") is None
    assert store.sites() == (MILL_LANE,)
    store.add_all(others[:1], NOW, by="file")
    assert store.history("J2") == (JobEvent(NOW, Event.ADDED, "file", ""),)


def test_between_orders_and_chooses(store):
    """Both days are included, states are chosen, order is day, arrival, reference."""
    day = PLAIN.day
    late, early = replace(PLAIN, ref="A", arrive_from=time(10)), replace(PLAIN, ref="C")
    twin, next_day = replace(PLAIN, ref="B"), replace(PLAIN, ref="D", day=day + timedelta(days=1))
    gone = replace(PLAIN, ref="E", state=JobState.CANCELLED)
    for job in (late, early, twin, next_day, gone):
        store.add(job, NOW)
    assert store.between(day, day) == (twin, early, late)
    assert store.between(day, next_day.day) == (twin, early, late, next_day)
    assert store.between(date.min, day - timedelta(days=1)) == ()
    assert store.between(day, day, [JobState.CANCELLED]) == (gone,)
    assert len(store.between(date.min, date.max, JobState)) == 5
    assert store.between(day, day, []) == ()


def test_replace_keeps_job_site_and_event(store):
    """A change brings job and site up to date and adds a line to the history."""
    store.add(PLAIN, NOW)
    moved = replace(
        PLAIN,
        day=date(2027, 5, 6),
        times_moved=1,
        site=replace(MILL_LANE, downwind=MappingProxyType({"n": "washing line"})),
        customer=Customer("A. Sample"),
    )
    later = NOW + timedelta(hours=1)
    store.replace(moved, later, Event.MOVED, "rain", by="page", was=PLAIN)
    assert store.get("J1") == moved
    assert store.history("J1") == (
        JobEvent(NOW, Event.ADDED, "", ""),
        JobEvent(later, Event.MOVED, "page", "rain"),
    )


def test_site_is_shared_by_name(store):
    """A better description of a site holds for every job there."""
    store.add(PLAIN, NOW)
    better = replace(MILL_LANE, elevation_m=512.5)
    store.add(replace(PLAIN, ref="J2", site=better), NOW)
    assert store.get("J1").site == better
    assert rows(store, SITES) == 1


def test_replace_of_what_is_not_there(store):
    """A job that was never added cannot be changed; nothing of it stays."""
    with pytest.raises(BookingError, match="no job J1; add it first"):
        store.replace(PLAIN, NOW, Event.CHANGED)
    assert (rows(store, JOBS), rows(store, SITES), rows(store, JOB_EVENTS)) == (0, 0, 0)


def test_replace_of_what_somebody_else_changed(store):
    """Who was slower is told, and the quicker one's change stays."""
    store.add(PLAIN, NOW)
    quicker = replace(PLAIN, process="door")
    store.replace(quicker, NOW, Event.CHANGED, was=PLAIN)
    with pytest.raises(BookingError, match="J1 was changed by somebody else"):
        store.replace(replace(PLAIN, may_move=False), NOW, Event.CHANGED, was=PLAIN)
    assert store.get("J1") == quicker
    assert len(store.history("J1")) == 2
    store.replace(PLAIN, NOW, Event.CHANGED)
    assert store.get("J1") == PLAIN


@pytest.mark.parametrize("table", ["sites", "jobs", "job_events"])
def test_nothing_is_half_written(store, table):
    """Whatever breaks within a change, the job, its site and its history stay as they were."""
    store.add(PLAIN, NOW)

    @event.listens_for(store.engine, "before_cursor_execute")
    def break_at_table(_connection, _cursor, statement, *_rest):
        if statement.startswith((f"INSERT INTO {table}", f"UPDATE {table}")):
            raise RuntimeError("power cut")

    changed = replace(PLAIN, process="door", site=replace(MILL_LANE, zone="Europe/Vienna"))
    with pytest.raises(RuntimeError, match="power cut"):
        store.replace(changed, NOW, Event.CHANGED)
    event.remove(store.engine, "before_cursor_execute", break_at_table)
    assert store.get("J1") == PLAIN
    assert len(store.history("J1")) == 1


def add_one_move(store, times):
    """Count a job's moves up, reading again whenever somebody else was quicker."""
    while times:
        was = store.get("J1")
        try:
            store.replace(replace(was, times_moved=was.times_moved + 1), NOW, Event.MOVED, was=was)
        except BookingError:
            continue
        times -= 1


def test_threads_lose_no_change(store):
    """Two threads that read a job and write it back, changed, end at the sum of both."""
    store.add(PLAIN, NOW)
    threads = [threading.Thread(target=add_one_move, args=(store, 15)) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert store.get("J1").times_moved == 30
    assert len(store.history("J1")) == 31


def test_next_reference_is_free(store):
    """Numbers count up and step over what is taken."""
    assert store.next_ref() == "J1"
    for ref, following in [("J1", "J2"), ("J3", "J4"), ("mine", "J4"), ("J5", "J6")]:
        store.add(replace(PLAIN, ref=ref), NOW)
        assert store.next_ref() == following


def test_vanished_process_loads(store):
    """A job whose process is gone is read like any other; the brief will say so."""
    store.add(replace(PLAIN, process="gone long ago"), NOW)
    assert store.get("J1").process == "gone long ago"


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE jobs SET state = 'adrift'", "'adrift' for job J1.*install the version"),
        ("UPDATE sites SET cover = 'cave'", "'cave' for site Mill Lane"),
        ("""UPDATE jobs SET panels = '[["fin", "red", "steel"]]'""", "'fin' for job J1"),
    ],
)
def test_unknown_word_is_a_sentence(store, statement, words):
    """What a newer version wrote is named and not guessed at."""
    store.add(PLAIN, NOW)
    with write(store.engine) as connection:
        connection.execute(text(statement))
    with pytest.raises(StoreError, match=words):
        store.get("J1")


def test_panels_that_an_older_version_wrote_are_painted(store):
    """Three words to a panel, none of them its surface."""
    store.add(PLAIN, NOW)
    with write(store.engine) as connection:
        connection.execute(text("""UPDATE jobs SET panels = '[["roof", "red", "steel"]]'"""))
    assert [panel.surface for panel in store.get("J1").panels] == [Surface.PAINT]


def test_unknown_event_is_a_sentence(store):
    """The same for a history's words."""
    store.add(PLAIN, NOW)
    with write(store.engine) as connection:
        connection.execute(text("UPDATE job_events SET event = 'blessed'"))
    with pytest.raises(StoreError, match="'blessed' for job J1"):
        store.history("J1")


def test_moment_without_zone_is_a_defect(store):
    """A moment without a zone is refused loudly, and nothing is stored."""
    with pytest.raises(exc.StatementError, match="has no zone"):
        store.add(PLAIN, datetime(2027, 5, 3, 8))  # noqa: DTZ001 - the fault under test
    assert rows(store, JOBS) == 0


def test_customer_stays_out_of_error_texts(store):
    """What the database complains about never repeats a customer's details."""
    secret = replace(PLAIN, process=None, customer=Customer("A. Sample", "none", "", ""))
    with pytest.raises(exc.IntegrityError, match="NOT NULL") as caught:
        store.add(secret, NOW)
    assert "Sample" not in str(caught.value)


def test_moments_of_every_zone_come_back_in_utc(store):
    """A moment given in another zone is stored as the same moment in UTC."""
    kathmandu = timezone(timedelta(hours=5, minutes=45))
    store.add(PLAIN, datetime(2027, 5, 3, 2, 0, tzinfo=kathmandu))
    assert store.history("J1")[0].at.isoformat() == "2027-05-02T20:15:00+00:00"


def test_nullable_moment_stays_none(store):
    """A column of moments that may be empty gives None back."""
    from sqlalchemy import literal

    from sprayadvisor.adapters.store.times import UtcDateTime

    with read(store.engine) as connection:
        assert connection.execute(select(literal(None, UtcDateTime()))).scalar() is None

"""Received weather in a real database."""

from datetime import UTC, timedelta

import pytest
from booked import NOW
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from sprayadvisor.adapters.store.engine import migrate, open_engine, read, write
from sprayadvisor.adapters.store.snapshots import SqlSnapshots
from sprayadvisor.errors import StoreError
from sprayadvisor.services.ports import Snapshot, SnapshotStore


@pytest.fixture
def store(tmp_path):
    """Return an empty store in a file."""
    engine = open_engine(f"sqlite:///{tmp_path}/jobs.db")
    migrate(engine)
    yield SqlSnapshots(engine)
    engine.dispose()


def test_nothing_yet_is_none(store):
    """A place never asked about has no answer."""
    contract: SnapshotStore = store
    assert contract.latest("a") is None


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(payload=st.binary(max_size=2000))
def test_payload_comes_back_byte_for_byte(store, payload):
    """What was received is what is read, with where, when and how it was asked."""
    store.save(Snapshot("a", "forecast", NOW, "GET /x", payload))
    found = store.latest("a")
    assert found == Snapshot("a", "forecast", NOW, "GET /x", payload)
    assert found.fetched_at.tzinfo is UTC


def test_latest_is_by_time_fetched_then_by_order(store):
    """An answer stored late but fetched early does not count as the newest."""
    for minutes, payload in [(0, b"old"), (60, b"new"), (30, b"between"), (60, b"newer")]:
        store.save(Snapshot("a", "forecast", NOW + timedelta(minutes=minutes), "", payload))
    assert store.latest("a").payload == b"newer"


def test_places_and_kinds_are_apart(store):
    """Each place and each kind has its own newest answer."""
    store.save(Snapshot("a", "forecast", NOW, "", b"1"))
    store.save(Snapshot("a", "air", NOW, "", b"2"))
    store.save(Snapshot("b", "forecast", NOW, "", b"3"))
    found = {(p, k): store.latest(p, k) for p in "ab" for k in ("forecast", "air")}
    assert found.pop(("b", "air")) is None
    assert [one.payload for one in found.values()] == [b"1", b"2", b"3"]


def test_payload_is_packed(store):
    """A forecast's repetitions cost next to nothing on disk."""
    store.save(Snapshot("a", "forecast", NOW, "", b'{"temperature_2m": 12.5}' * 1000))
    with read(store.engine) as connection:
        size = connection.execute(text("SELECT length(payload_gz) FROM snapshots")).scalar_one()
    assert size < 500


@pytest.mark.parametrize("damage", ["x'00'", "substr(payload_gz, 1, 15)"])
def test_damaged_answer_is_a_sentence(store, damage):
    """A payload that cannot be unpacked is named and never half-used."""
    store.save(Snapshot("a", "forecast", NOW, "", b"some weather" * 20))
    with write(store.engine) as connection:
        connection.execute(text(f"UPDATE snapshots SET payload_gz = {damage}"))  # noqa: S608
    with pytest.raises(StoreError, match="forecast of 2027-05-03 08:30 UTC for a is damaged"):
        store.latest("a")

"""The outbox: no key twice, one holder at a time, every doubt counted; on every database."""

import contextlib
import os
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest
from outgoing import BEN, ME, NOW, OTHER, UNTIL, key, outgoing, sqlite_outbox
from sqlalchemy import inspect, text

from sprayadvisor.adapters.store.engine import migrate, open_engine, read, write
from sprayadvisor.adapters.store.outbox import SqlOutbox, Worker, is_running, this_process
from sprayadvisor.adapters.store.schema import METADATA
from sprayadvisor.errors import StoreError
from sprayadvisor.services.ports.outbox import Outbox, Sending

POSTGRES = os.environ.get("TEST_POSTGRES_URL", "")
MINUTE = timedelta(minutes=1)


@contextlib.contextmanager
def postgres_outbox():
    """Yield an empty outbox on the server; the database is left empty again."""
    engine = open_engine(POSTGRES)
    with read(engine) as connection:
        assert inspect(connection).get_table_names() == [], "these tests need an empty database"
    migrate(engine)
    yield SqlOutbox(engine, ME, running=lambda _pid: True)
    with write(engine) as connection:
        METADATA.drop_all(connection)
        connection.execute(text("DROP TABLE alembic_version"))
    engine.dispose()


@pytest.fixture(
    params=[
        "sqlite",
        pytest.param(
            "postgres",
            marks=[
                pytest.mark.postgres,
                pytest.mark.skipif(not POSTGRES, reason="TEST_POSTGRES_URL names no database"),
            ],
        ),
    ]
)
def box(request, tmp_path):
    """Return an empty outbox of each kind of database."""
    opened = sqlite_outbox(tmp_path) if request.param == "sqlite" else postgres_outbox()
    with opened as outbox:
        yield outbox


def line(box, known_by=None):
    """Return the line of the ledger on a message."""
    (found,) = [one for one in box.ledger() if one.key == (known_by or key())]
    return found


def stored_bytes(box):
    """Return the messages that the database still holds."""
    with read(box.engine) as connection:
        rows = connection.execute(text("SELECT message FROM outbox ORDER BY id")).scalars()
        return [None if row is None else bytes(row) for row in rows]


def test_a_key_is_taken_once(box):
    """A second message under it is refused, whatever it says and whatever became of the first."""
    contract: Outbox = box
    assert contract.known([key()]) == set()
    assert contract.enqueue(outgoing(), NOW)
    other = replace(outgoing(body=b"Other words.\r\n"), message_id="<other@example.org>")
    assert not contract.enqueue(other, NOW)
    assert contract.close(contract.claim(NOW, UNTIL), Sending.SENT, NOW)
    assert not contract.enqueue(other, NOW)
    assert line(box).message_id == outgoing().message_id
    assert contract.known([key(), key(recipient=BEN)]) == {key()}


def test_delivered_is_only_what_was_sent(box):
    """What waits, is on its way or failed has not been delivered."""
    others = [key(subject=word) for word in ("waits", "failed")]
    for known_by in (key(), *others):
        box.enqueue(outgoing(known_by), NOW)
    assert box.delivered([key(), *others]) == set()
    for end in (Sending.SENT, Sending.FAILED):
        box.close(box.claim(NOW, UNTIL), end, NOW)
    assert len(box.delivered([key(), *others])) == 1
    (sent,) = box.delivered([key(), *others])
    assert line(box, sent).state is Sending.SENT


@pytest.mark.parametrize("part", ["recipient", "kind", "subject"])
def test_every_part_of_the_key_counts(box, part):
    """Another recipient, kind or subject is another message."""
    for known_by in (key(), key(**{part: "x"})):
        assert box.enqueue(outgoing(known_by), NOW)
    assert len(box.ledger()) == 2


def test_a_claim_brings_the_very_bytes_and_shuts_others_out(box):
    """Until it runs out there is nothing for anybody else."""
    box.enqueue(outgoing(), NOW)
    claim = box.claim(NOW, UNTIL)
    assert claim.outgoing == outgoing()
    assert (claim.by, claim.tries, claim.doubts, claim.taken_over) == (str(ME), 1, 0, False)
    assert line(box).state is Sending.SENDING
    assert replace(box, worker=OTHER).claim(UNTIL - MINUTE, UNTIL) is None
    assert box.claim(NOW, UNTIL) is None


def test_what_ended_holds_no_customer_any_more(box):
    """The line stays, the message goes."""
    box.enqueue(outgoing(), NOW)
    assert stored_bytes(box) == [outgoing().message]
    assert box.close(box.claim(NOW, UNTIL), Sending.SENT, NOW + MINUTE)
    assert stored_bytes(box) == [None]
    found = line(box)
    assert (found.state, found.closed_at, found.problem) == (Sending.SENT, NOW + MINUTE, "")
    assert (found.enqueued_at, found.expires_at) == (NOW, outgoing().expires_at)


def test_a_claim_that_ran_out_is_taken_over_and_a_doubt(box):
    """The same bytes again; who was slower changes nothing any more."""
    box.enqueue(outgoing(), NOW)
    slow = box.claim(NOW, UNTIL)
    quick = replace(box, worker=OTHER).claim(UNTIL, UNTIL + MINUTE)
    assert (quick.tries, quick.doubts, quick.taken_over) == (2, 1, True)
    assert quick.outgoing == slow.outgoing
    note = outgoing(key(kind="not_sent"))
    assert not box.close(slow, Sending.FAILED, UNTIL, "no", note)
    assert not box.postpone(slow, UNTIL, "no", doubtful=True)
    assert (line(box).state, line(box).doubts) == (Sending.SENDING, 1)
    assert len(box.ledger()) == 1
    assert box.close(quick, Sending.SENT, UNTIL)
    assert not box.close(quick, Sending.SENT, UNTIL)


def test_one_worker_knows_its_claims_apart(box):
    """Two claims of one process on one message are not the same."""
    box.enqueue(outgoing(), NOW)
    first, second = box.claim(NOW, UNTIL), box.claim(UNTIL, UNTIL + MINUTE)
    assert not box.close(first, Sending.SENT, UNTIL)
    assert box.close(second, Sending.SENT, UNTIL)


@pytest.mark.parametrize("doubtful", [False, True])
def test_postponed_it_waits(box, doubtful):
    """Nothing before its time, the same bytes after it, and the reason meanwhile."""
    box.enqueue(outgoing(), NOW)
    assert box.postpone(box.claim(NOW, UNTIL), NOW + MINUTE, "Not now.", doubtful=doubtful)
    found = line(box)
    assert (found.state, found.problem) == (Sending.READY, "Not now.")
    assert (found.next_try_at, found.doubts) == (NOW + MINUTE, int(doubtful))
    assert box.claim(NOW, UNTIL) is None
    again = box.claim(NOW + MINUTE, UNTIL)
    assert again.outgoing == outgoing()
    assert (again.tries, again.problem, again.taken_over) == (2, "Not now.", False)


def test_a_clock_set_back_holds_nothing_up(box):
    """A wait longer than any is none: it was written by a clock a day ahead."""
    box.enqueue(outgoing(expires_at=NOW + timedelta(days=3)), NOW)
    box.postpone(box.claim(NOW, UNTIL), NOW + timedelta(days=1), "Not now.")
    assert box.claim(NOW, UNTIL) is not None


def test_whoever_mended_something_need_not_wait(box):
    """What waits is due at once; what is sent or on its way stays as it is."""
    for n in range(3):
        box.enqueue(outgoing(key(subject=f"job {n}")), NOW)
    box.close(box.claim(NOW, UNTIL), Sending.SENT, NOW)
    box.postpone(box.claim(NOW, UNTIL), NOW + MINUTE, "Not now.")
    held = box.claim(NOW, UNTIL)
    box.hurry(NOW)
    assert box.claim(NOW, UNTIL).outgoing.key == key(subject="job 1")
    assert box.claim(NOW, UNTIL) is None
    assert box.close(held, Sending.SENT, NOW)


def test_what_has_become_useless_is_found_at_once(box):
    """Before its next try, and also where nothing else shall be taken up; but not while held."""
    box.enqueue(outgoing(expires_at=NOW + MINUTE), NOW)
    box.postpone(box.claim(NOW, UNTIL), NOW + 30 * MINUTE, "Not now.")
    box.enqueue(outgoing(key(subject="fresh")), NOW)
    assert box.claim(NOW, UNTIL, useless_only=True) is None
    claim = box.claim(NOW + MINUTE, UNTIL, useless_only=True)
    assert claim.outgoing.key == key()
    assert box.claim(NOW + 2 * MINUTE, UNTIL, useless_only=True) is None
    assert box.claim(UNTIL, UNTIL + MINUTE, useless_only=True).taken_over


def test_the_oldest_goes_first(box):
    """By the time they are due, then by the time they came."""
    for n, late in enumerate((2, 0, 1)):
        box.enqueue(outgoing(key(subject=str(n))), NOW + late * MINUTE)
    order = [box.claim(NOW + 5 * MINUTE, UNTIL + 5 * MINUTE).outgoing.key.subject for _ in range(3)]
    assert order == ["1", "2", "0"]


def test_end_and_note_are_one_step(box):
    """The note is there if the end is, once, and due now."""
    box.enqueue(outgoing(), NOW)
    note = outgoing(key(kind="not_sent", subject="morning 2026-04-17"))
    assert box.close(box.claim(NOW, UNTIL), Sending.EXPIRED, NOW, "Too late.", note)
    assert [(one.key, one.state) for one in box.ledger()] == [
        (key(), Sending.EXPIRED),
        (note.key, Sending.READY),
    ]
    assert line(box).problem == "Too late."
    assert box.claim(NOW, UNTIL).outgoing == note


# --- the dead ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("holder", "running", "freed"),
    [
        (Worker("van", 11, "bb"), False, True),
        (Worker("van", 11, "bb"), True, False),
        (Worker("van", 10, "old"), True, True),  # this very number had an earlier process
        (Worker("van", 10, "aa"), False, False),  # this process itself
        (Worker("yard", 11, "bb"), False, False),  # another computer: nobody here can tell
    ],
)
def test_claims_of_the_dead_are_freed_and_doubts(box, holder, running, freed):
    """A process that died may have sent it; one that lives, or cannot be asked, keeps it."""
    box.enqueue(outgoing(), NOW)
    held = replace(box, worker=holder).claim(NOW, UNTIL)
    assert replace(box, running=lambda _pid: running).free_dead_claims() == int(freed)
    assert (line(box).state is Sending.READY) == freed
    assert line(box).doubts == int(freed)
    assert box.close(held, Sending.SENT, NOW) == (not freed)


def test_nothing_held_nothing_freed(box):
    """An empty outbox has no dead."""
    assert box.free_dead_claims() == 0


def test_a_worker_is_read_back_from_its_name():
    """Also with a colon in the name of the computer."""
    worker = Worker("odd:name", 12, "ff")
    assert Worker.parsed(str(worker)) == worker
    assert this_process() is this_process()
    assert this_process().pid == os.getpid()


def test_running_or_not(monkeypatch):
    """This process runs, one that ended does not, and somebody else's may not be asked but runs."""
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    assert is_running(os.getpid())
    assert not is_running(ended.pid)

    def not_allowed(_pid, _signal):
        raise PermissionError

    monkeypatch.setattr(os, "kill", not_allowed)
    assert is_running(1)


def test_two_threads_never_hold_the_same(box):
    """Each of forty messages is taken up by one of two workers that try at once."""
    for n in range(40):
        box.enqueue(outgoing(key(subject=str(n))), NOW)
    taken = {ME: [], OTHER: []}

    def take(worker):
        own = replace(box, worker=worker)
        while claim := own.claim(NOW, UNTIL):
            taken[worker].append(claim.outgoing.key)
            assert own.close(claim, Sending.SENT, NOW)

    threads = [threading.Thread(target=take, args=[worker]) for worker in taken]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    both = taken[ME] + taken[OTHER]
    assert len(both) == len(set(both)) == 40
    assert {one.state for one in box.ledger()} == {Sending.SENT}


def test_two_threads_put_in_one(box):
    """Of two that find the same thing due, one puts it in."""
    came = []
    gate = threading.Barrier(4)

    def put():
        gate.wait(10)
        came.append(box.enqueue(outgoing(), NOW))

    threads = [threading.Thread(target=put) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(came) == [False, False, False, True]


# --- a database that will not -------------------------------------------------------------------


def _let_grow(engine, pages):
    """Let the file grow by no more than so many pages."""
    with read(engine) as connection:
        now = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count={now + pages}")


def test_a_full_disk_while_putting_in(tmp_path):
    """One sentence; the key is not known, so it is still due, and there is room for it later."""
    big = outgoing(body=b"x" * 70 + b"\r\n" * 50_000)
    with sqlite_outbox(tmp_path) as box:
        _let_grow(box.engine, 2)
        with pytest.raises(
            StoreError, match=r"no room left to write .*outbox\.db; free some space"
        ):
            box.enqueue(big, NOW)
        assert box.known([key()]) == set()
        _let_grow(box.engine, 1000)
        assert box.enqueue(big, NOW)
        assert box.claim(NOW, UNTIL).outgoing == big


def test_a_full_disk_while_marking(tmp_path):
    """One sentence; the claim stands as before, neither ended nor given back."""
    with sqlite_outbox(tmp_path) as box:
        box.enqueue(outgoing(), NOW)
        claim = box.claim(NOW, UNTIL)
        note = outgoing(key(kind="not_sent"), body=b"x\r\n" * 50_000)
        _let_grow(box.engine, 2)
        with pytest.raises(StoreError, match="no room left to write"):
            box.close(claim, Sending.FAILED, NOW, "no", note)
        assert (line(box).state, len(box.ledger())) == (Sending.SENDING, 1)
        assert stored_bytes(box) == [outgoing().message]
        _let_grow(box.engine, 1000)
        assert box.close(claim, Sending.FAILED, NOW, "no", note)
        assert len(box.ledger()) == 2


STEPS = {
    "enqueue": lambda box, _claim: box.enqueue(outgoing(key(subject="new")), NOW),
    "claim": lambda box, _claim: box.claim(NOW, UNTIL),
    "close": lambda box, claim: box.close(claim, Sending.SENT, NOW),
    "postpone": lambda box, claim: box.postpone(claim, UNTIL, "no"),
    "hurry": lambda box, _claim: box.hurry(NOW),
    "free": lambda box, _claim: replace(box, worker=OTHER, running=lambda _: 0).free_dead_claims(),
}


@pytest.mark.parametrize("step", STEPS)
def test_a_database_held_by_another_writer(tmp_path, step):
    """One sentence, nothing changed; once it is free again the same step goes through."""
    with sqlite_outbox(tmp_path, busy_timeout_s=0.02) as box:
        for n in range(2):
            box.enqueue(outgoing(key(subject=str(n))), NOW)
        claim = box.claim(NOW, UNTIL)
        before = box.ledger()
        with closing(sqlite3.connect(tmp_path / "outbox.db", isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with pytest.raises(StoreError, match=r"outbox\.db is being written by another"):
                STEPS[step](box, claim)
            assert box.ledger() == before
        STEPS[step](box, claim)


def test_a_state_of_a_newer_version_is_a_sentence(box):
    """It is not guessed at."""
    box.enqueue(outgoing(), NOW)
    with write(box.engine) as connection:
        connection.execute(text("UPDATE outbox SET state = 'bounced'"))
    with pytest.raises(StoreError, match=r"'bounced' for message .*install the version"):
        box.ledger()

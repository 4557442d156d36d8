"""What can befall the computer: no room, no right to write, another writer, a clock that jumps.

Real files, real processes. In each case the painter gets each brief once, or is told why not.
"""

import os
import shutil
import stat
import subprocess
import sys
from contextlib import contextmanager
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from killing import _started
from mail_server import HOST, MailServer
from serving import SERVE, evening_world, mails, served, wait_for, wait_for_line
from sqlalchemy import event
from whole_brief import evening

from sprayadvisor.adapters import whole_files
from sprayadvisor.adapters.store.engine import open_engine
from sprayadvisor.bootstrap import build
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.services.ports.outbox import Sending
from sprayadvisor.settings import load_settings

ROOT = os.geteuid() == 0
# Root may write anywhere unless it lays that right down.
PLAIN_USER = ["setpriv", "--bounding-set=-dac_override,-dac_read_search"] if ROOT else []
needs_setpriv = pytest.mark.skipif(ROOT and not shutil.which("setpriv"), reason="no setpriv here")


def states(world):
    """Return kind and state of every line of the ledger."""
    return {line.key.kind: line.state for line in world.services.outbox.ledger()}


# --- no room ----------------------------------------------------------------------------------


@pytest.mark.parametrize("room", [*range(12), 16, 20, 24, 32])
def test_a_disk_that_fills_at_any_page(tmp_path, room):
    """However far it came: with room again the brief is there, once, and nothing is in doubt."""
    with evening(tmp_path) as world:
        world.server.faults.switch(Fault.NOT_FOUND)  # a brief of unknowns is quickly made
        clock, engine = world.services.clock, world.services.engine
        with engine.connect() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        limit = [pages + room]

        @event.listens_for(engine, "checkout")
        def no_room(connection, _record, _proxy):
            connection.execute(f"PRAGMA max_page_count={limit[0]}")

        clock.tick()
        problem = world.services.health.state.problem
        full = f"There is no room left to write the database {tmp_path}"
        assert problem.startswith(full) or (not problem and len(world.mails()) == 1)
        assert len(world.mails()) <= 1
        limit[0] = pages + 10_000
        world.time.on(minutes=3)
        clock.tick()
        (line,) = world.services.outbox.ledger()
        assert (line.state, line.doubts, len(world.mails())) == (Sending.SENT, 0, 1)
    if room == 0:
        assert problem


def test_a_mail_folder_without_room(tmp_path, monkeypatch):
    """The kernel's own refusal: one sentence, no half of a mail, sent once there is room."""
    with evening(tmp_path) as world:
        world.server.faults.switch(Fault.NOT_FOUND)
        with monkeypatch.context() as patched:
            full = {"mkstemp": lambda **_: (os.open("/dev/full", os.O_WRONLY), str(tmp_path / "w"))}
            patched.setattr(whole_files, "tempfile", type("Full", (), full))
            world.services.clock.tick()
        assert world.services.health.state.problem == (
            f"{world.folder} cannot be written to (no space left on device); "
            "free some space or choose another folder."
        )
        assert states(world) == {"evening": Sending.READY}
        assert list(world.folder.iterdir()) == []
        world.time.on(minutes=3)
        world.services.clock.tick()
        assert len(world.mails()) == 1


def test_a_log_without_room_holds_nothing_up(tmp_path):
    """Every line is lost; the brief goes out and a signal ends it well."""
    with evening_world(tmp_path) as (environ, server, folder), Path("/dev/full").open("w") as full:
        server.faults.switch(Fault.NOT_FOUND)
        # Unbuffered, nothing is left over that the end of the process could stumble on.
        plain = {name: text for name, text in os.environ.items() if name != "PYTHONUNBUFFERED"}
        process = subprocess.Popen([*SERVE, "--no-web"], env=plain | environ, stderr=full)
        try:
            wait_for(lambda: mails(folder))
            process.terminate()
            assert process.wait(10) == 0
        finally:
            process.kill()
            process.wait()


# --- another writer ---------------------------------------------------------------------------

HOLDS = (
    "import sqlite3, sys; db = sqlite3.connect(sys.argv[1], isolation_level=None); "
    "db.execute('BEGIN IMMEDIATE'); print('held', flush=True); sys.stdin.read()"
)


def test_a_database_that_another_process_does_not_let_go(tmp_path):
    """Longer than anybody waits: told, nothing sent; let go, the brief is made and sent once."""
    with evening(tmp_path) as world:
        world.server.faults.switch(Fault.NOT_FOUND)
        world.services.engine.dispose()
        path = tmp_path / "sprayadvisor.db"
        world.services.engine = open_engine(f"sqlite:///{path}", busy_timeout_s=0.05)
        del world.services.bookings  # made with the patient engine
        with subprocess.Popen(
            [sys.executable, "-c", HOLDS, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        ) as other:
            assert other.stdout.readline() == b"held\n"
            world.services.clock.tick()
            assert world.services.health.state.problem == (
                f"The database {path} is being written by another program; "
                "try again in a moment, or close that one."
            )
            assert world.mails() == []
            other.stdin.close()
        world.services.clock.tick()
        assert states(world) == {"evening": Sending.SENT}
        assert len(world.mails()) == 1


# --- no right to write ------------------------------------------------------------------------


@contextmanager
def read_only(folder):
    """Let nobody write in a folder."""
    before = folder.stat().st_mode
    folder.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        yield
    finally:
        folder.chmod(before)


@needs_setpriv
def test_a_read_only_folder_stops_the_start_with_a_sentence(tmp_path):
    """Whether the database is there or not: exit 1, what is wrong and what to do."""
    with evening_world(tmp_path) as (environ, _, _), read_only(tmp_path):
        (tmp_path / "sprayadvisor.db").chmod(0o400)
        for folder in (tmp_path, tmp_path / "new"):
            environ |= {"SPRAYADVISOR_DATA_DIR": str(folder)}
            done = subprocess.run(
                [*PLAIN_USER, *SERVE, "--no-web"], env=os.environ | environ, check=False,
                capture_output=True, text=True, timeout=60,
            )  # fmt: skip
            assert done.returncode == 1
            assert "Traceback" not in done.stderr
            assert f"The database {folder}/sprayadvisor.db" in done.stderr
            assert "set database_url to another folder." in done.stderr


@needs_setpriv
def test_a_read_only_mail_folder_is_waited_for(tmp_path):
    """It says so and lives; with the right given back, the next start sends the brief."""
    with evening_world(tmp_path) as (environ, server, folder):
        server.faults.switch(Fault.NOT_FOUND)
        folder.mkdir()
        with read_only(folder), served(environ, prefix=PLAIN_USER) as process:
            wait_for_line(process, f"{folder} cannot be written to (permission denied); free some")
            process.terminate()
            assert process.wait(10) == 0
        assert mails(folder) == []
        with served(environ, prefix=PLAIN_USER):
            wait_for(lambda: mails(folder))


# --- the clock --------------------------------------------------------------------------------


def run(world, minutes, step=30):
    """Tick and go on; return the local times that were ticked at."""
    zone, seen = world.services.settings.zone, []
    for _ in range(0, minutes, step):
        seen.append(world.time().astimezone(zone))
        world.services.clock.tick()
        world.time.on(minutes=step)
    return seen


def briefs_of(seen):
    """Return kind and day of every brief that could be made at these local times."""
    mornings = {("morning", str(at.date())) for at in seen if time(6, 30) <= at.time() < time(12)}
    evenings = {
        ("evening", str(at.date() + timedelta(days=1)))
        for at in seen
        if time(18) <= at.time() < time(21, 30)
    }
    return mornings | evenings


@pytest.mark.parametrize(
    ("jump", "notes"),
    [
        (timedelta(hours=1), set()),
        (timedelta(hours=-1), set()),
        (timedelta(days=1), {("not_sent", "morning 2026-04-16")}),
        (timedelta(days=-1), set()),
    ],
    ids=["an hour on", "an hour back", "a day on", "a day back"],
)
def test_a_clock_that_is_set(tmp_path, jump, notes):
    """By an hour or a day, right after a brief: every brief once, a skipped morning owned up to."""
    with evening(tmp_path, bookings=()) as world:
        world.server.faults.switch(Fault.NOT_FOUND)
        seen = run(world, 30)
        world.time.on(seconds=jump.total_seconds())
        seen += run(world, 48 * 60)
        lines = world.services.outbox.ledger()
        keys = [(line.key.kind, line.key.subject) for line in lines]
        assert len(keys) == len(set(keys)) == len(world.mails())
        assert set(keys) == briefs_of(seen) | notes
        assert {(line.state, line.doubts) for line in lines} == {(Sending.SENT, 0)}


@pytest.mark.parametrize(
    ("wakes", "kind"),
    [("2026-04-16T10:59", "morning"), ("2026-04-16T11:00", "not_sent"), (None, "morning")],
    ids=["just in time", "too late", "by the minute"],
)
def test_asleep_over_the_morning(tmp_path, wakes, kind):
    """Awake before noon the brief is made at once; after it a note says that none came."""
    with evening(tmp_path) as world:
        world.server.faults.switch(Fault.NOT_FOUND)
        world.services.clock.tick()
        wakes = f"{wakes or '2026-04-16T05:30'}+00:00"
        world.time.now = datetime.fromisoformat(wakes)
        world.services.clock.tick()
        lines = world.services.outbox.ledger()
    assert [line.key.kind for line in lines] == ["evening", kind]
    subject = world.mails()[-1]["Subject"]
    expected = "Not sent: morning brief for Thu 16 Apr" if kind == "not_sent" else "Thu 16 Apr: 3"
    assert subject.startswith(expected)


# Days on which clocks change in 2026, from the tz database; Kolkata has none.
NIGHTS = [
    ("Europe/London", 51.5, -0.1, date(2026, 3, 29)),
    ("Europe/London", 51.5, -0.1, date(2026, 10, 25)),
    ("America/New_York", 40.7, -74.0, date(2026, 3, 8)),
    ("America/New_York", 40.7, -74.0, date(2026, 11, 1)),
    ("Australia/Lord_Howe", -31.55, 159.08, date(2026, 4, 5)),
    ("Australia/Lord_Howe", -31.55, 159.08, date(2026, 10, 4)),
    ("Asia/Kolkata", 22.57, 88.36, date(2026, 3, 29)),
]


@pytest.mark.parametrize(("zone", "latitude", "longitude", "day"), NIGHTS)
def test_the_nights_in_which_clocks_change(tmp_path, zone, latitude, longitude, day):
    """Over the whole path: evening and morning brief once each local day, at their times."""
    base = {
        "SPRAYADVISOR_BASE__ZONE": zone,
        "SPRAYADVISOR_BASE__LATITUDE": str(latitude),
        "SPRAYADVISOR_BASE__LONGITUDE": str(longitude),
    }
    with evening(tmp_path, bookings=(), **base) as world:
        world.server.faults.switch(Fault.NOT_FOUND)
        begin = datetime.combine(day - timedelta(days=1), time(), ZoneInfo(zone))
        end = datetime.combine(day + timedelta(days=2), time(), ZoneInfo(zone))
        world.time.now = begin.astimezone(UTC)
        run(world, int((end.astimezone(UTC) - begin.astimezone(UTC)).total_seconds() / 60))
        lines = world.services.outbox.ledger()
    found = {(line.key.kind, line.key.subject) for line in lines}
    days = [day + timedelta(days=n) for n in (-1, 0, 1)]
    assert len(lines) == 6
    assert found == {("morning", str(one)) for one in days} | {
        ("evening", str(one + timedelta(days=1))) for one in days
    }
    for line in lines:
        local = line.closed_at.astimezone(ZoneInfo(zone))
        assert local.time() == (time(6, 30) if line.key.kind == "morning" else time(18))


# --- processes --------------------------------------------------------------------------------


def test_killed_before_each_statement_of_a_migration(tmp_path):
    """The next start finds the old database whole, brings it up to date, and loses no row."""
    script = Path(__file__).with_name("killed_migration.py")
    done = subprocess.run(
        [sys.executable, str(script), str(tmp_path)],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    kills, old, new, lost = (int(part.split()[0]) for part in done.stdout.split(","))
    assert kills >= 20
    assert (old + new, lost) == (kills, 0)


def test_two_processes_on_one_database_send_each_brief_once(tmp_path):
    """Side by side against one mail server: nothing doubled, nothing lost, no doubt."""
    with MailServer(delay_s=0.005) as server:
        environ = {
            "SPRAYADVISOR_DATA_DIR": str(tmp_path),
            "SPRAYADVISOR_MAIL__HOST": HOST,
            "SPRAYADVISOR_MAIL__PORT": str(server.port),
            "SPRAYADVISOR_MAIL__SECURITY": "none",
        }
        with _started(environ, 40, "drain") as one, _started(environ, 40, "drain") as two:
            assert (one.wait(60), two.wait(60)) == (0, 0)
    services = build(load_settings(environ))
    lines = services.outbox.ledger()
    services.close()
    assert len(server.mails) == len(set(server.mails)) == len(lines) == 40
    assert {(line.state, line.doubts) for line in lines} == {(Sending.SENT, 0)}

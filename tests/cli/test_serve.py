"""``sprayadvisor serve``: a real process that gets its brief out, and ends when it is told to."""

import email
import json
import os
import signal
import threading
import time
from contextlib import closing
from datetime import date
from email import policy

import pytest
from serving import evening_world, mails, served, wait_for, wait_for_line
from typer.testing import CliRunner

from sprayadvisor.bootstrap import build
from sprayadvisor.cli import _app, running, serve
from sprayadvisor.demo import story
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.errors import SettingsError
from sprayadvisor.services.ports.outbox import Sending
from sprayadvisor.settings import Settings, load_settings

JOB_DAY = date(2026, 4, 16)


@pytest.fixture
def world(tmp_path):
    """The story at six in the evening with a job for tomorrow: environment, weather, folder."""
    with evening_world(tmp_path) as made:
        yield made


def sent(environ):
    """Return what the ledger says of each message."""
    services = build(load_settings(environ))
    with closing(services):
        return [line.state for line in services.outbox.ledger()]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_start_gets_the_brief_out_and_a_signal_ends_it(world, number):
    """At six in the evening: one mail about tomorrow; then gone within ten seconds, exit 0."""
    environ, _, folder = world
    with served(environ) as process:
        wait_for(lambda: mails(folder))
        asked = time.monotonic()
        process.send_signal(number)
        log = process.communicate(timeout=10)[1]
        assert time.monotonic() - asked < 10
    assert process.returncode == 0, log
    mail = email.message_from_bytes(mails(folder)[0].read_bytes(), policy=policy.default)
    assert mail["Subject"].startswith("Thu 16 Apr: 1 ")
    assert mail["To"] == story.RECIPIENT
    assert mail["Auto-Submitted"] == "auto-generated"
    assert "The evening brief for 2026-04-16 is made: 1 jobs." in log
    assert log.rstrip().endswith("Stopped.")
    for secret in ("Zebedee", "0555", story.RECIPIENT, "Traceback"):
        assert secret not in log


def test_a_second_start_and_two_at_once_send_nothing_twice(world):
    """The ledger decides: killed, started again, and with a second process beside it."""
    environ, _, folder = world
    with served(environ) as process:
        # Between the file and its line in the ledger a kill would leave a doubt, and a second mail.
        wait_for(lambda: sent(environ) == [Sending.SENT])
        process.kill()
        process.wait()
    before = [path.stat().st_mtime_ns for path in mails(folder)]
    with served(environ) as one, served(environ) as two:
        for process in (one, two):
            wait_for_line(process, "The clock runs.")
        time.sleep(1.0)  # a first tick comes at once
        for process in (one, two):
            process.terminate()
            process.communicate(timeout=10)
    assert [path.stat().st_mtime_ns for path in mails(folder)] == before
    assert len(before) == 1


def test_it_ends_within_ten_seconds_though_the_forecast_hangs(world):
    """A service that never answers does not hold it; the brief is still due at the next start."""
    environ, server, folder = world
    server.faults.switch(Fault.BLACK_HOLE)
    with served(environ) as process:
        wait_for(lambda: server.received)
        asked = time.monotonic()
        process.terminate()
        log = process.communicate(timeout=15)[1]
        took = time.monotonic() - asked
    assert took < 10.5, log
    assert process.returncode == 0
    assert mails(folder) == []


def test_the_log_can_be_json(world):
    """Every line is an object."""
    environ, _, folder = world
    with served(environ, "--log-json") as process:
        wait_for(lambda: mails(folder))
        process.terminate()
        log = process.communicate(timeout=10)[1]
    events = [json.loads(line) for line in log.splitlines()]
    assert events[0]["message"].startswith("The clock stands still at 2026-04-15T18:00")
    assert {event["level"] for event in events} == {"info", "warning"}


# --- without a process of its own ---------------------------------------------------------------


def test_settings_that_keep_it_silent_are_refused_together(tmp_path, monkeypatch):
    """Nobody to write to and no evening: both named, exit 1, and nothing is made."""
    for name in [name for name in os.environ if name.startswith("SPRAYADVISOR_")]:
        monkeypatch.delenv(name)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SPRAYADVISOR_DATA_DIR", str(tmp_path))
    done = CliRunner().invoke(_app, ["serve"])
    assert done.exit_code == 1
    for field in ("recipients", "base.zone"):
        assert f"settings: {field}: " in done.stderr
    assert "Traceback" not in done.stderr
    assert not list(tmp_path.iterdir())


def test_good_settings_are_not_refused(world):
    """Those of the story."""
    serve.refuse_what_keeps_silent(load_settings(world[0]))
    with pytest.raises(SettingsError, match="no recipients"):
        serve.refuse_what_keeps_silent(Settings(data_dir="x"))


class Idle:
    """A clock that does nothing, or something."""

    def __init__(self, act=lambda: None):
        self.tick = act


@pytest.fixture
def services(world):
    """Services whose clock can be put in by hand."""
    built = build(load_settings(world[0]))
    yield built
    built.close()


def test_a_tick_over_the_true_path_keeps_what_it_said_and_pings(world):
    """Settings to file, in this process: the brief, what was said of the job, one ping."""
    environ, server, folder = world
    with_ping = environ | {"SPRAYADVISOR_PING_URL": f"{server.url}/ping/a-long-secret"}
    built = build(load_settings(with_ping))
    try:
        built.clock.tick()
        built.clock.tick()
        assert built.health.state.problem == ""
        ((subject, said),) = built.clock.said.newest("K1", JOB_DAY)
        assert (subject, said.kind) == ("evening", "evening")
        assert said.times[0].id == "look"
    finally:
        built.close()
    assert len(mails(folder)) == 1
    assert [one.path for one in server.received].count("/ping/a-long-secret") == 1


def test_without_a_ping_nobody_is_asked(services):
    """The usual setting."""
    services.clock.ping()
    assert 10 <= services.rhythm.look_minute < 50


def test_signals_are_what_they_were_once_it_has_ended(services):
    """And it says what it does."""
    before = [signal.getsignal(number) for number in running._SIGNALS]
    services.clock = Idle(services.stopping.set)
    running.alone(services)
    assert [signal.getsignal(number) for number in running._SIGNALS] == before


def test_a_second_signal_is_not_caught(services):
    """Whoever is in a hurry can end it as any other program."""
    before = signal.getsignal(signal.SIGTERM)
    with running.stopped_by_signal(services.stopping.set):
        signal.raise_signal(signal.SIGTERM)
        assert services.stopping.wait(1)
        assert signal.getsignal(signal.SIGTERM) == before


def test_what_does_not_end_is_left(services, monkeypatch, caplog):
    """After its patience it goes without waiting, and says so."""
    go_on, left = threading.Event(), []
    monkeypatch.setattr(running, "DRAIN_S", 0.05)
    monkeypatch.setattr(running, "leave_at_once", lambda: left.append(1))

    def act():
        services.stopping.set()
        go_on.wait(5)

    services.clock = Idle(act)
    try:
        running.alone(services)
    finally:
        go_on.set()
    assert left == [1]
    assert "will be done again at the next start" in caplog.text


@pytest.mark.parametrize(("options", "way"), [([], "with_page"), (["--no-web"], "alone")])
def test_the_page_runs_unless_it_is_not_wanted(world, monkeypatch, options, way):
    """``serve`` runs clock and page, ``serve --no-web`` the clock alone."""
    for name, text in world[0].items():
        monkeypatch.setenv(name, text)
    ran = []
    for name in ("with_page", "alone"):
        monkeypatch.setattr(running, name, lambda _built, name=name: ran.append(name))
    done = CliRunner().invoke(_app, ["serve", *options])
    assert (done.exit_code, ran) == (0, [way])

"""``sprayadvisor serve`` with its page: a real process, asked over a socket, ended in time."""

import http.client
import signal
import socket
import threading
import time

import pytest
from page import PASSPHRASE
from serving import evening_world, mails, served, wait_for
from typer.testing import CliRunner

from sprayadvisor.bootstrap import build
from sprayadvisor.cli import _app, running
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.settings import load_settings


@pytest.fixture
def port():
    """A port that was free a moment ago."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


@pytest.fixture
def world(tmp_path, port):
    """The story at six in the evening with a job for tomorrow: environment, weather, folder."""
    with evening_world(tmp_path) as (environ, server, folder):
        yield environ | {"SPRAYADVISOR_WEB__PORT": str(port)}, server, folder


def get(port, path):
    """Return status and text of a page; 0 where nobody answers yet."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        connection.request("GET", path, headers={"Accept": "text/html"})
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    except ConnectionError:
        return 0, ""
    finally:
        connection.close()


def is_worked_out(page):
    """Return whether Today has its job and says of nothing that it is being worked out."""
    return "Hazel Court" in page and "worked out" not in page


def test_one_process_sends_the_brief_and_shows_it(world, port):
    """The mail leaves, the page has the job, health is told; a signal ends it in time, exit 0."""
    environ, _, folder = world
    with served(environ, page=True) as process:
        wait_for(lambda: get(port, "/healthz")[0] == 200)
        wait_for(lambda: mails(folder))
        wait_for(lambda: is_worked_out(get(port, "/")[1]))
        assert get(port, "/readyz")[0] == 200
        assert get(port, "/nothing?customer=Zebedee")[0] == 404
        asked = time.monotonic()
        process.send_signal(signal.SIGTERM)
        log = process.communicate(timeout=12)[1]
        assert time.monotonic() - asked < 10
    assert process.returncode == 0, log
    assert f"The page is at http://127.0.0.1:{port}." in log
    assert log.rstrip().endswith("Stopped.")
    for secret in ("Zebedee", "/nothing", "Traceback", "GET"):
        assert secret not in log


def test_it_ends_in_time_though_phones_hold_on_and_the_forecast_hangs(world, port):
    """A connection left open, a request half sent and a service that never answers."""
    environ, server, _ = world
    server.faults.switch(Fault.BLACK_HOLE)
    with served(environ, page=True) as process:
        wait_for(lambda: get(port, "/healthz")[0] == 200)
        wait_for(lambda: server.received)
        with socket.create_connection(("127.0.0.1", port)) as half:
            half.sendall(b"POST /login HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99\r\n\r\nx")
            assert "being worked out" in get(port, "/")[1]
            asked = time.monotonic()
            process.terminate()
            log = process.communicate(timeout=15)[1]
            took = time.monotonic() - asked
    assert took < 10.5, log
    assert process.returncode == 0


def test_a_port_that_is_taken_is_told_in_a_sentence(world, port, monkeypatch):
    """Exit 1, and no brief is made by half a service."""
    environ, _, folder = world
    for name, text in environ.items():
        monkeypatch.setenv(name, text)
    with socket.socket() as other:
        other.bind(("127.0.0.1", port))
        other.listen()
        done = CliRunner().invoke(_app, ["serve"])
    assert done.exit_code == 1
    told = f"web.port: the page cannot listen at 127.0.0.1, port {port} (address already in use)"
    assert told in done.stderr
    assert "Traceback" not in done.stderr
    assert mails(folder) == []


def test_beyond_this_machine_it_does_not_start_without_a_passphrase(world, monkeypatch):
    """Exit 1 with the mend."""
    for name, text in (world[0] | {"SPRAYADVISOR_WEB__HOST": "0.0.0.0"}).items():  # noqa: S104 - on trial
        monkeypatch.setenv(name, text)
    done = CliRunner().invoke(_app, ["serve"])
    assert done.exit_code == 1
    assert "could be read by anyone on the network; set web.passphrase" in done.stderr


class Idle:
    """A clock that does nothing."""

    def tick(self):
        """Do nothing."""


@pytest.mark.parametrize(
    ("more", "warned"),
    [({}, False), ({"PASSPHRASE": PASSPHRASE}, True),
     ({"PASSPHRASE": PASSPHRASE, "ADDRESS": "https://jobs.example.org"}, False),
     ({"PASSPHRASE": PASSPHRASE, "ADDRESS": "http://jobs.example.org"}, True)],
)  # fmt: skip
def test_in_this_process_it_ends_and_warns_of_plain_http(world, port, caplog, more, warned):
    """The signal ends server and clock; signals are what they were."""
    environ = world[0] | {f"SPRAYADVISOR_WEB__{name}": text for name, text in more.items()}
    built = build(load_settings(environ))
    built.clock, built.board.refresh = Idle(), lambda _stopping: None
    before = signal.getsignal(signal.SIGTERM)

    def stop():
        wait_for(lambda: get(port, "/healthz")[0] == 200)
        signal.raise_signal(signal.SIGTERM)

    threading.Thread(target=stop, daemon=True).start()
    with caplog.at_level("INFO"):
        running.with_page(built)
    built.close()
    assert signal.getsignal(signal.SIGTERM) == before
    assert ("Without https" in caplog.text) is warned
    assert "Stopped." in caplog.text


def test_a_board_that_does_not_end_is_left(world, monkeypatch):
    """Nothing of it is kept, so nothing is lost."""
    built = build(load_settings(world[0]))
    left, go_on = [], threading.Event()
    monkeypatch.setattr(running, "BOARD_S", 0.02)
    monkeypatch.setattr(running, "leave_at_once", lambda: left.append(1))
    built.clock, built.board.refresh = Idle(), lambda _stopping: go_on.wait(5)
    with running.clock_and_board(built):
        pass
    go_on.set()
    built.close()
    assert left == [1]

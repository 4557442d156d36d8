"""The ping: one GET; that nobody heard it is a line in the log without the address."""

import socket

import pytest
import requests
import responses

from sprayadvisor.adapters.ping import Ping

URL = "https://ping.example.org/a-long-secret"


@responses.activate
def test_it_asks_the_address_once(caplog):
    """And says nothing when it was heard."""
    responses.get(URL, body="OK")
    Ping(URL)()
    assert len(responses.calls) == 1
    assert caplog.text == ""


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        ({"status": 404}, "answered 404"),
        ({"status": 503}, "answered 503"),
        ({"body": requests.ConnectionError(f"no way to {URL}")}, "ConnectionError"),
        ({"body": requests.ReadTimeout(URL)}, "ReadTimeout"),
    ],
)
@responses.activate
def test_what_goes_wrong_is_only_logged(caplog, answer, why):
    """The brief is out; the alarm elsewhere will sound by itself."""
    responses.get(URL, **answer)
    Ping(URL)()
    assert f"The ping to ping.example.org failed: {why}" in caplog.text
    assert "a-long-secret" not in caplog.text
    assert "a-long-secret" not in repr(Ping(URL))


def test_nobody_there_is_only_logged(caplog):
    """A real port that refuses."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    Ping(f"http://127.0.0.1:{port}/x")()
    assert "failed: ConnectionError" in caplog.text

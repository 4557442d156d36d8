"""The log: one line or one object an event, in UTC, and never the words of an unforeseen error."""

import io
import json
import logging
import os
import sys

import pytest

from sprayadvisor.cli.logs import let_go_of_the_rest, set_up_logging

SECRET = "apikey=hush"


@pytest.fixture(autouse=True)
def put_back():
    """Leave logging as it was."""
    root = logging.getLogger()
    before = root.handlers[:], root.level
    quiet = {name: logging.getLogger(name).level for name in ("apscheduler", "urllib3")}
    yield
    root.handlers[:], root.level = before
    for name, level in quiet.items():
        logging.getLogger(name).setLevel(level)


def fail():
    """Raise an error with a secret in it, from another one."""
    try:
        {}[SECRET]
    except KeyError as error:
        raise ValueError(SECRET) from error


def logged(capsys, *, as_json):
    """Log a few things and return what came out."""
    set_up_logging(as_json=as_json)
    logger = logging.getLogger("sprayadvisor.test")
    logger.info("All %s.", "well")
    logger.debug("too much")
    logging.getLogger("apscheduler").warning("said already")
    try:
        fail()
    except ValueError:
        logger.exception("A defect.")
    return capsys.readouterr().err


def test_plain_lines(capsys):
    """Time with its zone, level, place, words."""
    lines = logged(capsys, as_json=False).splitlines()
    assert lines[0].endswith("Z INFO sprayadvisor.test: All well.")
    assert lines[0][:4].isdigit()
    assert lines[1].endswith("ERROR sprayadvisor.test: A defect.")
    assert len([line for line in lines if "sprayadvisor.test" in line]) == 2


def test_json_lines(capsys):
    """Each line is an object."""
    first, second = (json.loads(line) for line in logged(capsys, as_json=True).splitlines())
    assert (first["level"], first["logger"], first["message"]) == (
        "info",
        "sprayadvisor.test",
        "All well.",
    )
    assert "error" not in first
    assert "builtins.ValueError" in second["error"]


@pytest.mark.parametrize("as_json", [False, True])
def test_an_unforeseen_error_shows_kinds_and_places_and_no_words(capsys, as_json):
    """Its words may hold a key or a name; where it arose is enough to find it."""
    told = logged(capsys, as_json=as_json)
    assert SECRET not in told
    for shown in ("test_logs.py", "in fail", "builtins.ValueError", "builtins.KeyError"):
        assert shown in told
    assert "too much" not in told
    assert "said already" not in told


def test_what_standard_error_would_not_take_is_dropped_at_the_end(monkeypatch):
    """A full disk under the log is no reason for another exit code."""

    class Full(io.StringIO):
        def flush(self):
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(sys, "stderr", Full())
    let_go_of_the_rest()
    assert sys.stderr.name == os.devnull
    sys.stderr.close()
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    let_go_of_the_rest()
    assert isinstance(sys.stderr, io.StringIO)

"""What a finding says, for each state of a thing."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from outgoing import key

from sprayadvisor.errors import Fault, SettingsError, StoreError
from sprayadvisor.services import checkup
from sprayadvisor.services.checkup import Finding, State, examine
from sprayadvisor.services.ports.budget import LIMITS, windows
from sprayadvisor.services.ports.outbox import LedgerLine, Sending

NOW = datetime(2026, 4, 16, 17, 5, tzinfo=UTC)
LINE = LedgerLine(
    key(), "<1@example.org>", Sending.READY, 0, 0, NOW, NOW, NOW, None, ""
)  # fmt: skip


def test_one_check_that_fails_keeps_no_other_from_being_made(caplog):
    """A sentence, several faults and a defect each become findings of that thing."""
    fine = Finding("c", State.FINE, "Good.")

    def raising(error):
        def check():
            raise error

        return check

    found = list(
        examine([
            ("a", raising(StoreError("The database is locked; try again."))),
            ("b", raising(SettingsError([Fault("x", "y", "is bad", "mend it")] * 2))),
            ("c", lambda: [fine]),
            ("d", raising(ZeroDivisionError("secret"))),
        ])
    )  # fmt: skip
    assert [(one.about, one.state) for one in found] == [
        ("a", State.BROKEN), ("b", State.BROKEN), ("b", State.BROKEN), ("c", State.FINE),
        ("d", State.BROKEN),
    ]  # fmt: skip
    assert found[0].words == "The database is locked; try again."
    assert "ZeroDivisionError" in found[4].words
    assert "secret" not in found[4].words


@pytest.mark.parametrize(
    ("skew_s", "is_fixed", "state", "words"),
    [
        (4.0, False, State.FINE, "right to 4 s"),
        (-119.0, False, State.FINE, "right to 119 s"),
        (600.0, False, State.BROKEN, "10 min ahead of"),
        (-3600.0, False, State.BROKEN, "60 min behind"),
        (None, False, State.LOOK, "could not be compared"),
        (0.0, True, State.LOOK, "stands still"),
    ],
)
def test_clock(skew_s, is_fixed, state, words):
    """Two minutes off are borne, no more."""
    found = checkup.clock_finding(skew_s, is_fixed=is_fixed)
    assert found.state is state
    assert words in found.words


@pytest.mark.parametrize(
    ("zone", "words"),
    [
        ("Europe/Dublin", "change next on 2026-10-25"),
        ("Australia/Lord_Howe", "change next on 2026-10-04"),
        ("Asia/Tokyo", "do not change within a year"),
    ],
)
def test_zone(zone, words):
    """The next change of the clocks; tz database 2026, values from memory."""
    assert words in checkup.zone_finding(zone, NOW, "tzdata 2026.1").words


@pytest.mark.parametrize(
    ("free_mb", "state"), [(40, State.BROKEN), (400, State.LOOK), (4000, State.FINE)]
)
def test_disk(free_mb, state):
    """Little room is told before there is none."""
    assert checkup.disk_finding(free_mb * 1_000_000, "/data").state is state


def test_calls():
    """A window that is nearly used is looked at; without limits one line says so."""
    minute, *_ = windows(LIMITS["free"], NOW)
    half, nearly = checkup.budget_findings([(minute, 240.0), (minute, 433.0)])
    assert (half.state, half.words) == (State.FINE, "240 of 480 calls are used this minute.")
    assert nearly.state is State.LOOK
    assert [one.words for one in checkup.budget_findings([])] == ["The plan has no limit."]


def test_messages():
    """The last that was sent, the first that waits with a problem, the last that was lost."""
    ledger = [
        replace(LINE, state=Sending.SENT, closed_at=NOW - timedelta(days=1)),
        replace(LINE, state=Sending.SENT, closed_at=NOW - timedelta(days=2)),
        replace(LINE, problem="It refuses the login; check it."),
        replace(LINE, problem="Something else."),
        replace(LINE),
        replace(LINE, state=Sending.EXPIRED, closed_at=NOW, problem="This computer was off."),
        replace(LINE, state=Sending.FAILED, closed_at=NOW - timedelta(days=8), problem="Old."),
    ]
    sent, waits, lost = checkup.message_findings(ledger, NOW)
    assert sent.words.endswith("at 2026-04-15 17:05 UTC.")
    assert (waits.state, waits.words) == (
        State.BROKEN, "Waits (2 messages wait): It refuses the login; check it.",
    )  # fmt: skip
    assert lost.state is State.LOOK
    assert "1 messages of the last 7 days" in lost.words
    assert [one.words for one in checkup.message_findings([], NOW)] == ["Nothing was sent so far."]

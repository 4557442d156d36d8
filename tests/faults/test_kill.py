"""Killed at any instant (SIGKILL), every mail arrives: once, or more often with a counted doubt."""

import pytest
from killing import EACH_TIME, trial


def test_killed_at_random_instants_nothing_is_lost(tmp_path):
    """Twenty kills; the mailbox of a real server is held against the ledger."""
    counts = trial(tmp_path, cycles=20, seed=1)
    print(counts)  # noqa: T201 - shown when asked for
    assert counts.wrong == ()
    assert counts.lost == 0
    assert counts.arrived == counts.due + counts.doubled
    assert counts.doubled <= counts.doubts <= counts.killed


@pytest.mark.parametrize(
    ("step", "doubled"),
    [("MAIL", 0), ("RCPT", 0), ("KEPT", 1)],
)
def test_killed_at_the_worst_instants(tmp_path, step, doubled):
    """Before the server has it: once. Between its having it and its yes: twice, and a doubt."""
    counts = trial(tmp_path, cycles=1, seed=1, at=step)
    assert counts.wrong == ()
    assert (counts.arrived, counts.doubled) == (EACH_TIME + doubled, doubled)
    assert counts.doubts == 1


def test_marking_before_sending_is_found_out(tmp_path):
    """The check can fail: a process that calls a mail sent before the server has it loses one."""
    counts = trial(tmp_path, cycles=1, seed=1, at="RCPT", faults=["early"])
    assert counts.lost == 1
    assert counts.wrong == ("morning 2090-01-01 is lost",)

"""Killed at any instant (SIGKILL), every mail arrives: once, or more often with a counted doubt."""

import pytest
from killing import EACH_TIME, trial
from mail_server import HOST, MailServer
from serving import evening_world, served, wait_for

from sprayadvisor.bootstrap import build
from sprayadvisor.services.ports.outbox import Sending
from sprayadvisor.settings import load_settings


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


def test_the_command_itself_is_killed_and_goes_on(tmp_path):
    """``serve``, killed before the server has the brief and again before its yes, then let be."""
    with evening_world(tmp_path) as (environ, _, _), MailServer(delay_s=0.01) as server:
        environ |= {
            "SPRAYADVISOR_MAIL__HOST": HOST,
            "SPRAYADVISOR_MAIL__PORT": str(server.port),
            "SPRAYADVISOR_MAIL__SECURITY": "none",
        }
        for at in ("RCPT", "KEPT"):
            with served(environ) as process:
                server.on_step = lambda step, one=process, at=at: one.kill() if step == at else None
                process.wait(60)
        server.on_step = lambda _step: None
        services = build(load_settings(environ))
        with served(environ):
            wait_for(lambda: services.outbox.ledger()[0].state is Sending.SENT)
        (line,) = services.outbox.ledger()
        services.close()
    assert (len(server.mails), len(set(server.mails)), line.doubts) == (2, 1, 2)
    assert line.message_id.encode() in server.mails[0].content

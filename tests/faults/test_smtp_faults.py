"""Every way a mail server can fail, over real sockets: where the mail stands, and what is said.

Each fault lasts for one try; with the server well again the mail goes out, once, unless the fault
was final or left a doubt.
"""

import contextlib
from dataclasses import dataclass, field

import pytest
from clockwork import RHYTHM, Time
from days import ZONE
from mail_server import (
    MailServer,
    closed_port,
    dripping,
    expired_tls,
    hanging_up,
    rough_server,
    server_tls,
    silent,
    trusting,
)
from outgoing import NOW, key, outgoing, sqlite_outbox

from sprayadvisor.adapters.smtp import SmtpTransport
from sprayadvisor.services.delivery import Delivery, Report
from sprayadvisor.services.ports.outbox import Sending

LOGIN = ("painter", "correct horse")
POSTPONED = Report(postponed=1)


@dataclass
class Fault:
    """What is wrong, what is said of it, and where the mail stands afterwards.

    Attributes:
        says: part of the sentence that the user sees.
        server: what is odd about a server that speaks SMTP.
        rough: what stands there instead of one that does.
        way: what is odd about the transport.
        after: what the round reports.
        wait_min: how long until the next try, minutes.
        arrived: how often the mail is in the mailbox after the fault.
    """

    says: str
    server: dict = field(default_factory=dict)
    rough: object = None
    way: dict = field(default_factory=dict)
    after: Report = POSTPONED
    wait_min: float = 1
    arrived: int = 0

    @contextlib.contextmanager
    def port(self):
        """Yield the port and the mailbox."""
        if self.rough is closed_port:
            yield closed_port(), []
        elif self.rough:
            with rough_server(self.rough) as port:
                yield port, []
        else:
            answers = {step: list(some) for step, some in self.server.get("answers", {}).items()}
            with MailServer(**(self.server | {"answers": answers})) as server:
                yield server.port, server.mails


FAULTS = {
    "refused": Fault(
        "lets nobody in; check mail.port, or wait until it runs again.", rough=closed_port
    ),
    "black hole": Fault("does not answer in time; wait, or check the network.", rough=silent),
    "slow drip": Fault("does not answer in time; wait, or check the network.", rough=dripping),
    "hangs up": Fault("broke the connection; wait, or check the network.", rough=hanging_up),
    "greylisted": Fault(
        "puts the mail off (450 4.2.0 Greylisted, come back); it is tried again by itself.",
        server={"answers": {"RCPT": ["450 4.2.0 Greylisted, come back"]}},
    ),
    "busy": Fault(
        "takes no mail now (421 4.3.2 Busy); wait, or ask who runs it.",
        server={"answers": {"MAIL": ["421 4.3.2 Busy"]}},
    ),
    "slow to answer": Fault(
        "broke before it confirmed the mail; it may have arrived, and is sent once more",
        server={"delay_s": 1.0},
        after=Report(postponed=1, doubts=1),
        arrived=1,
    ),
    "dropped after DATA": Fault(
        "broke before it confirmed the mail; it may have arrived, and is sent once more",
        server={"drop": 1},
        after=Report(postponed=1, doubts=1),
        arrived=1,
    ),
    "login refused": Fault(
        "it refuses the login (535); check mail.username and mail.password.",
        server={"security": "starttls", "login": LOGIN},
        way={"security": "starttls", "username": "painter", "password": "wrong"},
        wait_min=15,
    ),
    "login wanted": Fault(
        "it refuses the login (530); check mail.username and mail.password.",
        server={"security": "starttls", "login": LOGIN},
        way={"security": "starttls"},
        wait_min=15,
    ),
    "no STARTTLS": Fault(
        'it offers no STARTTLS; check mail.port, or set security to "tls".',
        way={"security": "starttls"},
        wait_min=15,
    ),
    "certificate of another": Fault(
        "its certificate is not to be trusted (Hostname mismatch",
        server={"security": "tls", "tls": server_tls("elsewhere.example")},
        way={"security": "tls"},
        wait_min=15,
    ),
    "certificate run out": Fault(
        "its certificate is not to be trusted (certificate has expired); check mail.host, or have",
        server={"security": "starttls", "tls": expired_tls()},
        way={"security": "starttls"},
        wait_min=15,
    ),
    "unencrypted": Fault(
        "it would travel unencrypted; set mail.security to",
        way={"plain_allowed": False},
        wait_min=15,
    ),
    "552": Fault(
        "refuses the mail (552 5.3.4 Too big); ask whoever runs the server, or the recipient's.",
        server={"answers": {"DATA": ["552 5.3.4 Too big"]}},
        after=Report(failed=1, sent=1),
    ),
    "no such recipient": Fault(
        "refuses the mail (550 5.1.1 Who?); check the address among the recipients.",
        server={"answers": {"RCPT": ["550 5.1.1 Who?", "550 5.1.1 Who?"]}},
        after=Report(failed=2),
    ),
}  # fmt: skip


@pytest.fixture
def world(tmp_path):
    """Return a delivery with one mail to send, and what it told the user."""
    with sqlite_outbox(tmp_path) as box:
        heard = []
        delivery = Delivery(box, None, Time(NOW), RHYTHM, ZONE, "s@example.org", jitter=lambda: 0.5)
        delivery.tell = heard.append
        box.enqueue(outgoing(), NOW)
        yield delivery, heard


def way_to(port, **odd):
    """Return a transport with little patience."""
    usual = {
        "host": "localhost", "port": port, "security": "none", "sender": "s@example.org",
        "plain_allowed": True, "timeout_s": 0.25, "deadline_s": 0.4, "tls": trusting,
    }  # fmt: skip
    return SmtpTransport(**(usual | odd))


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_of_the_mail_server(name, world):
    """One sentence, the right state, and with a good server each mail once or a counted doubt."""
    fault, (delivery, heard) = FAULTS[name], world
    with fault.port() as (port, mails):
        delivery.transport = way_to(port, **fault.way)
        assert delivery.send() == fault.after
        during = [mail for mail in mails if b"not_sent" not in mail.content]
    line = delivery.outbox.ledger()[0]
    assert fault.says in heard[0]
    assert heard[0].count("\n") == 0
    assert line.problem == heard[0]
    assert len(set(heard)) == 1
    if fault.after.failed:
        assert line.state is Sending.FAILED
    else:
        assert line.state is Sending.READY
        assert (line.next_try_at - NOW).total_seconds() == fault.wait_min * 60
    assert len([mail for mail in during if mail.content == outgoing().message]) == fault.arrived

    delivery.now.on(minutes=fault.wait_min)
    with MailServer() as server:
        delivery.transport = way_to(server.port)
        delivery.send()
    line = delivery.outbox.ledger()[0]
    assert line.doubts == fault.after.doubts
    if fault.after.failed:
        assert server.mails == []
        return
    assert line.state is Sending.SENT
    assert [mail.content for mail in server.mails] == [outgoing().message]
    assert fault.arrived + len(server.mails) <= 1 + line.doubts


def test_a_short_note_follows_a_mail_that_was_too_big(world):
    """The server that refused the brief takes the note that says so."""
    delivery, _ = world
    with MailServer(answers={"DATA": ["552 5.3.4 Too big"]}) as server:
        delivery.transport = way_to(server.port)
        delivery.send()
    (note,) = server.mails
    assert b"Subject: Not sent: morning brief for Fri 17 Apr" in note.content
    assert b"552 5.3.4 Too big" in note.content


def test_a_mail_for_each_of_many_when_one_is_refused(world):
    """The others are sent in the same round."""
    delivery, _ = world
    for n in range(5):
        delivery.outbox.enqueue(outgoing(key(recipient=f"r{n}@example.org")), NOW)
    with MailServer(answers={"RCPT": ["450 later"]}) as server:
        delivery.transport = way_to(server.port)
        assert delivery.send() == Report(sent=5, postponed=1)
    assert len(server.mails) == 5

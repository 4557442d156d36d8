"""Handing mails to a real server: encrypted, checked, whole; or one sentence that says why not."""

import logging
import smtplib
import socket
import time
import traceback

import pytest
from mail_server import (
    MailServer,
    authority,
    babbling,
    closed_port,
    dripping,
    hanging_up,
    rough_server,
    server_tls,
    silent,
    trusting,
)
from outgoing import ANNA, outgoing

from sprayadvisor.adapters.smtp import SmtpTransport, _address_literal
from sprayadvisor.adapters.smtp_errors import Broken, Step
from sprayadvisor.errors import DeliveryError
from sprayadvisor.services.ports.outbox import Transport

LOGIN = ("painter", "correct horse")


def transport(port, security="none", **changes):
    """Return a transport that trusts the servers of these tests."""
    usual = {"sender": "briefs@example.org", "plain_allowed": True, "tls": trusting}
    return SmtpTransport(host="localhost", port=port, security=security, **(usual | changes))


def refused(way, message=None):
    """Return the error of a mail that could not be handed over."""
    with pytest.raises(DeliveryError, match=r"mail server localhost:\d+") as caught:
        way.send(message or outgoing())
    return caught.value


@pytest.mark.parametrize("security", ["none", "starttls", "tls"])
@pytest.mark.parametrize("login", [None, LOGIN])
def test_the_server_has_the_same_bytes(security, login):
    """Lines that begin with a dot included (RFC 5321 section 4.5.2), with and without a login."""
    if login and security == "none":
        pytest.skip("this server takes no login unencrypted")
    sent = outgoing(body=b".\r\n..two\r\n.\r\nend\r\n")
    user = {"username": LOGIN[0], "password": LOGIN[1]} if login else {}
    with MailServer(security=security, login=login) as server:
        way: Transport = transport(server.port, security, **user)
        way.send(sent)
        assert way.longest_s == 60
    assert server.mails == [("briefs@example.org", ANNA, sent.message)]


def test_it_names_itself_by_its_address():
    """An address literal as in RFC 5321 section 4.1.3, so that no name server is asked."""
    with MailServer() as server:
        transport(server.port).send(outgoing())
    assert server.greeted_by == "[127.0.0.1]"


@pytest.mark.parametrize(
    ("address", "literal"),
    [
        ("192.0.2.1", "[192.0.2.1]"),
        ("2001:db8::1", "[IPv6:2001:db8::1]"),
        ("fe80::1%eth0", "[IPv6:fe80::1]"),
    ],
)
def test_address_literals(address, literal):
    """The form of RFC 5321 section 4.1.3; the addresses are those of RFC 5737 and RFC 3849."""

    class Client:
        class sock:  # noqa: N801 - smtplib's name
            getsockname = staticmethod(lambda: (address, 25))

    assert _address_literal(Client) == literal


def test_nothing_travels_unencrypted_unless_allowed():
    """The server is not even called."""
    with MailServer() as server:
        steps = []
        server.on_step = steps.append
        error = refused(transport(server.port, plain_allowed=False))
    assert "would travel unencrypted; set mail.security" in str(error)
    assert (error.permanent, error.for_all, error.wait_s) == (False, True, 900)
    assert steps == []


def test_a_server_without_starttls_gets_neither_login_nor_mail():
    """An attacker who strikes the offer out must not get the password."""
    with MailServer(security="none") as server:
        error = refused(transport(server.port, "starttls", username="u", password="hush"))
    assert "offers no STARTTLS" in str(error)
    assert server.mails == []


@pytest.mark.parametrize("security", ["starttls", "tls"])
@pytest.mark.parametrize(
    ("tls", "why"),
    [
        (lambda: server_tls("elsewhere.example"), "ostname mismatch"),
        (lambda: server_tls(by=type(authority())()), "unable to get local issuer|self.signed"),
    ],
)
def test_certificates_are_checked(security, tls, why):
    """Made out to another name, or signed by whoever: nothing is sent."""
    with MailServer(security=security, tls=tls(), login=LOGIN) as server:
        error = refused(transport(server.port, security, username="u", password="hush"))
    assert "certificate is not to be trusted" in str(error)
    assert (error.permanent, error.for_all, error.wait_s) == (False, True, 900)
    assert server.mails == []


def test_certificates_of_the_usual_authorities_are_what_counts():
    """Without anything said, the system's own list decides."""
    with MailServer(security="tls") as server:
        error = refused(
            SmtpTransport(
                host="localhost", port=server.port, security="tls", sender="s@example.org"
            )
        )
    assert "certificate is not to be trusted" in str(error)


def test_tls_to_a_server_that_speaks_plainly():
    """The wrong port is the likely cause, and named as such."""
    with MailServer() as server:
        error = refused(transport(server.port, "tls"))
    assert "speaks no TLS there; check mail.port and mail.security" in str(error)


def test_a_server_that_takes_no_login():
    """It is said which settings do not fit together."""
    with MailServer() as server:
        error = refused(transport(server.port, username="u", password="hush"))
    assert "takes no login there" in str(error)


def test_a_login_that_smtplib_cannot_write():
    """A password with an accent: a sentence, and no part of it anywhere."""
    with MailServer(security="starttls", login=LOGIN) as server:
        way = transport(server.port, "starttls", username="painter", password="sesámo")
        error = refused(way)
    assert "plain letters, digits and signs only" in str(error)
    assert "ses" not in str(error).replace("used", "")


def test_secrets_are_nowhere(caplog):
    """Not in the error, its traceback, the log or the transport's own words."""
    caplog.set_level(logging.DEBUG)
    logging.getLogger("mail.log").setLevel(logging.WARNING)  # the server's own
    with MailServer(security="starttls", login=LOGIN) as server:
        way = transport(server.port, "starttls", username="painter", password="hushhush")
        error = refused(way)
    told = "".join(traceback.format_exception(error)) + repr(way) + caplog.text
    assert "refuses the login (535); check mail.username and mail.password" in str(error)
    assert "hushhush" not in told
    assert "aHVzaGh1c2g" not in told  # the same in base64
    assert ANNA not in str(error)


@pytest.mark.parametrize(
    ("step", "answer", "permanent", "for_all", "said"),
    [
        ("MAIL", "550 no such sender", True, False, "mail (550 no such sender); check mail.sender"),
        ("MAIL", "530 5.7.0 login first", False, True, "refuses the login (530)"),
        ("MAIL", "452 4.3.1 full", False, False, "puts the mail off (452 4.3.1 full)"),
        ("RCPT", "550 5.1.1 no anna@example.org", True, False, "(550 5.1.1 no …); check the"),
        ("RCPT", "450 4.2.0 busy.", False, False, "puts the mail off (450 4.2.0 busy); it"),
        ("RCPT", "421 4.3.2 going down", False, True, "takes no mail now (421 4.3.2 going down)"),
        ("DATA", "554 5.7.1 spam", True, False, "refuses the mail (554 5.7.1 spam); ask whoever"),
        ("DATA", "451 4.7.0 later", False, False, "puts the mail off"),
        ("DATA", "550 " + "x" * 300, True, False, "x…); ask"),
        ("EHLO", "550 go away", False, True, "takes no mail now (550 go away)"),
    ],
)  # fmt: skip
def test_refusals(step, answer, permanent, for_all, said):
    """4xx passes and 5xx does not (RFC 5321 section 4.2.1), save where the server is at fault."""
    with MailServer(answers={step: [answer, answer]}) as server:
        error = refused(transport(server.port))
    assert said in str(error)
    assert (error.permanent, error.for_all, error.doubtful) == (permanent, for_all, False)
    assert server.mails == []


def test_a_login_that_is_put_off_is_no_wrong_password():
    """454 (RFC 4954 section 6) passes by itself."""
    broken = Broken("the mail server localhost:1", Step.LOGIN, late=False)
    error = broken.explained(smtplib.SMTPAuthenticationError(454, b"try later"))
    assert "takes no login just now (454)" in str(error)
    assert error.wait_s == 0


@pytest.mark.parametrize(
    ("talk", "said"),
    [
        (silent, "does not answer in time"),
        (dripping, "does not answer in time"),
        (hanging_up, "broke the connection"),
        (lambda c: c.sendall(b"554 not you\r\n"), "takes no mail now (554 not you)"),
        (lambda c: c.sendall(b"x" * 9000 + b"\r\n"), "is no mail server"),
        (babbling, "is no mail server"),
    ],
)
def test_servers_that_are_none(talk, said):
    """Whatever answers there, the mail waits and the next one is not tried at once."""
    with rough_server(talk) as port:
        error = refused(transport(port, timeout_s=0.2, deadline_s=0.3))
    assert said in str(error)
    assert (error.permanent, error.for_all, error.doubtful) == (False, True, False)


def test_a_port_nobody_listens_at():
    """Refused at once."""
    assert "lets nobody in; check mail.port" in str(refused(transport(closed_port())))


def test_a_name_nobody_has(monkeypatch):
    """No name server is asked here; the answer is what one gives to an unknown name."""

    def unknown(*_given, **_options):
        raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")

    monkeypatch.setattr(socket, "getaddrinfo", unknown)
    way = SmtpTransport(host="mail.invalid", port=25, security="starttls", sender="s@example.org")
    with pytest.raises(DeliveryError, match=r"mail\.invalid:25 cannot be found; check mail.host"):
        way.send(outgoing())


def test_an_answer_that_comes_too_late_is_a_doubt():
    """The mail went out, so it may have arrived."""
    with MailServer(delay_s=1.0) as server:
        error = refused(transport(server.port, timeout_s=0.2))
        assert "may have arrived, and is sent once more under the same Message-ID" in str(error)
        assert (error.permanent, error.doubtful, error.for_all) == (False, True, True)


def test_no_mail_goes_out_after_the_deadline():
    """The claim on it may have run out by then."""
    with MailServer() as server:
        server.on_step = lambda step: time.sleep(0.05) if step == "MAIL" else None
        error = refused(transport(server.port, deadline_s=0.04))
    assert "does not answer in time" in str(error)
    assert not error.doubtful
    assert server.mails == []


def test_a_server_that_hangs_up_after_its_yes_has_the_mail():
    """What was accepted is accepted, goodbye or not."""
    with MailServer() as server:
        server.answers = {"DATA": ["250 OK\r\n421 bye"]}
        transport(server.port).send(outgoing())
    assert len(server.mails) == 1

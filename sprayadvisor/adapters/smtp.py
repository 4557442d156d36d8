"""Messages to a mail server (SMTP, RFC 5321), one conversation for each."""

from __future__ import annotations

import smtplib
import socket
import ssl
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Literal

from sprayadvisor.adapters.smtp_errors import Broken, Step
from sprayadvisor.services.ports.outbox import Outgoing

_FAREWELL_S = 2.0
_AGAIN_S = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class SmtpTransport:
    """``Transport`` to a mail server; its contract is there.

    Attributes:
        host: of the server; its certificate must be made out to this name.
        port: its port.
        security: ``starttls``, ``tls`` from the first byte on, or ``none``.
        sender: address the mails come from.
        username: for the login; empty for none.
        password: for the login.
        plain_allowed: whether an unencrypted conversation is allowed.
        timeout_s: how long the server may keep silent, seconds.
        deadline_s: when a conversation is cut off, seconds; some servers answer byte by byte.
        tls: makes what certificates are checked with.
    """

    host: str
    port: int
    security: Literal["none", "starttls", "tls"]
    sender: str
    username: str = ""
    password: str = field(default="", repr=False)
    plain_allowed: bool = False
    timeout_s: float = 15.0
    deadline_s: float = 60.0
    tls: Callable[[], ssl.SSLContext] = ssl.create_default_context

    @property
    def longest_s(self) -> float:
        """How long ``send`` can go on and still hand the message over, seconds."""
        return self.deadline_s

    def send(self, outgoing: Outgoing) -> None:
        """Hand one message to the server."""
        self._talk(lambda talk: self._hand_over(talk, outgoing))

    def probe(self) -> str:
        """Connect, secure the connection, log in, and take leave."""
        self._talk(lambda talk: _say_goodbye(self._let_in(talk)))
        login = ", logged in" if self.username else ""
        return f"the mail server {self.host}:{self.port} ({self.security}{login})"

    def _talk(self, what: Callable[[_Talk], None]) -> None:
        """Hold one conversation.

        Raises:
            DeliveryError: it broke off.
        """
        if self.security == "none" and not self.plain_allowed:
            why = 'it would travel unencrypted; set mail.security to "starttls" or "tls"'
            raise self._broken(Step.CONNECT).shut(why)
        talk = _Talk(self.deadline_s)
        try:
            what(talk)
        except (OSError, smtplib.SMTPException, UnicodeEncodeError) as error:
            # Without its cause, for a server may repeat in its answer what it was sent.
            raise self._broken(talk.step, late=talk.is_late).explained(error) from None
        finally:
            talk.close()

    def _let_in(self, talk: _Talk) -> smtplib.SMTP:
        """Connect, secure and log in, noting how far it has come."""
        client = self._connected(talk)
        talk.step = Step.SECURE
        if self.security == "starttls":
            client.starttls(context=self.tls())
        client.ehlo_or_helo_if_needed()
        talk.step = Step.LOGIN
        if self.username:
            client.login(self.username, self.password)
        return client

    def _hand_over(self, talk: _Talk, outgoing: Outgoing) -> None:
        """Go through the conversation, noting how far it has come."""
        client = self._let_in(talk)
        talk.step = Step.SENDER
        size = [f"size={len(outgoing.message)}"] if client.has_extn("size") else []
        _accepted(*client.mail(self.sender, size))
        talk.step = Step.RECIPIENT
        _accepted(*client.rcpt(outgoing.key.recipient))
        if talk.is_late:
            raise TimeoutError
        talk.step = Step.MESSAGE
        _accepted(*client.data(outgoing.message))
        _say_goodbye(client)

    def _connected(self, talk: _Talk) -> smtplib.SMTP:
        """Return a client that has read the server's greeting."""
        # With a name of our own smtplib asks no name server for one, which could take a minute.
        options: dict[str, Any] = {"local_hostname": "localhost", "timeout": self.timeout_s}
        kind = _Client
        if self.security == "tls":
            kind, options["context"] = _TlsClient, self.tls()
        client = kind(self.host, self.port, talk=talk, **options)
        client.local_hostname = _address_literal(client)
        return client

    def _broken(self, step: Step, *, late: bool = False) -> Broken:
        return Broken(f"the mail server {self.host}:{self.port}", step, late)


class _Talk:
    """One conversation: how far it has come, and its end at the latest."""

    def __init__(self, deadline_s: float) -> None:
        self.step = Step.CONNECT
        self.is_late = False
        self._ends = time.monotonic() + deadline_s
        self._over = threading.Event()
        self._client: smtplib.SMTP | None = None

    def watch(self, client: smtplib.SMTP) -> None:
        """Break the client's connection once the conversation takes too long."""
        self._client = client
        threading.Thread(target=self._cut_off, args=[client], daemon=True).start()

    def close(self) -> None:
        """Let go of the connection and of the watch."""
        self._over.set()
        if self._client is not None:
            self._client.close()

    def _cut_off(self, client: smtplib.SMTP) -> None:
        wait_s = max(0.0, self._ends - time.monotonic())
        while not self._over.wait(wait_s):
            self.is_late = True
            wait_s = _AGAIN_S  # while TLS is being agreed on there is no socket to get hold of
            if (sock := client.sock) is not None:
                with suppress(OSError):
                    # Not SSLSocket's own, which changes what another thread is reading with.
                    socket.socket.shutdown(sock, socket.SHUT_RDWR)


class _Client(smtplib.SMTP):
    """A client that is watched from before it connects, for even a greeting may never end."""

    def __init__(self, *args: Any, talk: _Talk, **options: Any) -> None:  # noqa: ANN401 - smtplib's
        self._talk = talk
        super().__init__(*args, **options)

    def connect(self, *args: Any, **options: Any) -> tuple[int, bytes]:  # noqa: ANN401 - smtplib's
        """Connect and read the greeting."""
        self._talk.watch(self)
        return super().connect(*args, **options)


class _TlsClient(_Client, smtplib.SMTP_SSL):
    """The same with TLS from the first byte on."""


def _address_literal(client: smtplib.SMTP) -> str:
    """Return this computer's address as RFC 5321 section 4.1.3 writes one in place of a name."""
    assert client.sock is not None  # noqa: S101 - it has just connected
    address = str(client.sock.getsockname()[0]).partition("%")[0]
    return f"[IPv6:{address}]" if ":" in address else f"[{address}]"


def _accepted(code: int, answer: bytes) -> None:
    """Raise unless the server said yes.

    Raises:
        SMTPResponseException: it said no, or nothing that makes sense.
    """
    if not 200 <= code < 300:
        raise smtplib.SMTPResponseException(code, answer)


def _say_goodbye(client: smtplib.SMTP) -> None:
    """Take leave; the server has the mail, whatever happens now."""
    with suppress(OSError, smtplib.SMTPException):
        if client.sock is not None:
            client.sock.settimeout(_FAREWELL_S)
        client.quit()

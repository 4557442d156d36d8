"""A mail server on this computer for tests: real SMTP, real TLS, faults on demand.

Certificates are made when a test asks for one, by an authority that only tests trust.
"""

import asyncio
import contextlib
import socket
import ssl
import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from typing import NamedTuple

import trustme
from aiosmtpd.smtp import SMTP, AuthResult

HOST = "127.0.0.1"


class Mail(NamedTuple):
    """A mail as it was handed over."""

    sender: str
    recipient: str
    content: bytes


@cache
def authority():
    """Return who signs the certificates."""
    return trustme.CA()


def trusting():
    """Return what a client needs to trust the servers here."""
    context = ssl.create_default_context()
    authority().configure_trust(context)
    return context


def server_tls(*names, by=None, **options):
    """Return a server's TLS with a certificate for these names."""
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    made = (by or authority()).issue_cert(*(names or ("localhost", HOST)), **options)
    made.configure_cert(context)
    return context


def expired_tls():
    """Return a server's TLS with a certificate of the past."""
    return server_tls(
        not_before=datetime(2020, 1, 1, tzinfo=UTC), not_after=datetime(2020, 2, 1, tzinfo=UTC)
    )


@dataclass
class MailServer:
    """A server for as long as the ``with`` block lasts.

    Attributes:
        security: ``none``, ``starttls`` or ``tls``.
        tls: what its certificate is; one for localhost if left out.
        login: user name and password it wants, if any.
        answers: refusals by step (``EHLO``, ``MAIL``, ``RCPT``, ``DATA``), each used up in order.
        delay_s: how long it thinks before it answers a mail.
        drop: how many mails it keeps and hangs up on without an answer.
        on_step: called with the name of each step as it comes.
        mails: what was handed over, in order.
    """

    security: str = "none"
    tls: ssl.SSLContext | None = None
    login: tuple[str, str] | None = None
    answers: dict[str, list[str]] = field(default_factory=dict)
    delay_s: float = 0.0
    drop: int = 0
    on_step: object = lambda _step: None
    mails: list[Mail] = field(default_factory=list)
    port: int = 0

    def __enter__(self):
        if self.security != "none" and self.tls is None:
            self.tls = server_tls()
        self._loop = asyncio.new_event_loop()
        implicit = self.tls if self.security == "tls" else None
        coming = self._loop.create_server(self._protocol, HOST, self.port, ssl=implicit)
        self._server = self._loop.run_until_complete(coming)
        self.port = self._server.sockets[0].getsockname()[1]
        self._thread = threading.Thread(target=self._loop.run_forever)
        self._thread.start()
        return self

    def __exit__(self, *_error):
        asyncio.run_coroutine_threadsafe(self._stop(), self._loop).result(10)
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(10)
        self._loop.close()

    async def _stop(self):
        self._server.close()
        mine = asyncio.current_task()
        tasks = [task for task in asyncio.all_tasks() if task is not mine]
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await asyncio.sleep(0.01)  # lets closed transports say so

    def _protocol(self):
        options = {}
        if self.security == "starttls":
            options = {"tls_context": self.tls, "require_starttls": True}
        if self.login:
            options |= {
                "authenticator": self._check,
                # The library warns of a login without STARTTLS even where all of it is in TLS.
                "auth_required": self.security == "starttls",
                "auth_require_tls": self.security == "starttls",
            }
        return SMTP(self, hostname="mail.test", enable_SMTPUTF8=False, loop=self._loop, **options)

    def _check(self, _server, _session, _envelope, _mechanism, data):
        """Return whether a login is good; a handled refusal would leave the client waiting."""
        given = (data.login.decode(), data.password.decode())
        return AuthResult(success=given == self.login, handled=False)

    def _answer(self, step, usual):
        self.on_step(step)
        waiting = self.answers.get(step)
        return waiting.pop(0) if waiting else usual

    async def handle_EHLO(self, _server, session, _envelope, hostname, responses):  # noqa: N802 - the library's name
        session.host_name = self.greeted_by = hostname
        refusal = self._answer("EHLO", "")
        return [refusal] if refusal else responses

    async def handle_HELO(self, _server, session, _envelope, hostname):  # noqa: N802
        session.host_name = hostname
        return self._answer("EHLO", "250 mail.test")

    async def handle_MAIL(self, _server, _session, envelope, address, options):  # noqa: N802
        answer = self._answer("MAIL", "250 OK")
        envelope.mail_from = address
        envelope.mail_options.extend(options)
        return answer

    async def handle_RCPT(self, _server, _session, envelope, address, _options):  # noqa: N802
        answer = self._answer("RCPT", "250 OK")
        if answer.startswith("250"):
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(self, server, _session, envelope):  # noqa: N802
        answer = self._answer("DATA", "250 OK")
        if answer.startswith("250"):
            content = envelope.original_content
            self.mails += [Mail(envelope.mail_from, to, content) for to in envelope.rcpt_tos]
            self.on_step("KEPT")
        if self.delay_s:
            await asyncio.sleep(self.delay_s)
        if self.drop:
            self.drop -= 1
            server.transport.abort()
        return answer


@contextlib.contextmanager
def rough_server(talk):
    """Yield the port of a server that does with every connection what ``talk`` does."""
    over = threading.Event()

    def serve():
        while not over.is_set():
            with contextlib.suppress(TimeoutError):
                connection, _ = listening.accept()
                with connection, contextlib.suppress(OSError):
                    connection.settimeout(5)
                    talk(connection)

    with socket.create_server((HOST, 0)) as listening:
        listening.settimeout(0.05)
        thread = threading.Thread(target=serve)
        thread.start()
        try:
            yield listening.getsockname()[1]
        finally:
            over.set()
            thread.join(10)


def silent(connection):
    """Take the connection and say nothing until the other side gives up."""
    connection.recv(1)


def dripping(connection):
    """Begin a greeting that never ends, a byte at a time."""
    for _ in range(500):
        connection.sendall(b"2")
        time.sleep(0.02)


def hanging_up(connection):
    """Greet and hang up."""
    connection.sendall(b"220 mail.test\r\n")


def babbling(connection):
    """Talk another language."""
    connection.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n")


def closed_port():
    """Return a port nobody listens at."""
    with socket.create_server((HOST, 0)) as listening:
        return listening.getsockname()[1]

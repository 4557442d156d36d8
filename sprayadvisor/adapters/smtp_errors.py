"""What a mail server's refusals and failures mean for a message, each as one sentence.

A refused message (5xx, RFC 5321 section 4.2.1) stays refused. A server that cannot be used may be
mended meanwhile, so its messages wait. A connection that breaks after the mail went out and before
the answer came leaves a doubt, and the error says so.
"""

from __future__ import annotations

import re
import smtplib
import socket
import ssl
from dataclasses import dataclass
from enum import Enum, auto

from sprayadvisor.errors import DeliveryError

MENDING_S = 900.0  # a wrong password tried every minute would lock the account
_TEXT_MAX = 120
_ADDRESS = re.compile(r"[^\s<>]+@[^\s<>]+")
# Authentication required, and credentials invalid (RFC 4954 section 6), at whatever step.
_LOGIN_CODES = (530, 535)
_CLOSING = 421  # the server is about to hang up (RFC 5321 section 4.2.3), at whatever step


class Step(Enum):
    """How far a conversation has come."""

    CONNECT = auto()
    SECURE = auto()
    LOGIN = auto()
    SENDER = auto()
    RECIPIENT = auto()
    MESSAGE = auto()


_MENDS = {
    Step.SENDER: "check mail.sender",
    Step.RECIPIENT: "check the address among the recipients",
    Step.MESSAGE: "ask whoever runs the server, or the recipient's",
}


@dataclass(frozen=True, slots=True)
class Broken:
    """A conversation that came to no good end.

    Attributes:
        server: what the user calls the server.
        step: how far the conversation had come.
        late: whether it was cut off for taking too long.
    """

    server: str
    step: Step
    late: bool

    def explained(self, error: Exception) -> DeliveryError:
        """Return what went wrong, as one sentence with its mend."""
        refusal = error if isinstance(error, smtplib.SMTPResponseException) else None
        # smtplib makes up answers of its own, as text or with no code, where there were none.
        if refusal and 400 <= refusal.smtp_code < 600 and isinstance(refusal.smtp_error, bytes):
            return self._refused(refusal.smtp_code, refusal.smtp_error)
        if self.step is Step.MESSAGE:
            return DeliveryError(
                f"The connection to {self.server} broke before it confirmed the mail; it may have "
                "arrived, and is sent once more under the same Message-ID.",
                permanent=False,
                doubtful=True,
                for_all=True,
            )
        # smtplib makes a lost connection of a server that keeps silent, too.
        if self.late or any(isinstance(e, TimeoutError) for e in (error, error.__context__)):
            return self._try_later("does not answer in time", "wait, or check the network")
        if isinstance(error, ssl.SSLCertVerificationError):
            return self.shut(
                f"its certificate is not to be trusted ({error.verify_message.rstrip('.')}); check "
                "mail.host, or have the server's certificate put in order"
            )
        if isinstance(error, ssl.SSLError) and self.step in (Step.CONNECT, Step.SECURE):
            return self.shut("it speaks no TLS there; check mail.port and mail.security")
        return self._otherwise(error)

    def shut(self, why: str) -> DeliveryError:
        """Return a fault that somebody must mend; nothing was sent."""
        sentence = f"Nothing is sent through {self.server}: {why}."
        return DeliveryError(sentence, permanent=False, for_all=True, wait_s=MENDING_S)

    def _otherwise(self, error: Exception) -> DeliveryError:
        """Return what went wrong where neither an answer nor a certificate is to blame."""
        if isinstance(error, socket.gaierror):
            return self._try_later("cannot be found", "check mail.host and the network")
        if isinstance(error, ConnectionRefusedError):
            return self._try_later("lets nobody in", "check mail.port, or wait until it runs again")
        if isinstance(error, UnicodeEncodeError):
            return self.shut(
                "the login can carry plain letters, digits and signs only; check mail.username and "
                "mail.password"
            )
        if isinstance(error, smtplib.SMTPResponseException):
            return self.shut("what answers there is no mail server; check mail.host and mail.port")
        lost = isinstance(error, smtplib.SMTPServerDisconnected)
        if isinstance(error, smtplib.SMTPException) and not lost:
            if self.step is Step.SECURE:
                return self.shut('it offers no STARTTLS; check mail.port, or set security to "tls"')
            return self.shut("it takes no login there; check mail.port and mail.security")
        return self._try_later("broke the connection", "wait, or check the network")

    def _refused(self, code: int, answer: bytes) -> DeliveryError:
        """Return what a refusal means."""
        if self.step is Step.LOGIN or code in _LOGIN_CODES:
            if code < 500:
                return self._try_later(f"takes no login just now ({code})", "wait")
            return self.shut(
                f"it refuses the login ({code}); check mail.username and mail.password"
            )
        told = _told(code, answer)
        if self.step in (Step.CONNECT, Step.SECURE) or code == _CLOSING:
            wait_s = MENDING_S if code >= 500 else 0.0
            return self._try_later(
                f"takes no mail now ({told})", "wait, or ask who runs it", wait_s
            )
        if code < 500:
            sentence = f"{self._server} puts the mail off ({told}); it is tried again by itself."
            return DeliveryError(sentence, permanent=False)
        sentence = f"{self._server} refuses the mail ({told}); {_MENDS[self.step]}."
        return DeliveryError(sentence, permanent=True)

    def _try_later(self, what: str, mend: str, wait_s: float = 0.0) -> DeliveryError:
        """Return a fault of the server that may pass by itself."""
        sentence = f"{self._server} {what}; {mend}."
        return DeliveryError(sentence, permanent=False, for_all=True, wait_s=wait_s)

    @property
    def _server(self) -> str:
        """The server at the beginning of a sentence."""
        return self.server[0].upper() + self.server[1:]


def _told(code: int, answer: bytes) -> str:
    """Return a server's refusal, short, on one line and without addresses."""
    words = _ADDRESS.sub("…", answer.decode("utf-8", "replace"))
    line = " ".join("".join(c if c.isprintable() else " " for c in words).split())
    short = line if len(line) <= _TEXT_MAX else f"{line[:_TEXT_MAX]}…"
    return f"{code} {short}".strip().rstrip(".;")

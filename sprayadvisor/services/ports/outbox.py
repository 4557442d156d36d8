"""What delivery needs: an outbox that is a ledger too, and a way out.

The rules of the package hold here: moments are aware and in UTC, and where ``StoreError`` is raised
nothing was changed.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Protocol

from sprayadvisor.advice.due import Key

# Nothing is put off for longer; a wait that seems longer was written before the clock was set back.
LONGEST_WAIT = timedelta(minutes=40)


@dataclass(frozen=True, slots=True)
class Outgoing:
    """A message ready to be sent.

    Attributes:
        key: whom it is for, what it is, what it is about; no key is sent twice.
        message_id: of the mail, with its angle brackets.
        message: the whole mail, so that whoever sends it again sends the same bytes.
        expires_at: from when on it is of no use, aware, UTC.
    """

    key: Key
    message_id: str
    message: bytes = field(repr=False)
    expires_at: datetime


class Sending(StrEnum):
    """Where a message stands. The last three are ends; nothing leaves them."""

    READY = "ready"
    SENDING = "sending"
    SENT = "sent"
    FAILED = "failed"
    EXPIRED = "expired"


@dataclass(frozen=True, slots=True)
class Claim:
    """A message that one worker has taken up and nobody else may send meanwhile.

    Attributes:
        outgoing: the message.
        by: who took it up.
        tries: how often it was taken up so far, this time included; with ``by`` it names the claim.
        doubts: how often it may have arrived without anybody knowing.
        taken_over: this claim follows one that ran out, which is one of the doubts.
        problem: what kept it from being sent last time, a sentence; empty if nothing did.
    """

    outgoing: Outgoing
    by: str
    tries: int
    doubts: int
    taken_over: bool
    problem: str


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """What became of a message.

    Attributes:
        key: what it was known by.
        message_id: of the mail.
        state: where it stands.
        tries: how often it was taken up.
        doubts: how often it may have arrived without anybody knowing: at most so many doubles.
        enqueued_at: when it was put in, UTC.
        expires_at: from when on it is of no use, UTC.
        next_try_at: when it is taken up again, UTC.
        closed_at: when it came to its end, UTC; None before.
        problem: what kept it from being sent, a sentence; empty if nothing did.
    """

    key: Key
    message_id: str
    state: Sending
    tries: int
    doubts: int
    enqueued_at: datetime
    expires_at: datetime
    next_try_at: datetime
    closed_at: datetime | None
    problem: str


class Outbox(Protocol):
    """Keeps messages until they are sent, and for more than a year which were.

        ready ── claim ──▸ sending ── close ──▸ sent, failed, expired
          ▴                 │    ▴
          └── postpone ─────┘    └── claim, once the claim before has run out: a doubt

    Every step is one transaction, and whoever no longer holds a claim changes nothing.
    """

    def enqueue(self, outgoing: Outgoing, at: datetime) -> bool:
        """Put a message in and return True, or return False if its key is there, whatever its end.

        Args:
            outgoing: the message.
            at: now; it may be sent from now on.
        """
        ...

    def known(self, keys: Collection[Key]) -> set[Key]:
        """Return those of the keys that were ever put in."""
        ...

    def delivered(self, keys: Collection[Key]) -> set[Key]:
        """Return those of the keys whose message the other side has."""
        ...

    def claim(self, at: datetime, until: datetime, *, useless_only: bool = False) -> Claim | None:
        """Take up one message that is due, None if there is none.

        A message is due when its time to be tried has come or lies further off than any wait, when
        it has become useless, or when the claim on it has run out.

        Args:
            at: now.
            until: when this claim runs out.
            useless_only: take up only what has become useless, to close it.
        """
        ...

    def close(
        self,
        claim: Claim,
        state: Sending,
        at: datetime,
        problem: str = "",
        note: Outgoing | None = None,
    ) -> bool:
        """End a message and, in the same step, put in the note that tells of it.

        Returns:
            Whether the claim was still held. If not, nothing was changed.
        """
        ...

    def postpone(
        self, claim: Claim, next_try_at: datetime, problem: str, *, doubtful: bool = False
    ) -> bool:
        """Give a message back until ``next_try_at``, counting a doubt if there is one.

        Returns:
            Whether the claim was still held. If not, nothing was changed.
        """
        ...

    def free_dead_claims(self) -> int:
        """Give back what processes of this computer held that are dead; each is a doubt.

        Returns:
            How many there were.
        """
        ...

    def hurry(self, at: datetime) -> None:
        """Make everything that waits for another try due now."""
        ...

    def ledger(self) -> tuple[LedgerLine, ...]:
        """Return what became of every message, oldest first."""
        ...


class Transport(Protocol):
    """Hands a message over to whoever brings it to its recipient."""

    @property
    def longest_s(self) -> float:
        """How long ``send`` can go on and still hand the message over, seconds."""
        ...

    def send(self, outgoing: Outgoing) -> None:
        """Hand one message over; returning means that the other side has it.

        Raises:
            DeliveryError: the other side has not got it, or may not have; the error says which.
        """
        ...

    def probe(self) -> str:
        """See that messages could leave, sending none, and return in a few words by what way.

        Raises:
            DeliveryError: they could not.
        """
        ...

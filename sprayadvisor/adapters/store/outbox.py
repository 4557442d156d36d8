"""Messages that wait to be sent, and the ledger of those that were, in a database.

Nothing here holds a transaction while a message is on its way: a claim is written, the caller
sends, and what came of it is written under that claim or not at all.
"""

from __future__ import annotations

import os
import secrets
import socket
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any, NamedTuple, Self

from sqlalchemy import Connection, Engine, Row, RowMapping, and_, or_, select, true, update
from sqlalchemy.sql import ColumnElement

from sprayadvisor.adapters.store.engine import insert_into, read, write
from sprayadvisor.adapters.store.rows import word
from sprayadvisor.adapters.store.schema import OUTBOX
from sprayadvisor.advice.due import Key
from sprayadvisor.services.ports.outbox import LONGEST_WAIT, Claim, LedgerLine, Outgoing, Sending


class Worker(NamedTuple):
    """A process that claims messages.

    Attributes:
        host: name of the computer.
        pid: number of the process.
        token: tells it from an earlier process with the same number.
    """

    host: str
    pid: int
    token: str

    def __str__(self) -> str:
        """Return the worker as it stands beside its claims."""
        return f"{self.host}:{self.pid}:{self.token}"

    @classmethod
    def parsed(cls, text: str) -> Self:
        """Return the worker whose ``str`` this is."""
        host, pid, token = text.rsplit(":", 2)
        return cls(host, int(pid), token)


@cache
def this_process() -> Worker:
    """Return this process as a worker, the same each time."""
    return Worker(socket.gethostname(), os.getpid(), secrets.token_hex(4))


def is_running(pid: int) -> bool:
    """Return whether a process of this computer runs."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except PermissionError:  # it runs, as another user
        return True
    return True


@dataclass(frozen=True, slots=True)
class SqlOutbox:
    """``Outbox`` in a database; its contract is there.

    Attributes:
        engine: the database.
        worker: who claims.
        running: tells whether a process of this computer runs.
    """

    engine: Engine
    worker: Worker
    running: Callable[[int], bool] = is_running

    def enqueue(self, outgoing: Outgoing, at: datetime) -> bool:
        """Put a message in, unless its key is there."""
        with write(self.engine) as connection:
            return _put(connection, outgoing, at)

    def known(self, keys: Collection[Key]) -> set[Key]:
        """Return those of the keys that were ever put in."""
        return self._found(keys, true())

    def delivered(self, keys: Collection[Key]) -> set[Key]:
        """Return those of the keys that were sent."""
        return self._found(keys, OUTBOX.c.state == Sending.SENT.value)

    def _found(self, keys: Collection[Key], where: ColumnElement[bool]) -> set[Key]:
        subjects = {key.subject for key in keys}
        wanted = select(*_KEY).where(OUTBOX.c.subject.in_(subjects), where)
        with read(self.engine) as connection:
            return {Key(*row) for row in connection.execute(wanted)} & set(keys)

    def claim(self, at: datetime, until: datetime, *, useless_only: bool = False) -> Claim | None:
        """Take up one message that is due."""
        wanted = (
            select(OUTBOX)
            .where(_useless(at) if useless_only else or_(_useless(at), _due(at)))
            .order_by(OUTBOX.c.next_try_at, OUTBOX.c.id)
            .limit(1)
            .with_for_update(skip_locked=True)
        )
        with write(self.engine) as connection:
            row = connection.execute(wanted).one_or_none()
            if row is None:
                return None
            claim = _claim_of(row, str(self.worker))
            taken = {
                "state": Sending.SENDING.value,
                "claimed_until": until,
                "claimed_by": claim.by,
                "tries": claim.tries,
                "doubts": claim.doubts,
            }
            connection.execute(update(OUTBOX).where(OUTBOX.c.id == row.id).values(taken))
        return claim

    def close(
        self,
        claim: Claim,
        state: Sending,
        at: datetime,
        problem: str = "",
        note: Outgoing | None = None,
    ) -> bool:
        """End a message and put in the note that tells of it."""
        ended = {"state": state.value, "closed_at": at, "problem": problem, "message": None}
        with write(self.engine) as connection:
            held = _let_go(connection, claim, ended)
            if held and note is not None:
                _put(connection, note, at)
        return held

    def postpone(
        self, claim: Claim, next_try_at: datetime, problem: str, *, doubtful: bool = False
    ) -> bool:
        """Give a message back for another try."""
        again = {
            "state": Sending.READY.value,
            "next_try_at": next_try_at,
            "problem": problem,
            "doubts": OUTBOX.c.doubts + int(doubtful),
        }
        with write(self.engine) as connection:
            return _let_go(connection, claim, again)

    def free_dead_claims(self) -> int:
        """Give back what dead processes of this computer held."""
        with read(self.engine) as connection:
            held = select(OUTBOX.c.claimed_by).where(_SENDING).distinct()
            holders = connection.execute(held).scalars().all()
        dead = [by for by in holders if self._is_dead(Worker.parsed(by))]
        if not dead:
            return 0
        freed = {
            "state": Sending.READY.value,
            "doubts": OUTBOX.c.doubts + 1,
            "claimed_until": None,
            "claimed_by": "",
        }
        these = update(OUTBOX).where(_SENDING, OUTBOX.c.claimed_by.in_(dead)).values(freed)
        with write(self.engine) as connection:
            return len(connection.execute(these.returning(OUTBOX.c.id)).all())

    def hurry(self, at: datetime) -> None:
        """Make everything that waits due now."""
        waiting = and_(_READY, OUTBOX.c.next_try_at > at)
        with write(self.engine) as connection:
            connection.execute(update(OUTBOX).where(waiting).values(next_try_at=at))

    def ledger(self) -> tuple[LedgerLine, ...]:
        """Return what became of every message."""
        with read(self.engine) as connection:
            found = select(*_KEY, *_SAME, OUTBOX.c.state).order_by(OUTBOX.c.id)
            return tuple(_line(row) for row in connection.execute(found).mappings())

    def _is_dead(self, holder: Worker) -> bool:
        """Return whether a holder of a claim runs no more, as far as this computer can tell."""
        if holder == self.worker or holder.host != self.worker.host:
            return False
        return holder.pid == self.worker.pid or not self.running(holder.pid)


_KEY = (OUTBOX.c.recipient, OUTBOX.c.kind, OUTBOX.c.subject)
_SAME = (
    OUTBOX.c.message_id,
    OUTBOX.c.tries,
    OUTBOX.c.doubts,
    OUTBOX.c.enqueued_at,
    OUTBOX.c.expires_at,
    OUTBOX.c.next_try_at,
    OUTBOX.c.closed_at,
    OUTBOX.c.problem,
)
_READY = OUTBOX.c.state == Sending.READY.value
_SENDING = OUTBOX.c.state == Sending.SENDING.value


def _due(at: datetime) -> ColumnElement[bool]:
    """Return what may be tried, or whose claim has run out."""
    far_ahead = OUTBOX.c.next_try_at > at + LONGEST_WAIT
    waited = and_(_READY, or_(OUTBOX.c.next_try_at <= at, far_ahead))
    return or_(waited, and_(_SENDING, OUTBOX.c.claimed_until <= at))


def _useless(at: datetime) -> ColumnElement[bool]:
    """Return what waits and has become useless, claimed or not."""
    free = or_(_READY, and_(_SENDING, OUTBOX.c.claimed_until <= at))
    return and_(free, OUTBOX.c.expires_at <= at)


def _put(connection: Connection, outgoing: Outgoing, at: datetime) -> bool:
    """Insert a message, unless its key is there."""
    row = {
        **outgoing.key._asdict(),
        "message_id": outgoing.message_id,
        "message": outgoing.message,
        "state": Sending.READY.value,
        "enqueued_at": at,
        "expires_at": outgoing.expires_at,
        "next_try_at": at,
        "claimed_by": "",
        "tries": 0,
        "doubts": 0,
        "problem": "",
    }
    put = insert_into(connection, OUTBOX).values(row).on_conflict_do_nothing(index_elements=_KEY)
    # A row count would do on SQLite, but psycopg gives -1 for an INSERT.
    return connection.execute(put.returning(OUTBOX.c.id)).first() is not None


def _claim_of(row: Row[Any], by: str) -> Claim:
    """Return the claim that ``by`` is about to write on a row."""
    taken_over = row.state == Sending.SENDING.value
    key = Key(row.recipient, row.kind, row.subject)
    outgoing = Outgoing(key, row.message_id, row.message, row.expires_at)
    doubts = row.doubts + int(taken_over)
    return Claim(outgoing, by, row.tries + 1, doubts, taken_over, row.problem)


def _line(row: RowMapping) -> LedgerLine:
    """Return a row as a line of the ledger."""
    key = Key(*(row[column] for column in _KEY))
    state = word(Sending, row[OUTBOX.c.state], f"message {row[OUTBOX.c.message_id]}")
    return LedgerLine(key=key, state=state, **{column.name: row[column] for column in _SAME})


def _let_go(connection: Connection, claim: Claim, values: dict[str, Any]) -> bool:
    """Write what came of a claim and return True, or change nothing if it is no longer held."""
    key = claim.outgoing.key
    held = and_(
        OUTBOX.c.recipient == key.recipient,
        OUTBOX.c.kind == key.kind,
        OUTBOX.c.subject == key.subject,
        _SENDING,
        OUTBOX.c.claimed_by == claim.by,
        OUTBOX.c.tries == claim.tries,
    )
    freed = {"claimed_until": None, "claimed_by": ""}
    done = update(OUTBOX).where(held).values(freed | values).returning(OUTBOX.c.id)
    return connection.execute(done).first() is not None

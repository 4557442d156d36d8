"""Messages for tests of the way out, and an outbox in a file."""

import contextlib
from datetime import UTC, datetime, timedelta

from sprayadvisor.adapters.store.engine import migrate, open_engine
from sprayadvisor.adapters.store.outbox import SqlOutbox, Worker
from sprayadvisor.advice.due import Key
from sprayadvisor.services.ports.outbox import Outgoing

ANNA, BEN = "anna@example.org", "ben@example.org"
NOW = datetime(2026, 4, 17, 5, 30, tzinfo=UTC)
UNTIL = NOW + timedelta(minutes=3)
ME, OTHER = Worker("van", 10, "aa"), Worker("van", 11, "bb")


def key(subject="2026-04-17", kind="morning", recipient=ANNA):
    """Return a key."""
    return Key(recipient, kind, subject)


def outgoing(known_by=None, expires_at=None, body=b"All well.\r\n"):
    """Return a small message that is of use until noon."""
    known_by = known_by or key()
    message_id = f"<{known_by.kind}.{known_by.subject}.{known_by.recipient}>".replace(" ", "_")
    head = f"Subject: {known_by.subject}\r\nMessage-ID: {message_id}\r\n\r\n".encode()
    return Outgoing(known_by, message_id, head + body, expires_at or NOW + timedelta(hours=6))


@contextlib.contextmanager
def sqlite_outbox(folder, worker=ME, **options):
    """Yield an empty outbox in a file."""
    engine = open_engine(f"sqlite:///{folder}/outbox.db", **options)
    migrate(engine)
    yield SqlOutbox(engine, worker, running=lambda _pid: True)
    engine.dispose()

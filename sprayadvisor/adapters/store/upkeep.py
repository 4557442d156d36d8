"""Upkeep of the database: a copy of it, old weather gone, old customers forgotten."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from sqlalchemy import Engine, and_, delete, func, insert, or_, select, text, update

from sprayadvisor.adapters.store.engine import read, write
from sprayadvisor.adapters.store.schema import CALLS, JOBS, OUTBOX, SNAPSHOTS
from sprayadvisor.adapters.whole_files import make_private_folder
from sprayadvisor.errors import StoreError

_CONTACT = (
    JOBS.c.customer_name,
    JOBS.c.customer_phone,
    JOBS.c.customer_email,
    JOBS.c.customer_note,
)


@dataclass(frozen=True, slots=True)
class StoreFacts:
    """What a database says of itself.

    Attributes:
        kind: ``sqlite`` or ``postgresql``.
        size_mb: how large it is, megabytes.
        damage: what it finds wrong with itself, empty if nothing.
        file: where it lies; None for one on a server.
    """

    kind: str
    size_mb: float
    damage: str
    file: Path | None = None


@dataclass(frozen=True, slots=True)
class SqlUpkeep:
    """Looks after one database. Any method may raise ``StoreError``; then nothing was changed."""

    engine: Engine

    def backup(self, target: Path) -> None:
        """Copy a live SQLite database into a file, whole or not at all."""
        if self.engine.dialect.name != "sqlite":
            raise StoreError("Only SQLite is copied from here; use pg_dump for PostgreSQL.")
        try:
            make_private_folder(target.parent)
            handle, name = tempfile.mkstemp(dir=target.parent, prefix=".writing-")
            os.close(handle)
        except OSError as error:
            raise StoreError(_cannot(target, error)) from error
        try:
            with read(self.engine) as connection, closing(sqlite3.connect(name)) as copy:
                source = connection.connection.driver_connection
                assert isinstance(source, sqlite3.Connection)  # noqa: S101 - said by the dialect
                source.backup(copy)
            Path(name).replace(target)
        except (OSError, sqlite3.Error) as error:
            raise StoreError(_cannot(target, error)) from error
        finally:
            with suppress(OSError):
                Path(name).unlink()

    def facts(self) -> StoreFacts:
        """Return what the database says of itself; it is written to, to see that it can be."""
        kind = self.engine.dialect.name
        with write(self.engine) as connection:
            row = {"minute": datetime.now(UTC), "weight": 0.0}
            tried = connection.execute(insert(CALLS).values(row).returning(CALLS.c.id)).scalar()
            connection.execute(delete(CALLS).where(CALLS.c.id == tried))
        with read(self.engine) as connection:
            if kind != "sqlite":
                size = connection.execute(text("SELECT pg_database_size(current_database())"))
                return StoreFacts(kind, float(size.scalar_one()) / 1e6, "")
            pages, page = (
                int(connection.exec_driver_sql(f"PRAGMA {name}").scalar_one())
                for name in ("page_count", "page_size")
            )
            said = str(connection.exec_driver_sql("PRAGMA quick_check(1)").scalar_one())
        named = self.engine.url.database
        file = Path(named).resolve() if named and Path(named).is_file() else None
        return StoreFacts(kind, pages * page / 1e6, "" if said == "ok" else said, file)

    def forget_customers(self, before: date) -> int:
        """Take name, phone, mail and note from jobs of days before ``before``; count them."""
        known = or_(*(column != "" for column in _CONTACT))
        with write(self.engine) as connection:
            done = connection.execute(
                update(JOBS)
                .where(and_(JOBS.c.day < before, known))
                .values({column.name: "" for column in _CONTACT})
                .returning(JOBS.c.ref)
            )
            return len(done.all())

    def forget_weather(self, before: datetime) -> int:
        """Remove answers fetched before ``before``, but never the last of a place; count them."""
        last = (
            select(func.max(SNAPSHOTS.c.id))
            .group_by(SNAPSHOTS.c.place, SNAPSHOTS.c.kind)
            .scalar_subquery()
        )
        with write(self.engine) as connection:
            done = connection.execute(
                delete(SNAPSHOTS)
                .where(and_(SNAPSHOTS.c.fetched_at < before, SNAPSHOTS.c.id.not_in(last)))
                .returning(SNAPSHOTS.c.id)
            )
            return len(done.all())

    def forget_messages(self, before: datetime) -> int:
        """Remove ledger lines that were closed before ``before``; count them."""
        with write(self.engine) as connection:
            done = connection.execute(
                delete(OUTBOX).where(OUTBOX.c.closed_at < before).returning(OUTBOX.c.id)
            )
            return len(done.all())

    def forget_calls(self, before: datetime) -> int:
        """Remove what was counted of calls before ``before``; count the lines."""
        with write(self.engine) as connection:
            done = connection.execute(
                delete(CALLS).where(CALLS.c.minute < before).returning(CALLS.c.id)
            )
            return len(done.all())


def _cannot(target: Path, error: Exception) -> str:
    return f"{target} cannot be written ({error}); free some space or choose another folder."

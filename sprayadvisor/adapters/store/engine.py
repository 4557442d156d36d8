"""Opening the database, bringing it up to date, and the two ways into it: to read and to write.

A transaction that will write takes SQLite's write lock as it begins. With the driver's own habit, a
lock on the first write, two that read and then write one row would overwrite each other unnoticed.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from sqlalchemy import (
    Connection,
    Engine,
    Table,
    create_engine,
    event,
    exc,
    inspect,
    make_url,
    text,
)
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import URL

from sprayadvisor.adapters.store.failures import comes_from_outside, store_error
from sprayadvisor.adapters.store.schema import REVISION
from sprayadvisor.adapters.whole_files import make_private_folder
from sprayadvisor.errors import StoreError

BUSY_TIMEOUT_S = 5.0
_NAP_S = 0.01
_WRITES = "sprayadvisor_writes"
_DRIVERS = {"sqlite", "postgresql+psycopg"}
_MIGRATIONS = Path(__file__).with_name("migrations")
_MIGRATION_LOCK = 7_295_841  # any number that nothing else in that PostgreSQL database locks


def open_engine(url: str, *, busy_timeout_s: float = BUSY_TIMEOUT_S) -> Engine:
    """Return an engine for a database address; nothing is connected yet.

    Args:
        url: ``sqlite:///folder/file.db`` or ``postgresql+psycopg://user@host/name``. A SQLite file
            and its folder are made if they are not there, for their owner alone.
        busy_timeout_s: how long SQLite waits for another writer, seconds.

    Raises:
        StoreError: the address cannot be used, or folder or file cannot be made.
    """
    address = _address(url)
    try:
        # Parameters stay out of error texts: they hold customers' details.
        if address.get_backend_name() == "sqlite":
            _make_file(address)
            engine = create_engine(address, hide_parameters=True)
            _set_up_sqlite(engine, busy_timeout_s)
            return engine
        return create_engine(address, hide_parameters=True, pool_pre_ping=True)
    except ModuleNotFoundError as error:
        raise StoreError(
            f"The database address asks for PostgreSQL, but {error.name} is not installed; "
            'run pip install "sprayadvisor[postgres]".'
        ) from error
    except OSError as error:
        raise store_error(address, error) from error


def _address(url: str) -> URL:
    """Return the parsed address. The sentence never repeats it, for it may hold a password."""
    try:
        address = make_url(url)
        # Bare postgresql:// means one driver or another, depending on SQLAlchemy's version.
        usable = address.drivername in _DRIVERS
    except (exc.ArgumentError, ValueError):
        usable = False
    if not usable:
        raise StoreError(
            "The database address cannot be used; database_url must begin with "
            "sqlite:/// or postgresql+psycopg://."
        )
    return address


def _make_file(address: URL) -> None:
    """Make an empty SQLite file; one named by a ``file:`` URL says itself what it wants.

    It will hold customers' names and phones, and SQLite would make it for everybody to read. What
    SQLite puts beside a database has the mode of the database.
    """
    named_by_url = "uri" in address.query
    if address.database and address.database != ":memory:" and not named_by_url:
        path = Path(address.database)
        make_private_folder(path.parent)
        with suppress(FileExistsError):
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))


def _set_up_sqlite(engine: Engine, busy_timeout_s: float) -> None:
    """Have every connection wait for others, check foreign keys, and begin as we say."""

    @event.listens_for(engine, "connect")
    def set_up(connection: sqlite3.Connection, _record: object) -> None:
        connection.isolation_level = None  # the driver shall not begin on its own
        with closing(connection.cursor()) as cursor:
            cursor.execute(f"PRAGMA busy_timeout={round(busy_timeout_s * 1000)}")
            cursor.execute("PRAGMA foreign_keys=ON")
            _keep_write_ahead_log(cursor, busy_timeout_s)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get(_WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _keep_write_ahead_log(cursor: sqlite3.Cursor, patience_s: float) -> None:
    """Let readers and the writer pass each other; the file remembers it from the first time on.

    Of two that switch a new file over at once, SQLite turns one away without the wait that it
    grants everywhere else, so the wait is here.
    """
    give_up = time.monotonic() + patience_s
    while True:
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            busy = error.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() >= give_up:
                raise
            time.sleep(_NAP_S)
        else:
            return


@contextmanager
def read(engine: Engine) -> Iterator[Connection]:
    """Yield a connection to read from; on SQLite it sees one state of the database throughout.

    Raises:
        StoreError: the database cannot be read; the sentence names it and the mend.
    """
    with _translated(engine), engine.connect() as connection:
        yield connection


@contextmanager
def write(engine: Engine) -> Iterator[Connection]:
    """Yield a connection to write with. All of it is kept, or none if the block raises.

    Raises:
        StoreError: the database cannot be written; the sentence names it and the mend.
    """
    with _translated(engine), engine.execution_options(**{_WRITES: True}).begin() as connection:
        yield connection


@contextmanager
def _translated(engine: Engine) -> Iterator[None]:
    """Turn what the outside world does to a database into one sentence; defects stay loud."""
    try:
        yield
    except (exc.DBAPIError, exc.TimeoutError) as error:
        if not comes_from_outside(error):
            raise
        raise store_error(engine.url, error) from error


def insert_into(connection: Connection, table: Table) -> sqlite.Insert | postgresql.Insert:
    """Return an INSERT that knows ``on_conflict_do_…``, which both databases have, each its own."""
    if connection.dialect.name == "sqlite":
        return sqlite.insert(table)
    return postgresql.insert(table)


def migrate(engine: Engine) -> None:
    """Bring the database to this version's tables; quick if it has them already.

    Two processes may do it at once: the second waits and finds nothing left to do.

    Raises:
        StoreError: the database cannot be written, is no database, or comes from a newer version.
    """
    with read(engine) as connection:
        if _revision(connection) == REVISION:
            return
    with write(engine) as connection:
        _upgrade(connection)


def _revision(connection: Connection) -> str | None:
    """Return the revision the database says it has, None for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return found


def _upgrade(connection: Connection) -> None:
    """Run the migrations inside the connection's transaction, so that all of them hold or none."""
    from alembic import command
    from alembic.config import Config
    from alembic.util import CommandError

    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _MIGRATION_LOCK})
    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        raise StoreError(
            f"The database {connection.engine.url.render_as_string()} was made by a newer version "
            "of sprayadvisor; install that version or a newer one."
        ) from error

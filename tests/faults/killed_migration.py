"""Bring an old database up to date, killed (SIGKILL) before each of its statements in turn.

    python killed_migration.py <folder> [every]

After each kill the database is opened as the next start would open it. It prints how many kills
there were, how many had left the old database and how many the new one, and what was lost.
"""

import os
import shutil
import signal
import sys
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import MetaData, event, inspect

from sprayadvisor.adapters.store import engine as store_engine
from sprayadvisor.adapters.store.engine import migrate, open_engine, read, write
from sprayadvisor.adapters.store.schema import REVISION

OLDEST = "0001"
VALUES = {"JSON": "{}", "FLOAT": 1.5, "INTEGER": 1, "BOOLEAN": 1, "BLOB": b"x"}
TIMES = {"DATE": "2026-04-17", "TIME": "09:00:00.000000", "DATETIME": "2026-04-17 09:00:00.000000"}


def old_database(path):
    """Make a database of the first version with a row in every table; return columns and rows."""
    engine = open_engine(f"sqlite:///{path}")
    config = Config()
    config.set_main_option(
        "script_location", str(Path(store_engine.__file__).with_name("migrations"))
    )
    with write(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, OLDEST)
    tables = MetaData()
    tables.reflect(engine)
    with write(engine) as connection:
        for table in tables.sorted_tables:
            if table.name != "alembic_version":
                row = tuple(value_of(column) for column in table.columns)
                marks = ", ".join("?" * len(row))
                connection.exec_driver_sql(f"INSERT INTO {table.name} VALUES ({marks})", row)  # noqa: S608 - names of ours
    wanted = columns(engine)
    rows = kept(engine, wanted)
    with read(engine) as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    engine.dispose()
    return wanted, rows


def value_of(column):
    """Return something that fits a column; texts that refer to each other are all alike."""
    return (VALUES | TIMES).get(str(column.type).split("(")[0], "x")


def columns(engine):
    """Return the columns of every table."""
    look = inspect(engine)
    names = [name for name in look.get_table_names() if name != "alembic_version"]
    return {name: [column["name"] for column in look.get_columns(name)] for name in names}


def kept(engine, wanted):
    """Return what stands in those columns."""
    with read(engine) as connection:
        return {
            name: connection.exec_driver_sql(f"SELECT {', '.join(these)} FROM {name}").all()  # noqa: S608 - names of ours
            for name, these in wanted.items()
        }


def revision(engine):
    """Return what the database says it is."""
    with read(engine) as connection:
        return connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()


def migrate_and_die(path, at):
    """Bring it up to date in a process of its own that is killed before that statement.

    Returns:
        The number of statements there were, 0 if it was killed.
    """
    done, told = os.pipe()
    pid = os.fork()
    if pid == 0:
        engine, count = open_engine(f"sqlite:///{path}"), 0

        def counting(_statement):
            nonlocal count
            count += 1
            if count == at:
                os.kill(os.getpid(), signal.SIGKILL)

        @event.listens_for(engine, "connect")
        def trace(connection, _record):
            connection.set_trace_callback(counting)

        migrate(engine)
        os.write(told, count.to_bytes(4, "big"))
        os._exit(0)
    os.close(told)
    with os.fdopen(done, "rb") as pipe:
        answer = pipe.read()
    os.waitpid(pid, 0)
    return int.from_bytes(answer, "big")


def main(folder, every="1"):
    """Kill before each statement and hold what is left against what was there."""
    folder = Path(folder)
    wanted, rows = old_database(folder / "old.db")
    shutil.copy(folder / "old.db", folder / "whole.db")
    statements = migrate_and_die(folder / "whole.db", at=0)
    kills = old = new = lost = 0
    for at in range(1, statements + 1, int(every)):
        path = folder / f"killed-{at}.db"
        shutil.copy(folder / "old.db", path)
        assert migrate_and_die(path, at) == 0
        kills += 1
        engine = open_engine(f"sqlite:///{path}")
        found = revision(engine)
        old, new = old + (found == OLDEST), new + (found == REVISION)
        migrate(engine)
        assert revision(engine) == REVISION
        lost += kept(engine, wanted) != rows
        engine.dispose()
    print(f"{kills} kills, {old} old, {new} new, {lost} lost")  # noqa: T201 - a script


if __name__ == "__main__":
    main(*sys.argv[1:])

"""What can befall a database from outside, as one sentence that names the file and the mend."""

from __future__ import annotations

import errno
import sqlite3

from sqlalchemy import exc
from sqlalchemy.engine import URL

from sprayadvisor.errors import StoreError

_READ_ONLY = (
    "{name} or its folder cannot be written; give this user the right to write there, "
    "or set database_url to another folder."
)
_FULL = "There is no room left to write {within}; free some space and try again."
_LOCKED = "{name} is being written by another program; try again in a moment, or close that one."
_OTHER = "{name} cannot be used ({detail}); check that it is there and that this user may write it."

# By SQLite's primary result codes, https://sqlite.org/rescode.html
_SQLITE = {
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_LOCKED: _LOCKED,
    sqlite3.SQLITE_READONLY: _READ_ONLY,
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_CANTOPEN: (
        "{name} cannot be opened; check that its folder is there and that this user may write in "
        "it, or set database_url to another folder."
    ),
    sqlite3.SQLITE_NOTADB: (
        "{name} is not a SQLite database; move it away, or set database_url to another file."
    ),
    sqlite3.SQLITE_CORRUPT: (
        "{name} is damaged; stop sprayadvisor and put the last good copy in its place."
    ),
}
_BY_ERRNO = {
    errno.EACCES: _READ_ONLY,
    errno.EPERM: _READ_ONLY,
    errno.EROFS: _READ_ONLY,
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EEXIST: "The folder of {name} cannot be made, for a file has its name; "
    "set database_url to another folder.",
    errno.ENOTDIR: "The folder of {name} cannot be made, for a file is in its way; "
    "set database_url to another folder.",
}


def comes_from_outside(error: exc.SQLAlchemyError) -> bool:
    """Return whether the world is to blame. A wrong statement or value is a defect of ours."""
    # A bare DatabaseError is what SQLite's driver makes of a damaged or foreign file.
    return (
        isinstance(error, exc.OperationalError | exc.TimeoutError)
        or type(error) is exc.DatabaseError
    )


def store_error(url: URL, error: exc.SQLAlchemyError | OSError) -> StoreError:
    """Return one sentence about ``error``; it holds no password and no row of the database."""
    cause = error.orig if isinstance(error, exc.DBAPIError) else error
    code = getattr(cause, "sqlite_errorcode", None)
    if isinstance(cause, OSError):
        pattern = _BY_ERRNO.get(cause.errno or 0, _OTHER)
    else:
        pattern = _SQLITE.get((code or 0) & 0xFF, _OTHER)  # the low byte is the primary code
    detail = (str(cause).splitlines() or [type(cause).__name__])[0].rstrip(".")
    name = _name(url)
    within = name.replace("The", "the", 1)  # in the middle of a sentence
    return StoreError(pattern.format(name=name, within=within, detail=detail))


def _name(url: URL) -> str:
    """Return what the person calls this database."""
    if url.get_backend_name() == "sqlite":
        return f"The database {url.database or ':memory:'}"
    return f"The database {url.render_as_string(hide_password=True)}"

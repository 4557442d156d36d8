"""Messages as ``.eml`` files in a folder: whole or not at all, and never one over another."""

from __future__ import annotations

import os
import re
import tempfile
from contextlib import suppress
from email.message import EmailMessage
from email.policy import SMTP
from pathlib import Path

from sprayadvisor.errors import StoreError


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that other readers see the old one or all of the new one.

    Raises:
        StoreError: the folder cannot be written to, or the disk is full; nothing is left behind.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-")
    except OSError as error:
        raise StoreError(_sentence(path.parent, error)) from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except OSError as error:
        with suppress(OSError):
            Path(name).unlink()
        raise StoreError(_sentence(path.parent, error)) from error


def write_message(folder: Path, name: str, message: EmailMessage) -> Path:
    """Write a message into ``folder`` and return its path.

    Args:
        folder: made if it is not there.
        name: what the file is called, without its ending; odd characters become hyphens.
        message: with Date and Message-ID set by the caller.

    Raises:
        StoreError: it could not be written; nothing is left behind.
    """
    safe = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-.") or "message"
    path = folder / f"{safe}.eml"
    write_whole(path, message.as_bytes(policy=SMTP))
    return path


def _sentence(folder: Path, error: OSError) -> str:
    """Return what went wrong and what to do about it."""
    reason = (error.strerror or str(error)).lower()
    return f"{folder} cannot be written to ({reason}); free some space or choose another folder."

"""Files in a folder, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
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


def _sentence(folder: Path, error: OSError) -> str:
    """Return what went wrong and what to do about it."""
    reason = (error.strerror or str(error)).lower()
    return f"{folder} cannot be written to ({reason}); free some space or choose another folder."

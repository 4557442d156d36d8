"""Files in a folder, whole or not at all, and folders for their owner alone."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from sprayadvisor.errors import StoreError


def make_private_folder(folder: Path) -> None:
    """Make a folder and those above it, each for its owner alone; one that is there stays as it is.

    The mode is the one the XDG Base Directory Specification 0.8 gives for folders that are missing.

    Raises:
        OSError: it cannot be made.
    """
    for one in reversed([folder, *folder.parents]):
        # Asked first, as the root of a drive cannot even be tried.
        if not one.exists():
            one.mkdir(mode=0o700, exist_ok=True)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that other readers see the old one or all of the new one.

    Raises:
        StoreError: the folder cannot be written to, or the disk is full; nothing is left behind.
    """
    try:
        make_private_folder(path.parent)
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

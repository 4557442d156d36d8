"""The only place that builds adapters and joins them to services.

Nothing is opened before it is asked for, and heavy libraries are imported where they are first
needed: a command that only shows the settings opens no database.
"""

from __future__ import annotations

from pathlib import Path

from sprayadvisor.bootstrap.checks import checks
from sprayadvisor.bootstrap.services import Services, build

__all__ = ["Services", "build", "checks", "write_private"]


def write_private(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, readable by its owner alone.

    Raises:
        StoreError: it cannot be written; nothing is left behind.
    """
    from sprayadvisor.adapters.whole_files import write_whole

    write_whole(path, content)

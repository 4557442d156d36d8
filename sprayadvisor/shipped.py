"""Where the files live that come with the project: ``config/`` and ``fixtures/``."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def shipped(path: str) -> Path:
    """Return the place of a shipped file or folder, given relative to the project's root.

    An installed wheel carries these below the package; a checkout has them at its root.

    Raises:
        FileNotFoundError: neither place has it, so the installation is broken.
    """
    for root in (_PACKAGE / "_shipped", _PACKAGE.parent):
        candidate = root / path
        if candidate.exists():
            return candidate
    raise FileNotFoundError(
        f"{path} did not come with this installation; install sprayadvisor again."
    )

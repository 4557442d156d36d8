"""The keys that sign links and logins, in a file for its owner alone.

One key a line, oldest first. The newest signs, any of them is known again: a new key goes to the
end while what the old ones signed stays good, or takes their place and ends all of it.
"""

from __future__ import annotations

import secrets
import threading
from dataclasses import dataclass, field
from pathlib import Path

from sprayadvisor.adapters.whole_files import write_whole
from sprayadvisor.errors import StoreError

KEPT = 5  # a link is dead after days, so what older keys signed is too
_LEAST = 32


@dataclass(slots=True)
class KeyFile:
    """Keys in a file; a change to it counts at once, in every process.

    Attributes:
        path: of the file; it is made with a first key when it is first needed.
    """

    path: Path
    _seen: tuple[int, int] | None = None
    _keys: tuple[str, ...] = ()
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def keys(self) -> tuple[str, ...]:
        """Return the keys, oldest first, at least one.

        Raises:
            StoreError: the file cannot be read or made, or holds something else.
        """
        with self._lock:
            if not self.path.exists():
                self._write([_new()])
            return self._read()

    def renew(self, *, revoke: bool) -> None:
        """Begin to sign with a new key.

        Args:
            revoke: forget the old ones, so that no link and no login made before is good any more.

        Raises:
            StoreError: the file cannot be read or written; then nothing was changed.
        """
        with self._lock:
            old = [] if revoke or not self.path.exists() else list(self._read())
            self._write([*old, _new()][-KEPT:])

    def _read(self) -> tuple[str, ...]:
        try:
            status = self.path.stat()
            seen = (status.st_mtime_ns, status.st_ino)
            if seen != self._seen:
                self._keys = tuple(self.path.read_text(encoding="ascii").split())
                self._seen = seen
        except (OSError, UnicodeDecodeError) as error:
            raise StoreError(f"{self.path} cannot be read; {_MEND}.") from error
        if not self._keys or any(len(key) < _LEAST for key in self._keys):
            raise StoreError(f"{self.path} holds no keys; {_MEND}.")
        return self._keys

    def _write(self, keys: list[str]) -> None:
        write_whole(self.path, "".join(f"{key}\n" for key in keys).encode())


_MEND = "make new ones with “sprayadvisor web new-key --revoke”"


def _new() -> str:
    return secrets.token_urlsafe(_LEAST)

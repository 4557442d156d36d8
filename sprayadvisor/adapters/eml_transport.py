"""Messages as .eml files in a folder, each whole or not at all."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sprayadvisor.adapters.whole_files import write_whole
from sprayadvisor.errors import DeliveryError, StoreError
from sprayadvisor.services.ports.outbox import Outgoing


@dataclass(frozen=True, slots=True)
class EmlTransport:
    """``Transport`` into a folder; its contract is there.

    The file is named by what the message is, and by its Message-ID: the same message again is the
    same file, and another one never takes its place.

    Attributes:
        folder: where the files go; it is made if it is not there.
        write: writes a file whole or raises ``StoreError``.
        longest_s: nobody can bound a disk; this is what a slow one may take, seconds.
    """

    folder: Path
    write: Callable[[Path, bytes], None] = write_whole
    longest_s: float = 60.0

    def send(self, outgoing: Outgoing) -> None:
        """Write one message."""
        try:
            self.write(self.folder / file_name(outgoing), outgoing.message)
        except StoreError as error:
            raise DeliveryError(str(error), permanent=False, for_all=True) from error

    def probe(self) -> str:
        """See that the folder can be written to."""
        trial = self.folder / ".trial"
        try:
            self.write(trial, b"")
            trial.unlink()
        except (StoreError, OSError) as error:
            raise DeliveryError(str(error), permanent=False, for_all=True) from error
        return f"files in {self.folder}"


def file_name(outgoing: Outgoing) -> str:
    """Return the name of a message's file: readable, without the recipient's address."""
    key = outgoing.key
    about = re.sub(r"[^A-Za-z0-9]+", "-", key.subject)
    digest = hashlib.sha256("\n".join((*key, outgoing.message_id)).encode()).hexdigest()
    return f"{about}-{key.kind}-{digest[:12]}.eml"

"""Messages as .eml files in a folder, which is outbox and ledger in one.

A message's file is named by what it is and whom it is for. It is written whole or not at all, so
that it is there or it is not; the same message again is the same file. Nothing ever waits: what
cannot be written is not in the ledger and so is still due.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import datetime
from email.utils import format_datetime
from pathlib import Path

from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.advice.due import Key
from sprayadvisor.advice.said import Notice
from sprayadvisor.render.email import Rendered, brief_message, to_email_message
from sprayadvisor.render.notice import notice_message
from sprayadvisor.services.brief_files import WriteFile
from sprayadvisor.units import Display


@dataclass(frozen=True, slots=True)
class FolderPost:
    """``Post`` for those without a mail server; its contract is in ``services.rhythm``.

    Attributes:
        folder: where the files go.
        write: writes a file whole or raises ``StoreError``; makes the folder.
        sender: address the mails come from.
        business: name of the business.
        display: how numbers are shown.
    """

    folder: Path
    write: WriteFile
    sender: str
    business: str
    display: Display

    def known(self, keys: Collection[Key]) -> set[Key]:
        """Return those of the keys that the folder has."""
        return {key for key in keys if self._path(key).exists()}

    def put(self, brief: Brief, recipient: str) -> None:
        """Write a brief, unless it is there.

        Raises:
            StoreError: it could not be written.
        """
        key = Key(recipient, brief.moment.value, brief.day.isoformat())
        self._put(key, brief.made_at, lambda: brief_message(brief, self.display))

    def put_notice(self, key: Key, made: Notice, entry: Entry) -> None:
        """Write a change notice, unless it is there.

        Raises:
            StoreError: it could not be written.
        """
        self._put(
            key,
            made.made_at,
            lambda: notice_message(made, entry, self.business, self.display),
        )

    def send(self, _stopping: Callable[[], bool]) -> None:
        """Do nothing: what was put in is where it shall be."""

    def _put(self, key: Key, made_at: datetime, render: Callable[[], Rendered]) -> None:
        path = self._path(key)
        if path.exists():
            return
        mail = to_email_message(
            render(),
            key.recipient,
            self.sender,
            f"<{_digest(key)}@sprayadvisor.invalid>",
            format_datetime(made_at),
        )
        self.write(path, mail.as_bytes())

    def _path(self, key: Key) -> Path:
        """Return the file of a message: readable, and different for each."""
        subject = re.sub(r"[^A-Za-z0-9]+", "-", key.subject)
        return self.folder / f"{subject}-{key.kind}-{_digest(key)[:12]}.eml"


def _digest(key: Key) -> str:
    """Return a text that no other message has."""
    return hashlib.sha256("\n".join(key).encode()).hexdigest()[:32]

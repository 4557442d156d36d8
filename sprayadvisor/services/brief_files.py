"""A brief as text, and as files: mail, page and charts, each whole or not at all."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from email.utils import format_datetime, make_msgid
from pathlib import Path
from typing import Any

from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.render.email import brief_message, to_email_message
from sprayadvisor.render.html import brief_html
from sprayadvisor.render.jsonable import brief_json
from sprayadvisor.render.text import brief_text
from sprayadvisor.render.told_explain import explained_json, explained_lines
from sprayadvisor.units import Display

WriteFile = Callable[[Path, bytes], None]


@dataclass(frozen=True, slots=True)
class BriefTexts:
    """Briefs as text.

    Attributes:
        display: how numbers are shown.
    """

    display: Display

    def as_text(self, brief: Brief) -> str:
        """Return a brief in plain words."""
        return brief_text(brief, self.display)

    def as_json(self, brief: Brief) -> dict[str, Any]:
        """Return a brief for a machine: units in the names, times with their zone."""
        return brief_json(brief)

    def explained(self, entry: Entry) -> tuple[str, ...]:
        """Return verdict, best play and cautions of one job as lines."""
        return explained_lines(entry, self.display)

    def explained_json(self, entry: Entry) -> dict[str, Any]:
        """Return verdict and best play of one job for a machine."""
        return explained_json(entry)


@dataclass(frozen=True, slots=True)
class BriefFiles:
    """Writes briefs as files.

    Attributes:
        write: writes a file whole or raises ``StoreError``; makes the folder.
        display: how numbers are shown.
        sender: address the mail comes from.
        recipients: whom it is for; without any the mail is addressed to nobody.
    """

    write: WriteFile
    display: Display
    sender: str
    recipients: tuple[str, ...]

    def put(self, brief: Brief, folder: Path) -> tuple[Path, ...]:
        """Write a brief and return the files, the mail first.

        Raises:
            StoreError: a file could not be written; those named before it are whole.
        """
        rendered = brief_message(brief, self.display)
        stem = f"{brief.day:%Y-%m-%d}-{brief.moment.value}"
        recipient = ", ".join(self.recipients)
        mail = to_email_message(
            rendered,
            recipient,
            self.sender,
            make_msgid(domain="sprayadvisor.invalid"),
            format_datetime(brief.made_at),
        )
        charts = {ref: f"{stem}-{_safe(ref)}.png" for ref in rendered.charts}
        page = brief_html(brief, self.display, charts)
        files = {
            f"{stem}.eml": mail.as_bytes(),
            f"{stem}.html": page.encode(),
            **{charts[ref]: png for ref, png in rendered.charts.items()},
        }
        for name, content in files.items():
            self.write(folder / name, content)
        return tuple(folder / name for name in files)


def _safe(ref: str) -> str:
    """Return a job's reference as part of a file name."""
    return re.sub(r"[^A-Za-z0-9-]+", "-", ref)

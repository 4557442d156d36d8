"""A form as it was sent: texts by name, none of them judged yet; and its ticket, valid once."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated

from fastapi import Depends, Request

from sprayadvisor.services.ports.signing import Signer

_PURPOSE = "form"
_OPEN_FOR = timedelta(hours=12)
# What was sent is remembered by this process alone, so a form of an earlier one is asked for again.
_PROCESS = secrets.token_urlsafe(8)
MOST_FIELDS = 200  # of a form; a booking of ten panels has some ninety


@dataclass(frozen=True, slots=True)
class Sent:
    """What was sent.

    Attributes:
        texts: by the name of the field, in their order.
    """

    texts: Mapping[str, Sequence[str]]

    def one(self, name: str) -> str:
        """Return the text of a field, empty where there is none."""
        return next(iter(self.texts.get(name, ())), "")

    def all(self, name: str) -> Sequence[str]:
        """Return all texts under one name."""
        return self.texts.get(name, ())


async def _sent(request: Request) -> Sent:
    form = await request.form(max_files=0, max_fields=MOST_FIELDS)
    texts: dict[str, list[str]] = {}
    for name, text in form.multi_items():
        if isinstance(text, str):
            texts.setdefault(name, []).append(text)
    return Sent(texts)


Typed = Annotated[Sent, Depends(_sent)]


def new_ticket(signer: Signer) -> str:
    """Return what a form carries so that it acts once."""
    return signer.sign(_PURPOSE, [_PROCESS, secrets.token_urlsafe(8)])


def ticket(signer: Signer, sent: Sent) -> str:
    """Return the ticket of a form; empty where it is none, or too old to know what became of it."""
    text = sent.one("once")
    read = signer.read(_PURPOSE, text, _OPEN_FOR) if text else None
    return read[1] if read and read[0] == _PROCESS else ""

"""The note that tells of a message that could not be sent: short, and never an advice itself."""

from __future__ import annotations

import textwrap
from datetime import date

from sprayadvisor.advice.due import Key, Kind
from sprayadvisor.render.email import Rendered
from sprayadvisor.render.words import long_day, short_day

WIDTH = 78
_NO_GO_AHEAD = (
    "No message does not mean go. Until you have seen the day's brief, nothing has been judged for "
    "you: look at the weather and the panel yourself, and keep to the product sheets and your "
    "local rules."
)
_HOW_TO_SEE = "To see the verdicts as they are now, run: sprayadvisor brief"


def not_sent_message(key: Key, why: str, *, doubtful: bool) -> Rendered:
    """Return the note, as text alone.

    Args:
        key: of the message that could not be sent.
        why: a sentence; empty if nothing is known.
        doubtful: whether it may have arrived all the same.
    """
    brief, about = f"{key.kind} brief", key.subject
    if key.kind in (Kind.EVENING, Kind.MORNING):
        day = date.fromisoformat(key.subject)
        short, long = f"{brief} for {short_day(day)}", f"{brief} for {long_day(day)}"
    else:
        short = long = f"{key.kind} notice on job {about.split()[0]}"
    parts = [
        f"The {long} could not be sent in time to be of use.",
        why,
        "It may have arrived all the same." if doubtful else "",
        _NO_GO_AHEAD,
        _HOW_TO_SEE,
    ]
    text = "\n\n".join(textwrap.fill(part, WIDTH) for part in parts if part)
    return Rendered(f"Not sent: {short}", f"{text}\n", "")

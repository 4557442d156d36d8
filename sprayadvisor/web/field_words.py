"""What somebody typed into any form, in its words, where the form itself is not shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from sprayadvisor.advice.model import Job
from sprayadvisor.web.booking_form import new_values, stored_values
from sprayadvisor.web.booking_widgets import PANEL_FIELDS, label
from sprayadvisor.web.now_form import LABELS

# Sent by the forms themselves.
_OWN = ("once", "was", "picked", "picked_for", "number")
_WORDS = LABELS | {
    "stage": "Stage",
    "why": "Why",
    "reason": "My reason",
    "finished": "The work on this car is finished",
    "sure": "I looked again",
    "matt_now": "The last coat is matt all over now",
}
_PANEL = tuple(name for name, _ in PANEL_FIELDS)
_SIDE = ("side", "reaches")


def in_words(sent: Iterable[tuple[str, str]], job: Job | None) -> list[tuple[str, str]]:
    """Return what somebody typed or chose: label and text, without what stood there already.

    Args:
        sent: name and text of each field, in their order.
        job: whose form it was; None for another form.
    """
    fields = [(name, text.strip()) for name, text in sent if name not in _OWN]
    stood, rows = stored_values(job) if job else new_values()
    is_booking = any(name == "colour" for name, _ in fields)
    in_rows = (*_PANEL, *_SIDE) if is_booking else ()
    alone = [
        (_WORDS.get(name) or label(name), text)
        for name, text in fields
        if text and name not in in_rows and not (is_booking and stood.get(name) == text)
    ]
    if not is_booking:
        return alone
    panels = [row for row in _rows(fields, _PANEL) if row[0] or row[1]]
    sides = [row for row in _rows(fields, _SIDE) if any(row)]
    return [*alone, *_new("panels", panels, rows.panels), *_new("downwind", sides, rows.downwind)]


def _rows(fields: Sequence[tuple[str, str]], names: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Yield the rows of which these fields are the columns."""
    columns = [[text for one, text in fields if one == name] for name in names]
    yield from zip(*columns, strict=False)


def _new(
    name: str, rows: Sequence[tuple[str, ...]], stood: Sequence[tuple[str, ...]]
) -> Iterator[tuple[str, str]]:
    """Yield each row that did not stand there already."""
    for row in rows:
        if row not in stood:
            yield label(name), ", ".join(filter(None, row)).replace("_", " ")

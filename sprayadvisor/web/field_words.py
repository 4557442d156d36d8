"""What the fields of all forms are called where a form itself is not shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sprayadvisor.web.booking_widgets import PANEL_FIELDS, label
from sprayadvisor.web.now_form import LABELS

# Sent by the forms themselves.
_OWN = ("once", "was", "picked", "picked_for", "number")
_WORDS = LABELS | {
    "stage": "Stage",
    "why": "Why",
    "reason": "My reason",
    "finished": "The work on this car is finished",
    "reaches": "What lies there",
    "sure": "I looked again",
    "matt_now": "The last coat is matt all over now",
}


def in_words(sent: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return what somebody typed or chose, under the words of the form.

    Args:
        sent: name and text of each field, in their order.
    """
    fields = [(name, text) for name, text in sent if name not in _OWN]
    columns = {name: [text for one, text in fields if one == name] for name, _ in PANEL_FIELDS}
    panels = list(_panels(columns)) if columns["colour"] else []
    rows = tuple(columns) if columns["colour"] else ()
    alone = [(_word(name), text) for name, text in fields if text.strip() and name not in rows]
    return [*alone, *panels]


def _panels(columns: dict[str, list[str]]) -> Iterator[tuple[str, str]]:
    """Yield the panels of which part or colour was chosen; the rest of a row has usual words."""
    for number, row in enumerate(zip(*columns.values(), strict=False), 1):
        if row[0] or row[1]:
            yield f"Panel {number}", ", ".join(filter(None, row)).replace("_", " ")


def _word(name: str) -> str:
    return _WORDS.get(name) or label(name)

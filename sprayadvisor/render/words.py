"""Small words: times, days, likelihoods, lists."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.model import Panel, Surface
from sprayadvisor.advice.verdict import Word

# Word and shape, so that colour never carries a verdict alone.
_SURFACE_WORDS = {
    Surface.PRIMER: " in primer",
    Surface.FILLER: " in filler",
    Surface.BARE: ", bare",
}
SHAPES = {
    Word.GO: "●",
    Word.CARE: "▲",
    Word.NO_GO: "■",
    Word.UNKNOWN: "?",
    Word.NOT_JUDGED: "○",
}
LABELS = {
    Word.GO: "GO",
    Word.CARE: "CARE",
    Word.NO_GO: "NO-GO",
    Word.UNKNOWN: "UNKNOWN",
    Word.NOT_JUDGED: "NOT JUDGED",
}


def clock(at: datetime, zone: str) -> str:
    """Return a local clock time, ``09:05``."""
    return f"{at.astimezone(ZoneInfo(zone)):%H:%M}"


def short_day(day: date) -> str:
    """Return a day as ``Thu 16 Apr``."""
    return f"{day:%a} {day.day} {day:%b}"


def long_day(day: date) -> str:
    """Return a day as ``Thursday 16 April``."""
    return f"{day:%A} {day.day} {day:%B}"


def day_and_clock(at: datetime, zone: str) -> str:
    """Return ``Thu 16 Apr 09:05``, local."""
    local = at.astimezone(ZoneInfo(zone))
    return f"{short_day(local.date())} {local:%H:%M}"


def listed(parts: Sequence[str]) -> str:
    """Return ``a``, ``a and b``, ``a, b and c``."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def either(parts: Sequence[str]) -> str:
    """Return ``a``, ``a or b``, ``a, b or c``."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} or {parts[-1]}"


def stretches(times: Sequence[datetime], each: timedelta) -> list[tuple[datetime, datetime]]:
    """Return from when to when something lasts that was seen at ``times``.

    Args:
        times: ascending beginnings of what was seen.
        each: how long each of them lasts.
    """
    found: list[tuple[datetime, datetime]] = []
    for at in times:
        begin = at
        if found and at <= found[-1][1]:
            begin = found.pop()[0]
        found.append((begin, at + each))
    return found


def from_to(times: Sequence[datetime], each: timedelta, zone: str) -> str:
    """Return ``from 15:00 to 17:00``, several stretches listed; the arguments are as above."""
    found = stretches(times, each)
    return listed([f"from {clock(begin, zone)} to {clock(end, zone)}" for begin, end in found])


def counted(number: float, one: str, many: str) -> str:
    """Return ``1 job`` or ``3 jobs``."""
    return f"{number:.0f} {one if round(number) == 1 else many}"


def odds(likelihood: float) -> str:
    """Return a likelihood as it is spoken; never finer than tenths, never certain.

    Guessed errors of a forecast cannot tell 90 from 95 in a hundred.
    """
    tenths = math.floor(10 * likelihood + 0.5)
    if tenths < 1:
        return "less than 1 in 10"
    if tenths > 9:
        return "better than 9 in 10"
    return f"about {tenths} in 10"


def panel_words(panel: Panel) -> str:
    """Return a panel as ``dark grey left door``, with ``in primer`` and the like if not painted."""
    bare = "" if panel.surface is Surface.PAINT else _SURFACE_WORDS[panel.surface]
    return f"{panel.colour} {panel.part}{bare}".replace("_", " ")


def sentence(text: str) -> str:
    """Return a text with a capital at its beginning and a full stop at its end."""
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")


def number_to_ring(phone: str) -> str:
    """Return a number as a phone dials it; empty where what was typed is none."""
    dialled = re.sub(r"[\s()./-]", "", phone)
    return dialled if re.fullmatch(r"\+?\d{3,15}", dialled) else ""


_NUMBER_AND_UNIT = re.compile(r"(\d) (?=(?:°[CF]|K|%|mm|min|lx|m/s|km/h|mph|kn)\b|%|°)")
NO_BREAK = "\u00a0"


def kept_together(text: str) -> str:
    """Return a text in which no line can end between a number and its unit."""
    return _NUMBER_AND_UNIT.sub(rf"\1{NO_BREAK}", text)

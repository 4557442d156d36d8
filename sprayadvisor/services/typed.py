"""Reading what people type: numbers, times, words out of a list. Every fault is one sentence."""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Collection
from datetime import date, time, timedelta
from enum import StrEnum
from functools import lru_cache
from typing import TypeVar
from zoneinfo import available_timezones

from sprayadvisor.errors import InputError, RangeError

Word = TypeVar("Word", bound=StrEnum)

_COMPASS = ("n", "ne", "e", "se", "s", "sw", "w", "nw")
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_CLOCK = re.compile(r"(\d{1,2})(?:[:.](\d{2}))?")


def number(text: str, field: str, low: float, high: float, unit: str) -> float:
    """Return a number within bounds; a decimal comma will do.

    Raises:
        InputError: it is none, or lies outside ``low`` to ``high``.
    """
    value = plain_number(text, field)
    if not low <= value <= high:
        raise RangeError(field, value, low, high, unit)
    return value


def plain_number(text: str, field: str) -> float:
    """Return a number of any size.

    Raises:
        InputError: it is none.
    """
    if not _NUMBER.fullmatch(text.strip()):
        raise InputError(f"{field} is {text!r}; give a plain number such as 12.5.")
    return float(text.strip().replace(",", "."))


def heading(text: str, field: str) -> float:
    """Return a bearing in degrees, 0 up to but not 360, from degrees or a compass word.

    Raises:
        InputError: it is neither.
    """
    side = _short_compass(text)
    if side in _COMPASS:
        return 45.0 * _COMPASS.index(side)
    said, text = text, text.strip().replace("−", "-").rstrip("°º").strip()
    if not _NUMBER.fullmatch(text.strip()):
        raise InputError(f"{field} is {said!r}; give degrees, or one of {', '.join(_COMPASS)}.")
    degrees = plain_number(text, field)
    if not -180.0 <= degrees <= 360.0:
        raise InputError(f"{field} is {said!r}; a bearing lies between 0 and 360 degrees.")
    return degrees % 360.0


def compass_side(text: str, field: str) -> str:
    """Return a side as one of n, ne, e, se, s, sw, w, nw.

    Raises:
        InputError: it is none of them.
    """
    side = _short_compass(text)
    if side not in _COMPASS:
        raise InputError(f"{field} has the side {text!r}; use one of {', '.join(_COMPASS)}.")
    return side


def _short_compass(text: str) -> str:
    """Return ``ne`` for ``North-East`` and the like."""
    side = re.sub(r"[\s_-]", "", text.lower())
    for long, short in (("north", "n"), ("south", "s"), ("east", "e"), ("west", "w")):
        side = side.replace(long, short)
    return side


def clock(text: str, field: str) -> time:
    """Return a time of day.

    Raises:
        InputError: it is none.
    """
    found = _CLOCK.fullmatch(text.strip())
    try:
        if found:
            return time(int(found[1]), int(found[2] or 0))
    except ValueError:
        pass
    raise InputError(f"{field} is {text!r}; give a time of day such as 09:30.")


def clock_window(text: str, field: str) -> tuple[time, time]:
    """Return the two ends of ``09:00-10:30``; a single time is a window without width.

    Raises:
        InputError: it is no window, or it ends before it begins.
    """
    ends = re.split(r"\s*(?:-|–|\bto\b)\s*", text.strip())
    if len(ends) > 2 or not all(ends):
        raise InputError(f"{field} is {text!r}; give a window such as 09:00-10:30.")
    first, last = clock(ends[0], field), clock(ends[-1], field)
    if first > last:
        raise InputError(f"{field} ends before it begins: {text}; give the earlier time first.")
    return first, last


def day(text: str, field: str, today: date) -> date:
    """Return a day from ``2027-05-04``, ``today`` or ``tomorrow``.

    Raises:
        InputError: it is none.
    """
    word = text.strip().lower()
    if word in {"today", "tomorrow"}:
        return today + timedelta(days=word == "tomorrow")
    try:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", word):
            return date.fromisoformat(word)
    except ValueError:
        pass
    raise InputError(
        f"{field} is {text!r}; give year-month-day such as 2027-05-04, or today, or tomorrow."
    )


def line(text: str, field: str, most: int = 200) -> str:
    """Return a text without blanks around it that fits one line.

    Raises:
        InputError: it is too long or holds a character that no keyboard types into one line.
    """
    kept = text.strip()
    # Control characters, line and paragraph ends, lone surrogates: they would end up in a mail.
    if any(unicodedata.category(letter) in {"Cc", "Cs", "Zl", "Zp"} for letter in kept):
        raise InputError(
            f"{field} holds a line break or a control character; write it in one line."
        )
    if len(kept) > most:
        raise InputError(f"{field} has {len(kept)} characters; {most} are enough.")
    return kept


def reference(text: str, field: str) -> str:
    """Return a job's reference, empty if there is none; it must be fit to stand in an address.

    Raises:
        InputError: it is too long or holds anything but letters, digits, dot, hyphen, underscore.
    """
    if text and not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}", text.strip()):
        raise InputError(f"{field} is {text!r}; use up to 40 letters, digits, dots and hyphens.")
    return text.strip()


def choice(kind: type[Word], text: str, field: str) -> Word:
    """Return the member of ``kind`` that is meant; capitals, blanks and hyphens do not matter.

    Raises:
        InputError: there is none; the sentence names the nearest.
    """
    word = re.sub(r"[\s-]+", "_", text.strip().lower())
    if word not in set(kind):
        raise InputError(unknown(field, text, [member.value for member in kind]))
    return kind(word)


def nearest(text: str, known: Collection[str]) -> str | None:
    """Return the one of ``known`` that may have been meant, None if nothing is like it."""
    by_lower = {name.lower(): name for name in known}
    near = difflib.get_close_matches(text.lower(), by_lower, n=1)
    return by_lower[near[0]] if near else None


def unknown(field: str, text: str, known: Collection[str]) -> str:
    """Return the sentence that ``text`` is not among ``known``, with what may have been meant."""
    near = nearest(text, known)
    if near:
        return f"{field} {text!r} is not known; did you mean {near!r}?"
    if not known:
        return f"{field} {text!r} is not known, for there are none at all; set some up first."
    return f"{field} {text!r} is not known; choose one of {', '.join(sorted(known))}."


def zone(text: str, field: str) -> str:
    """Return an IANA time zone.

    Raises:
        InputError: there is no such zone; the sentence names the nearest.
    """
    name = text.strip()
    if name in _zones():
        return name
    near = _nearest_zone(name)
    hint = f"did you mean {near}?" if near else "give one such as Europe/Berlin or America/Chicago."
    raise InputError(f"{field} {name!r} is not a known time zone; {hint}")


@lru_cache(maxsize=1)
def _zones() -> frozenset[str]:
    """Return every zone; reading the list takes a while, and it does not change while we run."""
    return frozenset(available_timezones())


def _nearest_zone(name: str) -> str | None:
    """Return the zone that is most like ``name``, by its whole name or by its city alone."""
    wanted = name.lower().replace(" ", "_")
    names: dict[str, str] = {}
    for zone_name in sorted(_zones(), key=lambda known: ("/" in known, known)):
        names[zone_name.lower()] = zone_name
        names.setdefault(zone_name.lower().rpartition("/")[2], zone_name)
    near = difflib.get_close_matches(wanted, names, n=1)
    return names[near[0]] if near else None

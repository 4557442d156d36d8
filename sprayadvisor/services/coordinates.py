"""Coordinates as people paste them: decimal, degrees and minutes, a ``geo:`` address, a map link.

Strict on purpose: what could mean two places is refused. General parsers read ``53,27 -8,92`` as
8° south, 92° east without a word.
"""

from __future__ import annotations

import re
import unicodedata
from typing import NamedTuple
from urllib.parse import parse_qs, unquote, urlsplit

from sprayadvisor.errors import InputError

_LONGEST = 2000
_NUM = r"\d{1,3}(?:\.\d+)?"
_ONE_OR_TWO = re.compile(r"[+-]?\d+,\d+")  # one number with a comma, or two: nobody knows
_PLAIN = re.compile(rf"([+-]?{_NUM})°?\s*(?:[,;/]\s*|\s)\s*([+-]?{_NUM})°?")
_COMMA = re.compile(r"([+-]?\d{1,3},\d+)°?\s*(?:[,;/]\s*|\s)\s*([+-]?\d{1,3},\d+)°?")
_ANGLE = rf"({_NUM})\s*(?:°|\s)?\s*(?:({_NUM})\s*(?:'|\s)?\s*)?(?:({_NUM})\s*(?:\"|'')?\s*)?"
_BEFORE = re.compile(rf"([NSEW])\s*{_ANGLE}[,;/]?\s*([NSEW])\s*{_ANGLE}")
_AFTER = re.compile(rf"{_ANGLE}([NSEW])\s*[,;/]?\s*{_ANGLE}([NSEW])")
_IN_LINK = re.compile(r"(?:^|[@=/:,(])(-?\d{1,2}\.\d{3,})(?:,|/|\+|\s)\s*(-?\d{1,3}\.\d{3,})")
_GEO = re.compile(r"geo:(-?\d{1,2}(?:\.\d+)?),(-?\d{1,3}(?:\.\d+)?)(?:[,;?].*)?", re.IGNORECASE)


class Coordinates(NamedTuple):
    """A place on the WGS 84 globe: degrees north, degrees east."""

    latitude: float
    longitude: float


def coordinates(text: str, field: str) -> Coordinates:
    """Return the place that a pasted text means.

    Read are decimal degrees (``53.27, -8.92``, with decimal commas ``53,27; -8,92``), degrees with
    minutes and seconds and a letter for each half of the globe (``53°16'12"N 8°55'12"W``), the
    ``geo:`` address of RFC 5870, and links of map sites that hold decimal degrees.

    Args:
        text: what was pasted.
        field: the field's name, for the sentence.

    Raises:
        InputError: it is nothing of the kind, could mean two places, or lies beyond a pole.
    """
    tidy = _tidy(text[:_LONGEST])
    found = _from_address(tidy) if _is_address(tidy) else _from_words(tidy)
    if found is None:
        raise InputError(
            f"{field}: no coordinates can be read from it; paste them as 53.27, -8.92 "
            "or 53°16'12\"N 8°55'12\"W, or the link of a map that shows them."
        )
    if abs(found.latitude) > 90 or abs(found.longitude) > 180:
        raise InputError(
            f"{field}: {found.latitude:g}, {found.longitude:g} lies beyond the globe; latitude "
            "comes first (−90 to 90), then longitude (−180 to 180)."
        )
    return found


def _tidy(text: str) -> str:
    """Return the text with one kind of minus, minute, second and blank."""
    # NFKC alone would take ″ apart into two minute signs, and ´ into a blank and an accent.
    for marks, plain in (("″”“", '"'), ("′’‘´`", "'"), ("−–‐‑", "-"), ("º˚", "°")):
        text = re.sub(f"[{marks}]", plain, text)
    return " ".join(unicodedata.normalize("NFKC", text).split())


def _is_address(text: str) -> bool:
    return bool(re.match(r"(?:https?://|geo:)", text, re.IGNORECASE))


def _from_address(text: str) -> Coordinates | None:
    """Return the place in a ``geo:`` address or in a map's link."""
    if geo := _GEO.fullmatch(text):
        return _pair(geo[1], geo[2])
    try:
        query = parse_qs(urlsplit(text).query)
    except ValueError:
        return None
    for north, east in (("mlat", "mlon"), ("lat", "lon"), ("lat", "lng")):
        if (
            north in query
            and east in query
            and (pair := _PLAIN.fullmatch(f"{query[north][0]} {query[east][0]}"))
        ):
            return _pair(pair[1], pair[2])
    found = _IN_LINK.findall(unquote(text))
    # A link may show one place and centre on another: then nobody knows which is meant.
    return _pair(*found[0]) if len(set(found)) == 1 else None


def _from_words(text: str) -> Coordinates | None:
    """Return the place in numbers with signs or letters."""
    if _ONE_OR_TWO.fullmatch(text):
        return None
    if plain := _PLAIN.fullmatch(text):
        return _pair(plain[1], plain[2])
    if comma := _COMMA.fullmatch(text):
        return _pair(comma[1].replace(",", "."), comma[2].replace(",", "."))
    upper = re.sub(r"(\d),(\d)", r"\1.\2", text.upper())
    if after := _AFTER.fullmatch(upper):
        first, one, second, two = after.groups()[:3], after[4], after.groups()[4:7], after[8]
    elif before := _BEFORE.fullmatch(upper):
        one, first, two, second = before[1], before.groups()[1:4], before[5], before.groups()[5:8]
    else:
        return None
    return _by_letter({one: _degrees(first), two: _degrees(second)})


def _by_letter(angles: dict[str, float | None]) -> Coordinates | None:
    """Return the place from an angle for each letter, in whatever order they came."""
    north = angles.get("N", angles.get("S"))
    east = angles.get("E", angles.get("W"))
    if north is None or east is None:
        return None
    return Coordinates(-north if "S" in angles else north, -east if "W" in angles else east)


def _degrees(parts: tuple[str | None, ...]) -> float | None:
    """Return degrees from degrees, minutes and seconds; only the last may have decimals."""
    given = [part for part in parts if part is not None]
    if any("." in part for part in given[:-1]):
        return None
    values = [float(part) for part in given]
    if any(value >= 60 for value in values[1:]):
        return None
    return sum(value / 60.0**power for power, value in enumerate(values))


def _pair(north: str, east: str) -> Coordinates:
    return Coordinates(float(north), float(east))

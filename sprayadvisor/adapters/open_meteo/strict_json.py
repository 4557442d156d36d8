"""JSON as the standard has it: RFC 8259 knows neither NaN nor Infinity."""

from __future__ import annotations

import json
import math
from typing import NoReturn


class NotFiniteError(ValueError):
    """A number in the text is not a number, or too large to be one."""


def _refuse(literal: str) -> NoReturn:
    raise NotFiniteError(f"it holds {literal}, which is not a number")


def _finite(text: str) -> float:
    value = float(text)
    return value if math.isfinite(value) else _refuse(text)


def loads(body: bytes) -> object:
    """Return the value of a JSON text in UTF-8.

    Raises:
        NotFiniteError: it holds NaN, Infinity or a number too large for a float.
        ValueError: it is not JSON, or nested beyond all measure.
    """
    try:
        return json.loads(body.decode("utf-8"), parse_constant=_refuse, parse_float=_finite)
    except RecursionError:
        raise ValueError("it is nested too deeply") from None


def dumps(value: object) -> bytes:
    """Return a value as compact JSON in UTF-8, keys in their order."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode("utf-8")

"""Values of this project as what JSON can hold."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, time
from typing import Any


def plain(value: object) -> Any:  # noqa: ANN401 - JSON has no type of its own
    """Return dataclasses as objects, words as text, days and times in ISO 8601."""
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, tuple | list):
        return [plain(entry) for entry in value]
    if isinstance(value, date | time):
        return value.isoformat()
    return value

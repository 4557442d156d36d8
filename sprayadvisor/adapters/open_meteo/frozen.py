"""Whether two answers hold the same numbers: a service that goes on answering may have stopped."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sprayadvisor.adapters.open_meteo import strict_json

LEAST_HOURS = 48  # of overlap; fewer say nothing


def same_values(first: bytes, second: bytes) -> bool:
    """Return whether two answers for a place agree in every value of the hours they share.

    What the service says of itself, such as how long it took, does not count. Answers that share
    too few hours, or cannot be read, count as different.
    """
    try:
        one, other = _columns(strict_json.loads(first)), _columns(strict_json.loads(second))
    except (ValueError, TypeError, KeyError, AttributeError):
        return False
    at = {hour: index for index, hour in enumerate(other["time"])}
    shared = [(index, at[hour]) for index, hour in enumerate(one["time"]) if hour in at]
    if len(shared) < LEAST_HOURS or one.keys() != other.keys():
        return False
    return all(one[name][here] == other[name][there] for name in one for here, there in shared)


def _columns(content: Any) -> Mapping[str, list[Any]]:  # noqa: ANN401 - whatever JSON held
    """Return the hourly columns, all of one length.

    Raises:
        ValueError: they are not of one length.
        TypeError, KeyError, AttributeError: there are none.
    """
    columns: Mapping[str, list[Any]] = content["hourly"]
    if len({len(column) for column in columns.values()}) != 1:
        raise ValueError("columns of different length")
    return columns

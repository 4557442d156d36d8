"""An answer of a weather service becomes one hourly frame.

    payload → shape → time axis → columns in our names and units → gaps → checks → frame

What has the wrong shape or unit is refused as a whole. What is merely absent, null or impossible
becomes NaN, hour by hour: missing weather is unknown weather, never zero.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

from sprayadvisor.adapters.open_meteo import strict_json
from sprayadvisor.adapters.open_meteo.checks import mark_suspects
from sprayadvisor.adapters.open_meteo.fields import FIELDS, NOT_GIVEN, Field
from sprayadvisor.errors import WeatherMalformed
from sprayadvisor.science.quantities import QUANTITIES

if TYPE_CHECKING:
    import pandas as pd

MAX_HOURS = 120 * 24  # more than the service ever gives; keeps a wild stamp from filling memory
_STAMP = "%Y-%m-%dT%H:%M"
_REMEDY = "the answer was left unused; ask again, and if it stays so, report it to the service"


def parse_forecast(
    payload: Mapping[str, Any] | bytes, *, source: str = "Open-Meteo"
) -> pd.DataFrame:
    """Return the hourly weather of one place.

    Args:
        payload: the answer for one place, decoded or as bytes.
        source: who made it, for the sentences of errors.

    Returns:
        A frame over (hour,) with a gapless UTC index in seconds. One float column for each name in
        ``science.quantities.QUANTITIES``, NaN where the service gave nothing or nothing that can
        be true, and one boolean column ``suspect_<name>`` that marks the latter.
        ``attrs["suspect"]`` holds a sentence for each kind of doubt, ``attrs["missing"]`` the
        required quantities that are null throughout, ``attrs["source"]`` the source.

    Raises:
        WeatherMalformed: wrong shape, wrong units, times out of order, no weather in it at all.
    """
    frame = parse_hourly(payload, FIELDS, source)[list(QUANTITIES)]
    missing = _missing(frame, source)
    frame, suspect = mark_suspects(frame)
    frame.attrs = {"suspect": suspect, "missing": missing, "source": source}
    return frame


def parse_hourly(
    payload: Mapping[str, Any] | bytes, fields: Sequence[Field], source: str
) -> pd.DataFrame:
    """Return (hour,) columns in our names and units, nothing of them doubted yet.

    Args:
        payload: the answer for one place, decoded or as bytes.
        fields: what was asked for.
        source: who made it, for the sentences of errors.

    Raises:
        WeatherMalformed: wrong shape, wrong units, times out of order.
    """
    import pandas as pd

    answer = _object(payload, source)
    hourly, units = _section(answer, "hourly", source), _section(answer, "hourly_units", source)
    index = _time_axis(hourly, units, source)
    columns = {f.name: _column(f, hourly, units, len(index), source) for f in fields}
    frame = pd.DataFrame(columns, index=index, dtype="float64")
    every_hour = pd.date_range(index[0], index[-1], freq="h", unit="s")
    return frame.reindex(every_hour).rename_axis("time")


def _refuse(source: str, problem: str) -> NoReturn:
    """Raise the one sentence that every malformed answer gets."""
    raise WeatherMalformed(f"The answer from {source} cannot be used: {problem}; {_REMEDY}.")


def _object(payload: Mapping[str, Any] | bytes, source: str) -> Mapping[str, Any]:
    """Return the answer as a mapping that is a forecast in GMT."""
    answer: object = payload
    if isinstance(payload, bytes):
        try:
            answer = strict_json.loads(payload)
        except ValueError as error:
            _refuse(source, f"it is not valid JSON ({error})")
    if not isinstance(answer, Mapping):
        _refuse(source, "it is not one place's object")
    if answer.get("error"):
        _refuse(source, f"it is an error, not a forecast ({str(answer.get('reason'))[:200]})")
    if isinstance(offset := answer.get("utc_offset_seconds"), bool) or offset != 0:
        _refuse(source, f"utc_offset_seconds is {offset!r} where 0 was asked for")
    return answer


def _section(answer: Mapping[str, Any], name: str, source: str) -> Mapping[str, Any]:
    """Return a part of the answer that must be there."""
    part = answer.get(name)
    if not isinstance(part, Mapping):
        _refuse(source, f"the part {name} is missing")
    return part


def _time_axis(
    hourly: Mapping[str, Any], units: Mapping[str, Any], source: str
) -> pd.DatetimeIndex:
    """Return the stamps as UTC, full hours in strictly rising order."""
    import pandas as pd

    if units.get("time") != "iso8601":
        _refuse(source, f"the unit of time is {units.get('time')!r} where 'iso8601' was asked for")
    stamps = hourly.get("time")
    if not isinstance(stamps, list) or not stamps or not all(isinstance(s, str) for s in stamps):
        _refuse(source, "hourly.time is not a list of times")
    try:
        index = pd.DatetimeIndex(pd.to_datetime(stamps, format=_STAMP, utc=True)).as_unit("s")
    except ValueError:
        _refuse(source, "hourly.time holds something that is not a time such as 2026-04-18T09:00")
    if (index.minute != 0).any():
        _refuse(source, "hourly.time holds times that are not full hours")
    if not index.is_monotonic_increasing or not index.is_unique:
        _refuse(source, "hourly.time runs backwards or repeats an hour")
    if (index[-1] - index[0]).total_seconds() / 3600 >= MAX_HOURS:
        _refuse(source, f"hourly.time spans more than {MAX_HOURS // 24} days")
    return index


def _column(
    field: Field, hourly: Mapping[str, Any], units: Mapping[str, Any], hours: int, source: str
) -> list[float]:
    """Return one variable in our unit, (hour,), NaN for null and for a variable not given."""
    values = hourly.get(field.asked, [None] * hours)
    if not isinstance(values, list):
        _refuse(source, f"hourly.{field.asked} is not a list")
    if len(values) != hours:
        _refuse(source, f"hourly.{field.asked} has {len(values)} values for {hours} times")
    numbers = [_number(value, field, source) / field.per_unit for value in values]
    if not all(math.isnan(number) for number in numbers) or field.asked in hourly:
        _assert_unit(field, units.get(field.asked), numbers, source)
    return numbers


def _assert_unit(field: Field, unit: object, numbers: list[float], source: str) -> None:
    """Refuse a unit that was not asked for; a variable without values may have none."""
    if unit == NOT_GIVEN and all(math.isnan(number) for number in numbers):
        return
    if unit != field.unit:
        _refuse(
            source,
            f"hourly_units.{field.asked} is {unit!r} where {field.unit!r} was asked for",
        )


def _number(value: object, field: Field, source: str) -> float:
    """Return a JSON number as a float, NaN for null, and 0 for −0."""
    if value is None:
        return math.nan
    if isinstance(value, bool) or not isinstance(value, int | float):
        _refuse(source, f"hourly.{field.asked} holds {str(value)[:40]!r}, which is not a number")
    try:
        return float(value) + 0.0
    except OverflowError:
        return math.inf  # no range admits it


def _missing(frame: pd.DataFrame, source: str) -> tuple[str, ...]:
    """Return the required quantities that are null throughout."""
    required = [name for name, (_, needed) in QUANTITIES.items() if needed]
    empty = tuple(name for name in required if frame[name].isna().all())
    if len(empty) == len(required):
        _refuse(source, "it holds no weather, only empty values")
    return empty

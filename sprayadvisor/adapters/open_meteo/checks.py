"""Hours that cannot be true are marked, emptied and told about.

Forecasts have carried gusts a hundred times too large and humidities far above 100 %. Such an
hour is not weather that may be reasoned with, in either direction, so that its value becomes NaN.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.adapters.open_meteo.fields import FIELDS, Field
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.quantities import PLAIN_NAMES

if TYPE_CHECKING:
    import pandas as pd

GUST_SLACK_MS = 2.0  # some models give gusts a little under the mean wind; EE
DEW_POINT_SLACK_K = 0.5  # between the service's dew point and ours; EE
RH_ROUNDING_PCT = 0.5  # humidity comes as a whole number
_HUMIDITY = ("air_temp_c", "rh_pct", "dew_point_c")

Mask = NDArray[np.bool_]


def mark_suspects(frame: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the frame with impossible values emptied and marked, and a sentence for each kind.

    Args:
        frame: (hour,) our quantities in our units, UTC index.

    Returns:
        The frame with a boolean column ``suspect_<name>`` for each quantity, and the sentences.
    """
    frame, sentences = mark_out_of_range(frame, FIELDS)
    sentences += _gust_under_wind(frame)
    sentences += _dew_point_contradicts(frame)
    return frame, tuple(sentences)


def mark_out_of_range(
    frame: pd.DataFrame, fields: Sequence[Field]
) -> tuple[pd.DataFrame, list[str]]:
    """Return the same for what is impossible by its size alone.

    Args:
        frame: (hour,) a column for each of ``fields``, UTC index.
        fields: with the range of each.
    """
    frame = frame.copy()
    for field in fields:
        frame[f"suspect_{field.name}"] = False
    return frame, [s for field in fields for s in _out_of_range(frame, field)]


def _out_of_range(frame: pd.DataFrame, field: Field) -> list[str]:
    """Bring rounding back into range, empty what lies beyond it, and say so."""
    values = frame[field.name].to_numpy(copy=True)
    values[(values < field.low) & (values >= field.low - field.slack_low)] = field.low
    values[(values > field.high) & (values <= field.high + field.slack_high)] = field.high
    frame[field.name] = values
    sentences = []
    for wrong, words in (
        (values < field.low, f"is below {field.low:g}"),
        (values > field.high, f"is above {field.high:g}"),
    ):
        if wrong.any():
            sentences.append(
                _sentence(frame, field.name, wrong, f"{_first(values, wrong)} {words}")
            )
            _empty(frame, wrong, field.name)
    return sentences


def _gust_under_wind(frame: pd.DataFrame) -> list[str]:
    """Lift gusts that lie a little under the mean wind; empty those that lie far under it."""
    wind, gust = frame["wind_10m_ms"].to_numpy(), frame["gust_10m_ms"].to_numpy()
    wrong: Mask = wind - gust > GUST_SLACK_MS
    lifted = (gust < wind) & ~wrong
    frame["gust_10m_ms"] = np.where(lifted, wind, gust)
    if not wrong.any():
        return []
    problem = f"gust {_first(gust, wrong)} is far under the mean wind {_first(wind, wrong)}"
    sentence = _sentence(frame, "gust_10m_ms", wrong, problem)
    _empty(frame, wrong, "gust_10m_ms")
    return [sentence]


def _dew_point_contradicts(frame: pd.DataFrame) -> list[str]:
    """Empty temperature, humidity and dew point where the three do not fit together.

    Which of them is wrong cannot be told, so that none is used. In dry air half a percent of
    humidity is worth more than the slack; that much is allowed for.
    """
    air, rh, theirs = (frame[name].to_numpy() for name in _HUMIDITY)
    ours = dew_point_c(air, rh)
    rounding = np.fmax(
        dew_point_c(air, rh + RH_ROUNDING_PCT) - ours, ours - dew_point_c(air, rh - RH_ROUNDING_PCT)
    )
    wrong: Mask = np.abs(ours - theirs) > DEW_POINT_SLACK_K + rounding
    if not wrong.any():
        return []
    problem = (
        f"{_first(theirs, wrong)} does not fit {_first(air, wrong)} °C and "
        f"{_first(rh, wrong)} % (they give {_first(ours, wrong)})"
    )
    sentence = _sentence(frame, "dew_point_c", wrong, problem)
    _empty(frame, wrong, *_HUMIDITY)
    return [sentence]


def _empty(frame: pd.DataFrame, wrong: Mask, *names: str) -> None:
    """Set values to NaN and mark them."""
    for name in names:
        frame[name] = frame[name].mask(wrong)
        frame[f"suspect_{name}"] |= wrong


def _first(values: NDArray[np.float64], wrong: Mask) -> str:
    """Return the first of the wrong values as words."""
    return f"{values[wrong][0]:.4g}"


def _sentence(frame: pd.DataFrame, name: str, wrong: Mask, problem: str) -> str:
    """Return ``what, first time, problem, how many hours``."""
    hours = int(wrong.sum())
    count = "1 hour" if hours == 1 else f"the first of {hours} hours"
    plain = PLAIN_NAMES.get(name, name)
    return f"{plain} {frame.index[wrong][0]:%Y-%m-%d %H:%M} UTC: {problem} ({count})"

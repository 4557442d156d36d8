"""The chart of one job as shapes: the same values as the mail's picture, drawn by a phone.

Places are in a drawing 360 wide, about a phone's width, so that letters keep their size. A line has
a gap where a value is not known. What it shows is told in words by ``chart_twin``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from sprayadvisor.advice.brief import ChartData
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.render.chart_twin import SHOWN_MM
from sprayadvisor.render.strip import Bar, strip
from sprayadvisor.units import Display, c_to_f, wind_from_ms

WIDTH, HEIGHT = 360.0, 330.0
LEFT, RIGHT = 34.0, 352.0
TEMP_TOP, TEMP_LOW = 28.0, 160.0
WIND_TOP, WIND_LOW = 186.0, 260.0
WORK_TOP, WORK_LOW = 276.0, 300.0
_LEAST_WIND_MS, _LEAST_SPAN_K, _LEAST_RAIN_MM = 3.0, 6.0, 2.0
_TICKS = 4


@dataclass(frozen=True, slots=True)
class Line:
    """One curve: its path, and where its name stands."""

    path: str
    name: str
    look: str
    name_x: float
    name_y: float


@dataclass(frozen=True, slots=True)
class Tick:
    """One value of a scale."""

    y: float
    label: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """Everything a template needs to draw a chart.

    Attributes:
        hours: places and names of the hours.
        fits: stretches of starts that fit.
        lines: the curves.
        temps: scale of the temperatures.
        winds: scale of the wind.
        rain: bars, with their heights as ``width`` and ``x`` along the day.
        stages: the work.
        temp_unit: of the upper scale.
        wind_unit: of the lower one.
        most_rain: of the bars, with its unit; empty where none falls.
    """

    hours: tuple[tuple[float, str], ...]
    fits: tuple[Bar, ...]
    lines: tuple[Line, ...]
    temps: tuple[Tick, ...]
    winds: tuple[Tick, ...]
    rain: tuple[tuple[float, float, float], ...]
    stages: tuple[Bar, ...]
    temp_unit: str
    wind_unit: str
    most_rain: str


def drawing(chart: ChartData, display: Display) -> Drawing:
    """Return a job's chart as shapes."""
    day = strip(chart)
    xs = [_x(day.x(at)) for at in chart.times]
    to_temp = c_to_f if display.temperature == "f" else float
    panel, dew = (_shown(v, to_temp) for v in (chart.panel_temp_c, chart.dew_point_c))
    wind = _shown(chart.wind_ms, lambda v: wind_from_ms(v, display.wind))
    low, high = _span([panel, dew])
    windiest = wind_from_ms(_LEAST_WIND_MS, display.wind)
    top = max(windiest, float(np.nanmax(wind, initial=0.0))) * 1.25
    temp_y = _scale(low, high, TEMP_LOW, TEMP_TOP)
    wind_y = _scale(0.0, top, WIND_LOW, WIND_TOP)
    return Drawing(
        hours=tuple((_x(x), hour) for x, hour in day.ticks),
        fits=_bars(day.windows),
        lines=(
            _line(xs, panel, temp_y, "panel", "panel-line", above=True),
            _line(xs, dew, temp_y, "dew point", "dew-line", above=False),
            _line(xs, wind, wind_y, "wind at the gun", "wind-line", above=True),
        ),
        temps=_ticks(low, high, temp_y),
        winds=_ticks(0.0, top, wind_y),
        rain=_rain(xs, chart.rain_mm),
        stages=_bars(day.stages),
        temp_unit=f"°{display.temperature.upper()}",
        wind_unit=display.speed(0.0).split()[1],
        most_rain=_most_rain(chart.rain_mm),
    )


def _x(along: float) -> float:
    """Return a place of the strip as one of the drawing."""
    return round(LEFT + (RIGHT - LEFT) * along / 1000.0, 1)


def _bars(bars: Sequence[Bar]) -> tuple[Bar, ...]:
    scale = (RIGHT - LEFT) / 1000.0
    return tuple(Bar(_x(b.x), round(b.width * scale, 1), b.look, b.name) for b in bars)


def _shown(values: Floats, convert: Callable[[float], float]) -> Floats:
    return np.array([convert(float(value)) for value in values])


def _span(curves: Sequence[Floats]) -> tuple[float, float]:
    """Return the whole degrees between which the curves lie, at least some apart."""
    known = np.concatenate(curves)
    known = known[np.isfinite(known)]
    if not known.size:
        return 0.0, _LEAST_SPAN_K
    low, high = float(np.floor(known.min())), float(np.ceil(known.max()))
    return low - 2.0, max(high + 3.0, low - 2.0 + _LEAST_SPAN_K)


def _scale(low: float, high: float, at_low: float, at_high: float) -> Callable[[float], float]:
    def place(value: float) -> float:
        return round(at_low + (at_high - at_low) * (value - low) / (high - low), 1)

    return place


def _ticks(low: float, high: float, place: Callable[[float], float]) -> tuple[Tick, ...]:
    """Return a handful of round values of a scale."""
    step = next(s for s in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if (high - low) / s <= _TICKS + 1)
    values = np.arange(np.ceil(low / step) * step, high + step / 100, step)
    return tuple(Tick(place(float(value)), f"{value + 0.0:.0f}") for value in values)


def _line(
    xs: Sequence[float],
    values: Floats,
    place: Callable[[float], float],
    name: str,
    look: str,
    *,
    above: bool,
) -> Line:
    path, gap = [], True
    for x, value in zip(xs, values, strict=True):
        if np.isfinite(value):
            path.append(f"{'M' if gap else 'L'}{x:g} {place(float(value)):g}")
        gap = not np.isfinite(value)
    if not path:
        return Line("", "", look, LEFT, place(0.0))
    at = int(np.nanargmax(values) if above else np.nanargmin(values))
    name_x = min(max(xs[at], LEFT + 50), RIGHT - 60)
    name_y = place(float(values[at])) + (-7.0 if above else 17.0)
    return Line(" ".join(path), name, look, round(name_x, 1), round(name_y, 1))


def _rain(xs: Sequence[float], rain_mm: Floats) -> tuple[tuple[float, float, float], ...]:
    """Return left end, top and height of a bar for each quarter hour with rain."""
    known = np.nan_to_num(rain_mm)
    most = max(_LEAST_RAIN_MM, float(known.max(initial=0.0)))
    found = []
    for x, mm in zip(xs, known, strict=True):
        if mm >= SHOWN_MM:
            height = round((WIND_LOW - WIND_TOP) * 0.7 * float(mm) / most, 1)
            found.append((x, round(WIND_LOW - height, 1), height))
    return tuple(found)


def _most_rain(rain_mm: Floats) -> str:
    most = float(np.nan_to_num(rain_mm).max(initial=0.0))
    return f"rain up to {most:.1f} mm/h" if most >= SHOWN_MM else ""

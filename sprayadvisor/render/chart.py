"""The chart of one job as a picture: panel and dew point, wind and rain, stages and windows.

Lines differ by style and carry their names, so that it reads in grey; everything on it is also told
in words by ``chart_twin``.
"""

from __future__ import annotations

import io
import os
import tempfile
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from sprayadvisor.advice.brief import ChartData
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.units import Display, c_to_f, wind_from_ms

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_SIZE_IN = (5.68, 3.9)
_DPI = 150
_INK = "#16191d"
_STAGE_SHADES = {"coat": "#16191d", "lamp": "#8a4b00", "flash": "#9aa3ad", "cool": "#c4cad1"}


def chart_png(chart: ChartData, display: Display) -> bytes:
    """Return the chart as a PNG; the same bytes for the same chart."""
    _let_matplotlib_cache()
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    # Never pyplot: it keeps every figure and is not safe in threads.
    figure = Figure(figsize=_SIZE_IN, dpi=_DPI, facecolor="white", layout="constrained")
    FigureCanvasAgg(figure)
    temperature, wind, stages = figure.subplots(
        3, 1, sharex=True, gridspec_kw={"height_ratios": [5, 3, 1.4]}
    )
    hours = np.array([_hour(at, chart) for at in chart.times])
    _temperatures(temperature, chart, hours, display)
    _wind_and_rain(wind, chart, hours, display)
    _stages(stages, chart)
    _frame(stages, hours)
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", metadata={"Software": None})
    return buffer.getvalue()


def _let_matplotlib_cache() -> None:
    """Give the library a folder of its own where the home folder cannot be written to."""
    if "MPLCONFIGDIR" not in os.environ and not os.access(Path.home(), os.W_OK):
        os.environ["MPLCONFIGDIR"] = tempfile.mkdtemp(prefix="sprayadvisor-")


def _hour(at: datetime, chart: ChartData) -> float:
    """Return a time as hours since local midnight of the chart's day."""
    zone = ZoneInfo(chart.zone)
    midnight = chart.times[0].astimezone(zone).replace(hour=0, minute=0)
    return (at - midnight).total_seconds() / 3600


def _temperatures(axes: Axes, chart: ChartData, hours: Floats, display: Display) -> None:
    convert = c_to_f if display.temperature == "f" else float
    panel = np.array([convert(float(v)) for v in chart.panel_temp_c])
    dew = np.array([convert(float(v)) for v in chart.dew_point_c])
    for window in chart.windows:
        axes.axvspan(
            _hour(window.first, chart),
            _hour(window.latest, chart) + 0.25,
            color="#dfe4ea",
            zorder=0,
        )
    axes.plot(hours, panel, color=_INK, linewidth=2.2)
    axes.plot(hours, dew, color=_INK, linewidth=1.6, linestyle="--")
    axes.fill_between(hours, panel, dew, where=panel < dew, color="#6b6f75", hatch="//", alpha=0.6)
    _label(axes, hours, panel, "panel", above=True)
    _label(axes, hours, dew, "dew point", above=False)
    axes.set_ylabel(f"°{display.temperature.upper()}")
    axes.margins(y=0.18)
    if chart.windows:
        axes.set_title("grey: starts that fit", fontsize=9, loc="right", color="#4a525b")


def _wind_and_rain(axes: Axes, chart: ChartData, hours: Floats, display: Display) -> None:
    wind = np.array([wind_from_ms(float(v), display.wind) for v in chart.wind_ms])
    axes.plot(hours, wind, color=_INK, linewidth=1.6, linestyle="-.")
    _label(axes, hours, wind, "wind at the gun", above=True)
    axes.set_ylabel(display.speed(0.0).split()[1])
    axes.set_ylim(0, max(4.0, float(np.nanmax(wind, initial=0.0)) * 1.35))
    rain = np.nan_to_num(chart.rain_mm)
    if (rain > 0).any():
        wet = axes.twinx()
        wet.bar(hours + 0.125, rain, width=0.25, color="#6b6f75", hatch="xx", alpha=0.7)
        wet.set_ylim(0, max(1.0, float(rain.max()) * 2))
        wet.set_ylabel("rain mm", fontsize=9)
        wet.tick_params(labelsize=9)


def _stages(axes: Axes, chart: ChartData) -> None:
    for bar in chart.stages:
        begin, end = _hour(bar.begin, chart), _hour(bar.end, chart)
        shade = _STAGE_SHADES.get(bar.kind, "#e6e9ed")
        axes.broken_barh(
            [(begin, end - begin)],
            (0, 1),
            facecolor=shade,
            edgecolor="white",
            linewidth=0.4,
            hatch="..." if bar.kind == "lamp" else None,
        )
    axes.set_yticks([])
    axes.set_ylim(0, 1)
    axes.set_ylabel("work", fontsize=9)
    axes.set_xlabel("black: coat, dots: lamp, grey: flash and cooling, pale: hand work", fontsize=8)


def _frame(axes: Axes, hours: Floats) -> None:
    first, last = int(np.ceil(hours[0])), int(np.floor(hours[-1]))
    axes.set_xlim(hours[0], hours[-1] + 0.25)
    ticks = list(range(first, last + 1, 2))
    axes.set_xticks(ticks, [f"{tick % 24:02d}" for tick in ticks])
    for each in axes.figure.axes:
        each.tick_params(labelsize=10)
        each.grid(axis="x", color="#d5d9de", linewidth=0.6)
        each.set_axisbelow(True)


def _label(axes: Axes, hours: Floats, values: Floats, name: str, *, above: bool) -> None:
    """Write a curve's name beside it, where it is highest or lowest."""
    if not np.isfinite(values).any():
        return
    at = int(np.nanargmax(values) if above else np.nanargmin(values))
    at = min(max(at, len(hours) // 8), len(hours) - len(hours) // 6)
    if np.isfinite(values[at]):
        axes.annotate(
            name,
            (hours[at], values[at]),
            xytext=(0, 4 if above else -12),
            textcoords="offset points",
            fontsize=10,
            ha="center",
            color=_INK,
        )

"""The chart of one job as a picture: panel and dew point, wind and rain, stages and windows.

Lines differ by style and carry their names, so that it reads in grey; everything on it is also told
in words by ``chart_twin``. Letters are large: a phone shows the picture at less than half its size.
"""

from __future__ import annotations

import io
import os
import tempfile
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np

from sprayadvisor.advice.brief import ChartData
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.render.chart_twin import SHOWN_MM
from sprayadvisor.units import Display, c_to_f, wind_from_ms

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE_IN = (7.2, 5.2)
_DPI = 125
_INK, _GRID, _FITS = "#16191d", "#d5d9de", "#d3dae2"
_LETTERS = 14


class _Look(NamedTuple):
    """How stages of one sort are drawn, and what they are called."""

    name: str
    shade: str
    hatch: str


_WET = _Look("wet paint", "#16191d", "")
_LAMP = _Look("lamp", "#ffffff", "////")
_OTHER = _Look("other work", "#b4bcc5", "")
_LOOKS = {"coat": _WET, "flash": _WET, "lamp": _LAMP, "warm": _LAMP}


def chart_png(chart: ChartData, display: Display) -> bytes:
    """Return the chart as a PNG of 900 by 650; the same bytes for the same chart."""
    _let_matplotlib_cache()
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    # Never pyplot: it keeps every figure and is not safe in threads.
    figure = Figure(figsize=_SIZE_IN, dpi=_DPI, facecolor="white", layout="constrained")
    FigureCanvasAgg(figure)
    temperature, wind, stages = figure.subplots(
        3, 1, sharex=True, gridspec_kw={"height_ratios": [5, 3, 1]}
    )
    hours = np.array([_hour(at, chart) for at in chart.times])
    _temperatures(temperature, chart, hours, display)
    _wind_and_rain(wind, chart, hours, display)
    _stages(stages, chart)
    _frame(stages, hours)
    return _in_grey(figure)


def _in_grey(figure: Figure) -> bytes:
    """Return a figure as a grey PNG, which has half the size and no transparency."""
    from PIL import Image  # matplotlib brings it along and writes its own pictures with it

    drawn, kept = io.BytesIO(), io.BytesIO()
    figure.savefig(drawn, format="png", metadata={"Software": None})
    with Image.open(drawn) as picture:
        picture.convert("L").save(kept, format="png", optimize=True)
    return kept.getvalue()


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
        begin, end = _hour(window.first, chart), _hour(window.latest, chart) + 0.25
        axes.axvspan(begin, end, color=_FITS, zorder=0)
    axes.plot(hours, panel, color=_INK, linewidth=3)
    axes.plot(hours, dew, color=_INK, linewidth=2, linestyle="--")
    axes.fill_between(hours, panel, dew, where=panel < dew, color="#6b6f75", hatch="//", alpha=0.6)
    _label(axes, hours, panel, "panel", above=True)
    _label(axes, hours, dew, "dew point", above=False)
    axes.set_ylabel(f"°{display.temperature.upper()}", fontsize=_LETTERS)
    axes.margins(y=0.25)
    fits = "grey: starts that fit" if chart.windows else "no start fits"
    axes.set_title(fits, fontsize=_LETTERS, loc="right", color=_INK)


def _wind_and_rain(axes: Axes, chart: ChartData, hours: Floats, display: Display) -> None:
    wind = np.array([wind_from_ms(float(v), display.wind) for v in chart.wind_ms])
    axes.plot(hours, wind, color=_INK, linewidth=2, linestyle="-.")
    _label(axes, hours, wind, "wind at the gun", above=True)
    axes.set_ylabel(display.speed(0.0).split()[1], fontsize=_LETTERS)
    least = wind_from_ms(3.0, display.wind)
    axes.set_ylim(0, max(least, float(np.nanmax(wind, initial=0.0))) * 1.5)
    axes.locator_params(axis="y", nbins=4)
    rain = np.nan_to_num(chart.rain_mm)
    if (rain >= SHOWN_MM).any():
        wet = axes.twinx()
        wet.bar(hours + 0.125, rain, width=0.25, color="#9aa3ad", hatch="xx", edgecolor=_INK)
        wet.set_ylim(0, max(1.0, float(rain.max()) * 2))
        wet.set_ylabel("rain mm/h", fontsize=_LETTERS)


def _stages(axes: Axes, chart: ChartData) -> None:
    from matplotlib.patches import Patch

    for bar in chart.stages:
        begin, end = _hour(bar.begin, chart), _hour(bar.end, chart)
        look = _LOOKS.get(bar.kind, _OTHER)
        axes.broken_barh(
            [(begin, end - begin)],
            (0, 1),
            facecolor=look.shade,
            edgecolor=_INK,
            hatch=look.hatch,
            linewidth=0,
            zorder=2 if look is _OTHER else 3,  # hand work alongside a lamp stands behind it
        )
    axes.set_yticks([])
    axes.set_ylim(0, 1)
    key = [
        Patch(facecolor=look.shade, edgecolor=_INK, hatch=look.hatch, label=look.name)
        for look in (_WET, _LAMP, _OTHER)
    ]
    # Below the hours, where nothing is drawn.
    axes.figure.legend(
        handles=key, loc="outside lower center", ncols=3, fontsize=_LETTERS, frameon=False
    )


def _frame(axes: Axes, hours: Floats) -> None:
    first, last = int(np.ceil(hours[0])), int(np.floor(hours[-1]))
    axes.set_xlim(hours[0], hours[-1] + 0.25)
    ticks = list(range(first, last + 1, 2))
    axes.set_xticks(ticks, [f"{tick % 24:02d}" for tick in ticks])
    for each in axes.figure.axes:
        each.tick_params(labelsize=_LETTERS)
        each.grid(axis="x", color=_GRID, linewidth=0.8)
        each.set_axisbelow(True)


def _label(axes: Axes, hours: Floats, values: Floats, name: str, *, above: bool) -> None:
    """Write a curve's name beside it, where it is highest or lowest."""
    if not np.isfinite(values).any():
        return
    at = int(np.nanargmax(values) if above else np.nanargmin(values))
    at = min(max(at, len(hours) // 6), len(hours) - len(hours) // 5)
    if np.isfinite(values[at]):
        axes.annotate(
            name,
            (hours[at], values[at]),
            xytext=(0, 5 if above else -17),
            textcoords="offset points",
            fontsize=_LETTERS,
            ha="center",
            color=_INK,
        )

"""Every fact of a job's chart as text, for those who cannot see it or whose mail hides pictures."""

from __future__ import annotations

from datetime import timedelta
from typing import NamedTuple

import numpy as np

from sprayadvisor.advice.brief import ChartData
from sprayadvisor.render.words import clock, from_to
from sprayadvisor.units import Display

SHOWN_MM = 0.05  # less than this would be told as 0.0 mm
_EVERY = 8  # two hours of quarter hours
_STEP = timedelta(minutes=15)  # of the grid that a chart is drawn on


class HourRow(NamedTuple):
    """The curves at one time, each value with its unit; rain is empty where none falls."""

    at: str
    panel: str
    dew_point: str
    wind: str
    rain: str

    @property
    def sentence(self) -> str:
        """The row as it is read aloud."""
        rain = f", rain {self.rain}" if self.rain else ""
        return f"{self.at} panel {self.panel}, dew point {self.dew_point}, wind {self.wind}{rain}"


def chart_words(chart: ChartData, display: Display) -> tuple[str, ...]:
    """Return the chart in lines: what stands out, the curves every two hours, the stages."""
    rows = (row.sentence for row in hour_rows(chart, display))
    return (*outline(chart, display), *rows, *stage_lines(chart))


def outline(chart: ChartData, display: Display) -> tuple[str, ...]:
    """Return what stands out in the chart, in sentences."""
    return (_extremes(chart, display), _strongest_wind(chart, display), _rain(chart), _fits(chart))


def hour_rows(chart: ChartData, display: Display) -> tuple[HourRow, ...]:
    """Return panel, dew point, wind at the gun and rain every two hours."""
    return tuple(
        HourRow(
            clock(chart.times[i], chart.zone),
            display.temp(float(chart.panel_temp_c[i])),
            display.temp(float(chart.dew_point_c[i])),
            display.speed(float(chart.wind_ms[i])),
            _mm(float(chart.rain_mm[i])),
        )
        for i in range(0, len(chart.times), _EVERY)
    )


def stage_lines(chart: ChartData) -> tuple[str, ...]:
    """Return when each stage begins, and when the last one ends or the play breaks off."""
    if not chart.stages:
        return ("No stage can be played.",)
    lines = [f"{clock(bar.begin, chart.zone)} {bar.name}" for bar in chart.stages]
    ends = clock(max(bar.end for bar in chart.stages), chart.zone)
    return (*lines, f"{ends} {'done' if chart.whole else 'here it breaks off'}")


def _mm(rain_mm: float) -> str:
    """Return rain with its unit; empty where none falls."""
    if np.isnan(rain_mm):
        return "unknown"
    return f"{rain_mm:.1f} mm an hour" if rain_mm >= SHOWN_MM else ""


def _extremes(chart: ChartData, display: Display) -> str:
    """Return where the panel is coldest and warmest, and when it lies below the dew point."""
    values = chart.panel_temp_c
    if not np.isfinite(values).any():
        return "Panel: not known."
    low, high = int(np.nanargmin(values)), int(np.nanargmax(values))
    told = [
        f"{word} {display.temp(float(values[at]))} at {clock(chart.times[at], chart.zone)}"
        for word, at in (("coldest", low), ("warmest", high))
    ]
    below = [at for at, under in zip(chart.times, values < chart.dew_point_c, strict=True) if under]
    dew = f", below the dew point {from_to(below, _STEP, chart.zone)}" if below else ""
    return f"Panel {', '.join(told)}{dew}."


def _strongest_wind(chart: ChartData, display: Display) -> str:
    """Return where the wind at the gun is strongest."""
    if not np.isfinite(chart.wind_ms).any():
        return "Wind at the gun: not known."
    at = int(np.nanargmax(chart.wind_ms))
    speed = display.speed(float(chart.wind_ms[at]))
    return f"Wind at the gun at most {speed}, at {clock(chart.times[at], chart.zone)}."


def _rain(chart: ChartData) -> str:
    """Return when it rains and how much, and whether that is known throughout."""
    if np.isnan(chart.rain_mm).all():
        return "Rain: not known."
    unknown = [at for at, mm in zip(chart.times, chart.rain_mm, strict=True) if np.isnan(mm)]
    open_ = f" Rain not known {from_to(unknown, _STEP, chart.zone)}." if unknown else ""
    wet = [at for at, mm in zip(chart.times, chart.rain_mm, strict=True) if mm >= SHOWN_MM]
    if not wet:
        return f"No rain{' in what is known' if unknown else ''}.{open_}"
    most = _mm(float(np.nanmax(chart.rain_mm)))
    return f"Rain {from_to(wet, _STEP, chart.zone)}, up to {most}.{open_}"


def _fits(chart: ChartData) -> str:
    """Return the windows of the day."""
    if not chart.windows:
        return "No start fits that day."
    told = [
        f"{clock(w.first, chart.zone)} to {clock(w.latest, chart.zone)} ({w.word.value})"
        for w in chart.windows
    ]
    return f"Starts that fit: {'; '.join(told)}."

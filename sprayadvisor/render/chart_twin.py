"""Every fact of a job's chart as text, for those who cannot see it or whose mail hides pictures."""

from __future__ import annotations

import numpy as np

from sprayadvisor.advice.brief import ChartData
from sprayadvisor.advice.outlook import Floats
from sprayadvisor.render.words import clock
from sprayadvisor.units import Display

_EVERY = 8  # two hours of quarter hours


def chart_words(chart: ChartData, display: Display) -> tuple[str, ...]:
    """Return the chart in sentences: curves every two hours, stages, windows."""
    return (
        _every_two_hours(chart, display),
        _extremes("Panel", chart, chart.panel_temp_c, display),
        _rain(chart),
        _stages(chart),
        _windows(chart),
    )


def _every_two_hours(chart: ChartData, display: Display) -> str:
    """Return panel, dew point and wind every two hours."""
    told = [
        f"{clock(chart.times[i], chart.zone)} {display.temp(float(chart.panel_temp_c[i]))}, "
        f"{display.temp(float(chart.dew_point_c[i]))}, {display.speed(float(chart.wind_ms[i]))}"
        for i in range(0, len(chart.times), _EVERY)
    ]
    return f"Panel, dew point, wind at the gun: {'; '.join(told)}."


def _extremes(name: str, chart: ChartData, values: Floats, display: Display) -> str:
    """Return where a curve is lowest and highest."""
    if not np.isfinite(values).any():
        return f"{name}: not known."
    low, high = int(np.nanargmin(values)), int(np.nanargmax(values))
    told = [
        f"{word} {display.temp(float(values[at]))} at {clock(chart.times[at], chart.zone)}"
        for word, at in (("coldest", low), ("warmest", high))
    ]
    return f"{name} {', '.join(told)}."


def _rain(chart: ChartData) -> str:
    """Return when it rains."""
    if np.isnan(chart.rain_mm).all():
        return "Rain: not known."
    wet = np.flatnonzero(np.nan_to_num(chart.rain_mm) > 0)
    hours = list(dict.fromkeys(clock(chart.times[i].replace(minute=0), chart.zone) for i in wet))
    return f"Rain in the hour from {', '.join(hours)}." if hours else "No rain."


def _stages(chart: ChartData) -> str:
    """Return the stages with their times."""
    if not chart.stages:
        return "No stage can be played."
    told = "; ".join(f"{clock(bar.begin, chart.zone)} {bar.name}" for bar in chart.stages)
    if not chart.whole:
        return f"Stages: {told}; there it breaks off."
    return f"Stages: {told}; done {clock(max(bar.end for bar in chart.stages), chart.zone)}."


def _windows(chart: ChartData) -> str:
    """Return the windows of the day."""
    if not chart.windows:
        return "No start fits that day."
    told = [
        f"{clock(w.first, chart.zone)} to {clock(w.latest, chart.zone)} {w.word.value}"
        for w in chart.windows
    ]
    return f"Starts that fit: {'; '.join(told)}."

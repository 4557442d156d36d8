"""The day of one job as a strip: starts that fit above, the work of the best start below.

All of it is places on a line from 0 to 1000, so that a template can draw it without reckoning. The
same facts in words are in ``chart_twin``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import ChartData
from sprayadvisor.render.words import clock

WIDTH = 1000.0
_STEP = timedelta(minutes=15)
_TICK_H = 2
# How stages of one sort are drawn, as in the mail's chart.
LOOKS = {"coat": "wet", "flash": "wet", "lamp": "lamp", "warm": "lamp"}


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of the strip: where it begins, how wide it is, how it looks, what it is."""

    x: float
    width: float
    look: str
    name: str


@dataclass(frozen=True, slots=True)
class Strip:
    """A day from ``begins`` to ``ends``, UTC.

    Attributes:
        begins: left end.
        ends: right end.
        zone: of the site.
        ticks: hours with their places.
        windows: starts that fit; their look is the word.
        stages: the work; its look is ``wet``, ``lamp`` or ``other``.
        label: what it shows, in one sentence.
    """

    begins: datetime
    ends: datetime
    zone: str
    ticks: tuple[tuple[float, str], ...]
    windows: tuple[Bar, ...]
    stages: tuple[Bar, ...]
    label: str

    def place(self, at: datetime) -> float | None:
        """Return where a time lies; None outside the strip."""
        x = self.x(at)
        return x if 0.0 <= x <= WIDTH else None

    def x(self, at: datetime) -> float:
        """Return where a time would lie if the strip went on to both sides."""
        return WIDTH * ((at - self.begins) / (self.ends - self.begins))


def strip(chart: ChartData) -> Strip:
    """Return the strip of a job's day, from the same values as its chart."""
    begins, ends = chart.times[0], chart.times[-1] + _STEP
    base = Strip(begins, ends, chart.zone, (), (), (), "")

    def bar(begin: datetime, end: datetime, look: str, name: str) -> Bar:
        left, right = (min(max(base.x(at), 0.0), WIDTH) for at in (begin, end))
        return Bar(round(left, 1), round(right - left, 1), look, name)

    windows = tuple(
        bar(
            w.first,
            w.latest + _STEP,
            w.word.value,
            f"starts fit {clock(w.first, chart.zone)} to {clock(w.latest, chart.zone)}",
        )
        for w in chart.windows
    )
    stages = tuple(
        bar(s.begin, s.end, LOOKS.get(s.kind, "other"), f"{clock(s.begin, chart.zone)} {s.name}")
        for s in chart.stages
    )
    return Strip(
        begins,
        ends,
        chart.zone,
        _ticks(base),
        tuple(b for b in windows if b.width),
        tuple(b for b in stages if b.width),
        _label(chart),
    )


def _ticks(base: Strip) -> tuple[tuple[float, str], ...]:
    """Return every second full hour of the site's clock."""
    zone = ZoneInfo(base.zone)
    found = []
    at = base.begins
    while at <= base.ends:
        local = at.astimezone(zone)
        if local.minute == 0 and local.hour % _TICK_H == 0:
            found.append((round(base.x(at), 1), f"{local:%H}"))
        at += _STEP
    return tuple(found)


def _label(chart: ChartData) -> str:
    told = [
        f"{clock(w.first, chart.zone)} to {clock(w.latest, chart.zone)} ({w.word.value})"
        for w in chart.windows
    ]
    fits = f"Starts that fit: {'; '.join(told)}." if told else "No start fits that day."
    if not chart.stages:
        return fits
    begin, end = min(s.begin for s in chart.stages), max(s.end for s in chart.stages)
    work = f"Work from {clock(begin, chart.zone)} to {clock(end, chart.zone)}"
    return f"{fits} {work}{'.' if chart.whole else ', where it breaks off.'}"

"""When one job can begin, when each product goes on, and how long it must be left alone."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Entry, WindowBar
from sprayadvisor.advice.coat_line import CoatLine
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.sheet_mixing import Choice
from sprayadvisor.render.words import (
    clock,
    counted,
    either,
    listed,
    panel_words,
    sentence,
    short_day,
)
from sprayadvisor.units import Display

WINDOWS_SHOWN = 4
# Beyond two days no forecast knows the hour.
IN_HOURS = timedelta(hours=48)
_NOON = 12


def start(entry: Entry) -> str:
    """Return which starts fit: of the agreed arrival first, then of the whole day.

    Empty where nothing was played, or the job was begun.
    """
    judgement = entry.judgement
    job, zone = judgement.job, judgement.job.site.zone
    best = judgement.best_start
    if best is None or entry.under_way is not None:
        return ""
    today = [window for window in entry.windows if _same_day(window, entry)]
    if not today:
        return "No start fits on the agreed day."
    begin, end = (local_time(job.day, at, zone) for at in (job.arrive_from, job.arrive_to))
    day = f"Starts fit that day {'; '.join(window_words(window, zone) for window in today)}."
    inside = [w for w in today if w.first <= end and w.latest >= begin]
    between = f"etween {clock(begin, zone)} and {clock(end, zone)}"
    if not inside:
        return f"None b{between}. {day}"
    last = min(max(w.latest for w in inside), end)
    latest = f", at the latest {clock(last, zone)}" if last > best else " and no later"
    after = _there_from(entry, end)
    return f"B{between} best at {clock(best, zone)}{latest}.{after} {day}"


def _there_from(entry: Entry, agreed: datetime) -> str:
    """Return from when the painter can be there after the job before, where that binds him."""
    at = entry.there_from
    if at is None:
        return ""
    late = "" if at <= agreed else ", too late for what was agreed: ring"
    return f" You can be there from {clock(at, entry.judgement.job.site.zone)}{late}."


def _same_day(window: WindowBar, entry: Entry) -> bool:
    zone = ZoneInfo(entry.judgement.job.site.zone)
    return window.first.astimezone(zone).date() == entry.judgement.job.day


def window_words(window: WindowBar, zone: str) -> str:
    """Return a window by the clock: from when to when, and its best start."""
    word = window.word.value
    if window.first == window.latest:
        return f"at {clock(window.first, zone)} only ({word})"
    first, best, last = (clock(at, zone) for at in (window.first, window.best, window.latest))
    return f"from {first} to {last}, best {best} ({word})"


def part_of_day(window: WindowBar, zone: str) -> str:
    """Return ``morning``, ``afternoon`` or both, for what lies too far ahead for hours."""
    first, last = (at.astimezone(ZoneInfo(zone)) for at in (window.first, window.latest))
    parts = ["morning"] if first.hour < _NOON else []
    return " or ".join([*parts, *(["afternoon"] if last.hour >= _NOON else [])])


def other_days(entry: Entry, made_at: datetime) -> str:
    """Return the next windows on other days: by the clock for two days, then by parts of days."""
    zone = entry.judgement.job.site.zone
    later = [w for w in entry.windows if not _same_day(w, entry)]
    told = dict.fromkeys(_on_day(window, zone, made_at) for window in later)
    return sentence("; ".join(list(told)[:WINDOWS_SHOWN]))


def _on_day(window: WindowBar, zone: str, made_at: datetime) -> str:
    day = short_day(window.first.astimezone(ZoneInfo(zone)).date())
    if window.first - made_at < IN_HOURS:
        return f"{day} {window_words(window, zone)}"
    return f"{day}, {part_of_day(window, zone)} ({window.word.value})"


def commitment(entry: Entry) -> str:
    """Return how long nothing may go wrong, in clean minutes and minutes under the lamp."""
    if entry.commitment is None:
        return ""
    begin, end = entry.commitment
    zone = entry.judgement.job.site.zone
    under = _under_lamp_min(entry)
    clean = (end - begin).total_seconds() / 60 - under
    need = (
        counted(clean, "clean minute", "clean minutes") if clean else "",
        f"{counted(under, 'minute', 'minutes')} under the lamp" if under else "",
    )
    return (
        f"From {clock(begin, zone)} to {clock(end, zone)}: you need "
        f"{', then '.join(filter(None, need))}.{_at_the_latest(entry, zone)}"
    )


def _at_the_latest(entry: Entry, zone: str) -> str:
    """Return until when that may begin, started as late as the window allows."""
    latest = entry.latest_opening
    if latest is None or entry.commitment is None or latest <= entry.commitment[0]:
        return ""
    return f" Best begun then, at the latest at {clock(latest, zone)}."


def _under_lamp_min(entry: Entry) -> float:
    """Return the minutes of the commitment that are under the lamp."""
    if entry.commitment is None or entry.chart is None:
        return 0.0
    begin, end = entry.commitment
    lamp = [b for b in entry.chart.stages if b.kind == "lamp" and begin <= b.begin and b.end <= end]
    return sum((bar.end - bar.begin).total_seconds() for bar in lamp) / 60


def coat(line: CoatLine, zone: str, display: Display) -> str:
    """Return what the first coat of a product meets, and what to mix for it."""
    told = (
        f"At {clock(line.at, zone)} panel {display.temp(line.panel_temp_c)}, dew point "
        f"{display.temp(line.dew_point_c)}, {_margin(line, display)}"
    )
    if line.warmed_to_c is not None:
        told += f"; right before it the lamp warms the panel to {display.temp(line.warmed_to_c)}"
        if line.met_temp_c is not None and line.warmed_to_c - line.met_temp_c > 1.0:
            told += f", {display.temp(line.met_temp_c)} of it are left"
    told += "."
    if line.flash_expected_min is not None:
        told += (
            f" About {line.flash_expected_min:.0f} min "
            f"{'before what comes next' if line.single else 'between coats'}, "
            f"printed {line.flash_printed_min:.0f}."
        )
    if line.edge_min is not None:
        told += f" Begin within {line.edge_min:.0f} min of the coat below."
    pot = f"pot life about {line.pot_life_min:.0f} min" if line.pot_life_min else ""
    parts = (_choices(line.choices), _cups(line), pot)
    mix = sentence("; ".join(part for part in parts if part))
    return f"{told} {mix} {_too_slow(line)}".replace("  ", " ").rstrip()


def _cups(line: CoatLine) -> str:
    """Return how much is mixed, each cup on its own where a bake lies between."""
    amounts = [f"{mix.ml:.0f}" for mix in line.mixes if mix.ml is not None]
    fresh = ", each fresh" if len(amounts) > 1 else ""
    takes = "mix" if line.choices or line.pot_life_min else "take"
    return f"{takes} {listed(amounts)} ml{fresh}" if amounts else ""


def _too_slow(line: CoatLine) -> str:
    """Return a warning where the paint gels before its coats are on."""
    late = [mix.minutes for mix in line.mixes if mix.outlasts(line.pot_life_min)]
    if not late:
        return ""
    longest = max(minutes or 0 for minutes in late)
    return f"Its coats take {longest} min, longer than it lasts: mix each coat fresh."


def _margin(line: CoatLine, display: Display) -> str:
    if line.dew_margin_k < 0:
        return f"{display.difference(-line.dew_margin_k)} below it: wet"
    return f"{display.difference(line.dew_margin_k)} in hand"


def _choices(choices: tuple[Choice, ...]) -> str:
    """Return what to mix in: of one kind either will do, of each kind one is needed."""
    kinds = dict.fromkeys(choice.what for choice in choices)
    return listed(
        [f"{either([c.name for c in choices if c.what == kind])} {kind}" for kind in kinds]
    )


def wet(entry: Entry) -> str:
    """Return until when panels are white and wet in the morning, and what wiping helps."""
    found = entry.wet
    if found is None:
        return ""
    job = entry.judgement.job
    zone = job.site.zone
    panel = panel_words(job.panel_of(found.panel))
    white = ""
    if found.white_until:
        white = f"is white until about {clock(found.white_until, zone)} and "
    until = f"until about {clock(found.until, zone)}" if found.until else "all morning"
    told = f"The {panel} {white}stays wet {until} unless wiped."
    if found.wiped_at:
        again = f"is wet again by {clock(found.again_at, zone)}" if found.again_at else "stays dry"
        told += f" Wiped at {clock(found.wiped_at, zone)} it {again}."
    return f"{told} Gaps longer: blow them out."

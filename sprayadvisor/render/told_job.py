"""One job of a brief told in words."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Brief, CoatLine, Entry, WindowBar
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.chart_twin import chart_words
from sprayadvisor.render.defects import defect
from sprayadvisor.render.limits import limiting_words
from sprayadvisor.render.told_around import downwind, in_the_air
from sprayadvisor.render.words import clock, counted, listed, odds, sentence, short_day
from sprayadvisor.units import Display

WINDOWS_SHOWN = 4


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing said of a job, under a short label."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class ToldJob:
    """One job in words.

    Attributes:
        ref: reference of the booking.
        word: the verdict.
        site: where.
        what: process and panels.
        arrival: the agreed window.
        short: the decision in one line.
        facts: what stands behind it, most important first.
        chart: the facts of the chart; empty without one.
    """

    ref: str
    word: Word
    site: str
    what: str
    arrival: str
    short: str
    facts: tuple[Fact, ...]
    chart: tuple[str, ...]


def tell_job(entry: Entry, brief: Brief, display: Display) -> ToldJob:
    """Return one job in words."""
    job = entry.judgement.job
    panels = listed([_panel(panel.colour, panel.part) for panel in job.panels])
    plan = entry.judgement.plan
    facts = [
        ("Why", _why(entry, display)),
        ("Goes wrong as", _defect(entry)),
        ("Start", _start(entry)),
        ("Downwind", downwind(entry)),
        ("No way back", _commitment(entry)),
        *((line.role.capitalize(), _coat(line, job.site.zone, display)) for line in entry.coats),
        ("In the air", in_the_air(entry)),
        ("Wet panel", _wet(entry)),
        ("Other days", _other_days(entry)),
        ("Day's weather", _day_weather(entry, display)),
        ("Note", " ".join(sentence(note) for note in plan.notes) if plan else ""),
    ]
    return ToldJob(
        ref=job.ref,
        word=entry.judgement.word,
        site=job.site.name,
        what=f"{plan.process if plan else job.process}; {panels}",
        arrival=f"arrive {job.arrive_from:%H:%M} to {job.arrive_to:%H:%M}",
        short=_short(entry, brief),
        facts=tuple(Fact(label, text) for label, text in facts if text),
        chart=chart_words(entry.chart, display) if entry.chart else (),
    )


def _panel(colour: str, part: str) -> str:
    return f"{colour} {part}".replace("_", " ")


def _short(entry: Entry, brief: Brief) -> str:
    """Return the decision in one line."""
    judgement, zone = entry.judgement, entry.judgement.job.site.zone
    tomorrow = brief.moment is Moment.EVENING
    if judgement.word is Word.NOT_JUDGED:
        return sentence(judgement.why)
    if judgement.word is Word.UNKNOWN:
        return "cannot be judged; do not take it for a go."
    best = judgement.best_start
    if judgement.word is Word.NO_GO or best is None:
        return "will not do at the agreed time." if tomorrow else "will not do today as agreed."
    start = clock(best, zone)
    colour = next((line.at for line in entry.coats if line.role == "base"), None)
    base = f", base at {clock(colour, zone)}" if colour else ""
    sure = _sure(entry)
    if judgement.word is Word.GO:
        return f"start {start}{base}; {sure}."
    return f"start {start}{base}; {sure}. {_care(entry)}"


def _care(entry: Entry) -> str:
    """Return what care means for this job."""
    limiting = entry.judgement.limiting
    if limiting is None or limiting.level is not Level.INSIDE:
        return "Too close to call go. Your call."
    if limiting.check.quantity == "downwind":
        return "Mind what stands downwind. Your call."
    if limiting.check.origin.kind == "sheet":
        return "Outside the sheet: the maker will not stand behind it. Your call."
    return f"Beyond {limiting.check.origin}. Your call."


def _sure(entry: Entry) -> str:
    """Return how sure it is; of a single forecast no odds can be given."""
    judgement = entry.judgement
    if judgement.climate is None or judgement.climate.n_members == 1:
        fits = judgement.word is Word.GO
        return "it fits on this forecast" if fits else "it can be done on this forecast"
    if judgement.word is Word.GO:
        return f"{odds(judgement.likelihood[Level.INSIDE])} that it fits"
    return f"{odds(judgement.likelihood[Level.STOP])} that it can be done"


def _why(entry: Entry, display: Display) -> str:
    """Return the limiting check, or the reason why nothing was played."""
    judgement = entry.judgement
    if judgement.limiting is None or judgement.plan is None:
        return sentence(judgement.why) if judgement.word is Word.UNKNOWN else ""
    limiting = judgement.limiting
    at = clock(judgement.at(limiting.minute), judgement.job.site.zone)
    which = ""
    if len(judgement.job.panels) > 1:
        panel = judgement.job.panels[limiting.panel]
        which = f" On the {_panel(panel.colour, panel.part)}."
    words = limiting_words(limiting, judgement.plan, at, display)
    lead = {Word.GO: "tightest: ", Word.CARE: "", Word.NO_GO: ""}.get(judgement.word, "")
    return sentence(lead + words) + which


def _defect(entry: Entry) -> str:
    """Return what goes wrong beyond the limit, and the one action against it."""
    judgement = entry.judgement
    if judgement.limiting is None or judgement.word not in (Word.CARE, Word.NO_GO):
        return ""
    found = defect(judgement.limiting)
    return f"{found.seen}. {found.action[0].upper()}{found.action[1:]}." if found else ""


def _start(entry: Entry) -> str:
    """Return which starts fit: of the agreed arrival first, then of the whole day."""
    judgement = entry.judgement
    job, zone = judgement.job, judgement.job.site.zone
    best = judgement.best_start
    if best is None:
        return ""
    begin, end = (local_time(job.day, at, zone) for at in (job.arrive_from, job.arrive_to))
    today = [window for window in entry.windows if _same_day(window, entry)]
    if not today:
        return "no start fits on the agreed day."
    day = "; ".join(_window(window, zone) for window in today)
    agreed = [w for w in today if w.first <= end and w.latest >= begin]
    if not agreed:
        return f"not between {clock(begin, zone)} and {clock(end, zone)}; that day {day}."
    last = clock(min(max(w.latest for w in agreed), end), zone)
    return f"best {clock(best, zone)}, last {last} of what is agreed; that day {day}."


def _same_day(window: WindowBar, entry: Entry) -> bool:
    zone = ZoneInfo(entry.judgement.job.site.zone)
    return window.first.astimezone(zone).date() == entry.judgement.job.day


def _window(window: WindowBar, zone: str) -> str:
    """Return a window: from when to when, and its best start."""
    if window.first == window.latest:
        return f"at {clock(window.first, zone)} only ({window.word.value})"
    return (
        f"from {clock(window.first, zone)}, best {clock(window.best, zone)}, "
        f"last {clock(window.latest, zone)} ({window.word.value})"
    )


def _other_days(entry: Entry) -> str:
    """Return the next windows on other days."""
    zone = entry.judgement.job.site.zone
    later = [w for w in entry.windows if not _same_day(w, entry)][:WINDOWS_SHOWN]
    return "; ".join(
        f"{short_day(w.first.astimezone(ZoneInfo(zone)).date())} {_window(w, zone)}" for w in later
    )


def _commitment(entry: Entry) -> str:
    """Return how long nothing may go wrong, in clean minutes and minutes under the lamp."""
    if entry.commitment is None or entry.chart is None:
        return ""
    begin, end = entry.commitment
    zone = entry.judgement.job.site.zone
    lamp = [b for b in entry.chart.stages if b.kind == "lamp" and begin <= b.begin and b.end <= end]
    under = sum((bar.end - bar.begin).total_seconds() for bar in lamp) / 60
    clean = (end - begin).total_seconds() / 60 - under
    after = f", then {counted(under, 'minute', 'minutes')} under the lamp" if under else ""
    return (
        f"from {clock(begin, zone)} to {clock(end, zone)}: you need "
        f"{counted(clean, 'clean minute', 'clean minutes')}{after}."
    )


def _coat(line: CoatLine, zone: str, display: Display) -> str:
    """Return what the first coat of a product meets."""
    told = (
        f"{clock(line.at, zone)}: panel {display.temp(line.panel_temp_c)}, dew point "
        f"{display.temp(line.dew_point_c)}, {display.difference(line.dew_margin_k)} in hand"
    )
    if line.dew_margin_k < 0:
        told = told.replace("in hand", "and wet")
    flash = ""
    if line.flash_expected_min is not None:
        flash = (
            f"; about {line.flash_expected_min:.0f} min between coats, "
            f"printed {line.flash_printed_min:.0f}"
        )
    choice = listed([f"{c.name} {c.what}" for c in line.choices])
    pot = f"; pot life about {line.pot_life_min:.0f} min" if line.pot_life_min else ""
    return f"{told}{flash}{f'; {choice}' if choice else ''}{pot}."


def _wet(entry: Entry) -> str:
    """Return until when water stands on the panel in the morning."""
    if entry.wet_until is None or entry.wet_panel is None:
        return ""
    job = entry.judgement.job
    panel = job.panels[entry.wet_panel]
    until = clock(entry.wet_until, job.site.zone)
    wet = f"the {_panel(panel.colour, panel.part)} stays wet until about {until} unless wiped"
    return f"{wet}; gaps longer: blow them out."


def _day_weather(entry: Entry, display: Display) -> str:
    """Return the working day's weather in one line."""
    weather = entry.weather
    if weather is None:
        return ""
    zone = entry.judgement.job.site.zone
    rain = "no rain forecast"
    if weather.rain_hours:
        rain = f"rain in the hour from {listed([clock(at, zone) for at in weather.rain_hours])}"
    elif weather.rain_chance_pct >= 10:
        rain = f"dry, but a shower chance up to {weather.rain_chance_pct:.0f} %"
    return (
        f"{display.temp(weather.air_low_c)} to {display.temp(weather.air_high_c)}, wind to "
        f"{display.speed(weather.wind_high_ms)}, gusts to {display.speed(weather.gust_high_ms)} "
        f"(at 10 m), {rain}."
    )

"""One job of a brief told in words."""

from __future__ import annotations

from dataclasses import dataclass

from sprayadvisor.advice.brief import Brief, ChartData, Entry
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render import told_times, told_under_way, told_verdict
from sprayadvisor.render.chart_twin import HourRow, hour_rows, outline, stage_lines
from sprayadvisor.render.hot_metal import hot_metal
from sprayadvisor.render.told_around import day_weather, downwind, in_the_air
from sprayadvisor.render.told_first_night import first_night
from sprayadvisor.render.told_lamp import lamp
from sprayadvisor.render.told_remedies import remedies
from sprayadvisor.render.told_visits import in_two_visits
from sprayadvisor.render.words import listed, panel_words, sentence
from sprayadvisor.units import Display


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing said of a job, under a short label."""

    label: str
    text: str


@dataclass(frozen=True, slots=True)
class ToldChart:
    """The chart of a job in words: what stands out, the curves by the hour, the stages."""

    about: str
    outline: tuple[str, ...]
    hours: tuple[HourRow, ...]
    stages: tuple[str, ...]

    @property
    def rains(self) -> bool:
        """Whether any hour needs a column for rain."""
        return any(row.rain for row in self.hours)


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
        chart: the facts of the chart; None without one.
    """

    ref: str
    word: Word
    site: str
    what: str
    arrival: str
    short: str
    facts: tuple[Fact, ...]
    chart: ToldChart | None


def tell_job(entry: Entry, brief: Brief, display: Display) -> ToldJob:
    """Return one job in words."""
    job = entry.judgement.job
    panels = listed([panel_words(panel) for panel in job.panels])
    plan = entry.judgement.plan
    facts = _facts(entry, brief, display)
    return ToldJob(
        ref=job.ref,
        word=entry.judgement.word,
        site=job.site.name,
        what=f"{plan.process if plan else job.process}; {panels}",
        arrival=f"arrive {job.arrive_from:%H:%M} to {job.arrive_to:%H:%M}",
        short=told_verdict.short(entry, brief.moment),
        facts=tuple(Fact(label, text) for label, text in facts if text),
        chart=_chart(entry.chart, _about(entry), display) if entry.chart else None,
    )


def _facts(entry: Entry, brief: Brief, display: Display) -> list[tuple[str, str]]:
    """Return what is said of a job with its labels, the empty ones too."""
    plan, word, zone = entry.judgement.plan, entry.judgement.word, entry.judgement.job.site.zone
    coats = [(c.role.capitalize(), told_times.coat(c, zone, display)) for c in entry.coats]
    return [
        ("Under way", told_under_way.steps(entry)),
        ("Tightest" if word is Word.GO else "Why", told_verdict.why_and_how_often(entry, display)),
        ("What goes wrong", told_verdict.goes_wrong(entry)),
        ("What to do", told_verdict.to_do(entry)),
        ("What would change it", remedies(entry, brief.made_at, display)),
        ("In two visits", in_two_visits(entry)),
        ("Start", told_times.start(entry)),
        ("No way back", told_times.commitment(entry)),
        *coats,
        ("Hot metal", hot_metal(entry, display)),
        ("Lamp", lamp(entry, display)),
        ("Power", " ".join(sentence(note) for note in plan.power) if plan else ""),
        ("Downwind", downwind(entry)),
        ("Two-pack", told_verdict.two_pack(entry)),
        ("In the air", in_the_air(entry)),
        ("Wet panel", told_times.wet(entry)),
        ("Weather", day_weather(entry, display)),
        ("First night", first_night(entry)),
        ("Other days", told_times.other_days(entry, brief.made_at)),
        ("Which way", _which_way(entry)),
        ("Against it", " ".join(sentence(one) for one in told_verdict.against_it(entry.judgement))),
        ("Note", " ".join(sentence(note) for note in plan.notes) if plan else ""),
    ]


def _which_way(entry: Entry) -> str:
    """Return that nobody said which way the car stands, where that counts."""
    if len(entry.judgement.job.ways_deg) == 1:
        return ""
    return (
        "Which way the car stands was not said, so the worst of four ways counts. Say where its "
        "nose points once you know."
    )


def _about(entry: Entry) -> str:
    """Return what a chart shows: one likely course, and of which panel."""
    job, play = entry.judgement.job, entry.judgement.play
    several = play is not None and len(job.panels) > 1
    which = f", on the {panel_words(job.panel_of(play.panel))}" if several and play else ""
    return f"As the day may well go{which}"


def _chart(chart: ChartData, about: str, display: Display) -> ToldChart:
    return ToldChart(about, outline(chart, display), hour_rows(chart, display), stage_lines(chart))

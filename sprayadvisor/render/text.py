"""A brief as plain text that stands alone and can be read aloud."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from sprayadvisor.advice.brief import Brief
from sprayadvisor.render.cautions import AT_THE_TOP
from sprayadvisor.render.html import NO_LINKS, MailLinks
from sprayadvisor.render.told import (
    ATTRIBUTION,
    ATTRIBUTION_URL,
    CHANGES,
    LICENCE,
    LICENCE_URL,
    Call,
    Told,
    tell,
)
from sprayadvisor.render.told_job import ToldChart, ToldJob
from sprayadvisor.render.words import LABELS, NO_BREAK, SHAPES, kept_together, sentence
from sprayadvisor.units import Display

WIDTH = 78


def brief_text(brief: Brief, display: Display) -> str:
    """Return a brief as plain text, lines of at most 78 columns."""
    return told_text(tell(brief, display))


def told_text(told: Told, links: MailLinks = NO_LINKS) -> str:
    """Return a brief that was told as plain text.

    Args:
        told: the brief.
        links: where the page shows it; addresses stand on lines of their own, however long.
    """
    foot = [
        f"{ATTRIBUTION}, {ATTRIBUTION_URL}",
        *_wrapped(f"Licence {LICENCE}, {LICENCE_URL}; {CHANGES}."),
    ]
    parts = [
        [told.subject, *_wrapped(f"{told.title}."), *_wrapped(AT_THE_TOP), *_link(links.day)],
        _section("In short", _items((*(_in_short(job) for job in told.jobs), *told.day_lines))),
        _section("To ring", _calls(told.calls)),
        _section("To load", _items(told.load)),
        *([*_job(job), *_link(links.jobs.get(job.ref, ""))] for job in told.jobs),
        _section("Not in order", _items(told.problems)),
        _section("Before you spray", _items(told.cautions)),
        _section("About the forecast", _items(told.weather)),
        *(_hour_by_hour(job, job.chart) for job in told.jobs if job.chart),
        foot,
    ]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _link(address: str) -> list[str]:
    """Return where the page shows the same as it stands now, if it does."""
    return ["As it stands now, on the page:", address] if address else []


def _section(title: str, lines: Sequence[str]) -> list[str]:
    """Return a titled section, nothing where it is empty."""
    return [title.upper(), *lines] if lines else []


def _items(texts: Sequence[str]) -> list[str]:
    return [line for text in texts for line in _wrapped(text, "- ", "  ")]


def _in_short(job: ToldJob) -> str:
    """Return the decision on a job in one line."""
    return f"{_badge(job)} {job.ref}, {job.site}: {job.short}"


def _badge(job: ToldJob) -> str:
    return f"{SHAPES[job.word]} {LABELS[job.word]}"


def _calls(calls: Sequence[Call]) -> list[str]:
    lines = []
    for call in calls:
        lines += _wrapped(call.line, "- ", "  ")
        if call.message:
            lines += _wrapped(f"Ready to send: “{call.message}”", "  ", "  ")
    return lines


def _job(job: ToldJob) -> list[str]:
    """Return one job."""
    head = f"{_badge(job)}  {job.ref}, {job.site}, {job.arrival}"
    facts = [line for fact in job.facts for line in _wrapped(f"{fact.label}: {fact.text}", "  ")]
    return [
        *_wrapped(head),
        *_wrapped(job.what, "  "),
        *_wrapped(sentence(job.short), "  "),
        *facts,
    ]


def _hour_by_hour(job: ToldJob, chart: ToldChart) -> list[str]:
    """Return what the chart of a job shows."""
    return [
        *_wrapped(f"HOUR BY HOUR  {job.ref}, {job.site}"),
        *_wrapped(f"{chart.about}: {' '.join(chart.outline)}", "  "),
        *(line for row in chart.hours for line in _wrapped(row.sentence, "  ")),
        "  The work:",
        *(line for stage in chart.stages for line in _wrapped(stage, "  ")),
    ]


def _wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    indent = first if rest is None else rest
    lines = textwrap.wrap(
        kept_together(text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=indent + ("  " if rest is None and first else ""),
        break_on_hyphens=False,
    )
    return [line.replace(NO_BREAK, " ") for line in lines]

"""A job under way in words: where it is, what comes next and when, and what to do before it."""

from __future__ import annotations

from sprayadvisor.advice.brief import Entry, StageBar
from sprayadvisor.advice.under_way import UnderWay
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.words import clock, sentence

_STEPS = 6
_ASK = (
    "Measure, and ask Now before the next coat; it also tells where you can stop. This goes by the "
    "forecast and by what you noted."
)
_LEFT = {
    Word.NO_GO: "as it looks the rest will not come right. Ask Now before the next coat.",
    Word.UNKNOWN: "the rest cannot be judged; do not take it for a go.",
}


def short(entry: Entry, here: UnderWay, sure: str) -> str:
    """Return the decision about the rest in one line.

    Args:
        entry: of the job.
        here: where it is.
        sure: how sure the rest is, with what care means.
    """
    word = entry.judgement.word
    return f"under way, {_now(entry, here)}; {_LEFT.get(word, f'for the rest {sure}')}"


def _now(entry: Entry, here: UnderWay) -> str:
    zone = entry.judgement.job.site.zone
    if here.due:
        return f"next {here.stage}"
    coat = next((bar for bar in _bars(entry)[1:] if bar.kind == "coat"), None)
    then = f", next {coat.name} about {clock(coat.begin, zone)}" if coat else ""
    return f"{here.stage} since {clock(here.since, zone)}{then}"


def steps(entry: Entry) -> str:
    """Return what was noted, and what is left to do by the clock; empty where nothing was noted."""
    here = entry.under_way
    if here is None:
        return ""
    zone = entry.judgement.job.site.zone
    bars = _bars(entry)
    named = [f"{clock(bar.begin, zone)} {bar.name}" for bar in bars]
    told = f"“{here.noted}” noted {clock(here.noted_at, zone)}."
    if here.due:
        by = f" by {clock(here.by, zone)}" if here.by else ""
        told += f" Next is {here.stage}{by}: nothing was noted since, so note it as you begin."
    ends = f"; {clock(bars[-1].end, zone)} {_last(entry)}" if bars else ""
    more = "; …" if len(named) > _STEPS else ""
    return f"{told} {sentence('; '.join(named[:_STEPS]) + more + ends)}".rstrip(" ")


def _last(entry: Entry) -> str:
    """Return what the end of what was played is."""
    if entry.chart is not None and not entry.chart.whole:
        return "it stops there in this weather"
    return "done, if it goes as planned"


def _bars(entry: Entry) -> tuple[StageBar, ...]:
    """Return the stages of the play that are done by hand one after the other."""
    return entry.chart.stages if entry.chart else ()


def to_do(entry: Entry) -> str:
    """Return what to do before the next coat; empty where the job was not begun."""
    return _ASK if entry.under_way is not None else ""

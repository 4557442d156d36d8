"""A change notice in words: what to do, what was said before, why; with all that goes with a brief.

It is told as a brief of one job, so that layout, cautions and sources are the same.
"""

from __future__ import annotations

from dataclasses import replace

from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.advice.day import offers
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.said import Kind, Notice, cause_of
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.email import Rendered
from sprayadvisor.render.html import NO_LINKS, MailLinks, told_html
from sprayadvisor.render.text import told_text
from sprayadvisor.render.told import Told, tell
from sprayadvisor.render.told_job import Fact
from sprayadvisor.render.words import LABELS, SHAPES, day_and_clock
from sprayadvisor.units import Display

# Common practice, no source.
_ORDERS = {
    Kind.COVER: ("cover now", "cover the wet paint now. If a drop has landed, leave it."),
    Kind.CLEAR: (
        "lay the clear now",
        "lay the clear as soon as the base is matt. Now it fits, half an hour later it does not.",
    ),
    Kind.LAMP: (
        "wait for the lamp",
        "wait: warm the panel with the lamp before the clear goes on, or it will bloom.",
    ),
}
_WIND_AT_THE_LAMP = "wait: keep the lamp stand down until the wind drops."
_ABOUT_THE_REST = ("Why", "Tightest", "What goes wrong", "What to do", "Two-pack", "Note")


def notice_message(
    notice: Notice, entry: Entry, business: str, display: Display, links: MailLinks = NO_LINKS
) -> Rendered:
    """Return a change notice as subject, text and HTML.

    Args:
        notice: what changed.
        entry: the job judged anew, with where its weather came from.
        business: name of the business.
        display: units.
        links: where the page shows the job.
    """
    told = tell_notice(notice, entry, business, display)
    return Rendered(told.subject, told_text(told, links), told_html(told, {}, links))


def tell_notice(notice: Notice, entry: Entry, business: str, display: Display) -> Told:
    """Return a change notice in words; the arguments are those of :func:`notice_message`."""
    job = notice.found.job
    # What is left of a job has no start and no other days.
    begun = notice.found is not entry.judgement
    told = tell(_as_brief(notice, entry, business, begun=begun), display)
    facts = [fact for fact in told.jobs[0].facts if not begun or fact.label in _ABOUT_THE_REST]
    if notice.was is not None:
        word = notice.was.word
        said = day_and_clock(notice.was.at, job.site.zone)
        facts.insert(0, Fact("Before", f"{SHAPES[word]} {LABELS[word]}, said {said}."))
    short = _short(notice, told.jobs[0].short, begun=begun)
    whose = f", {business}" if business else ""
    made = day_and_clock(notice.made_at, job.site.zone)
    return replace(
        told,
        subject=" ".join(f"{job.ref}, {job.site.name}: {_headline(notice)}".split()),
        title=f"Change notice{whose}. Made {made}",
        jobs=(replace(told.jobs[0], short=short, facts=tuple(facts)),),
    )


def _as_brief(notice: Notice, entry: Entry, business: str, *, begun: bool) -> Brief:
    """Return the brief of one job that a notice is told as."""
    job, source = notice.found.job, entry.provenance
    about = Entry(notice.found, provenance=source) if begun else replace(entry, chart=None)
    return Brief(
        moment=Moment.MORNING,
        day=job.day,
        made_at=notice.made_at,
        zone=job.site.zone,
        business=business,
        entries=(about,),
        ring=() if begun else offers((about,)),
        sources=(source.source,) if source else (),
        weather_problems=(),
    )


def _headline(notice: Notice) -> str:
    """Return what it is about in a few words, for the subject."""
    if notice.kind in _ORDERS:
        return _ORDERS[notice.kind][0]
    word = notice.found.word.value
    if notice.kind is Kind.CAUSE:
        return f"still {word}, now for {cause_of(notice.found.limiting)}"
    return f"{word} now" + (f", no longer {notice.was.word.value}" if notice.was else "")


def _short(notice: Notice, usual: str, *, begun: bool) -> str:
    """Return what to do in one line; ``usual`` is what a brief would say."""
    if notice.kind is Kind.LAMP and cause_of(notice.found.limiting) == "wind":
        return _WIND_AT_THE_LAMP
    if notice.kind in _ORDERS:
        return _ORDERS[notice.kind][1]
    if not begun:
        return usual
    if notice.found.word is Word.NO_GO:
        return "do not open the base: what is left will not do. Stop where it is safe to stop."
    return f"go on from where you are: {usual}"

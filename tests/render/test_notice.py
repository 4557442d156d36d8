"""A change notice says what to do, what was said before and why, with all its cautions."""

from dataclasses import replace
from datetime import timedelta

import pytest
from briefs import told as entry_of
from days import EVENING, job, outlook

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.rest import Place, judge_rest
from sprayadvisor.advice.said import Kind, Notice, said_of
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.notice import notice_message, tell_notice
from sprayadvisor.units import Display

NOW = EVENING + timedelta(hours=15)
FAIR = entry_of(job())
WET = entry_of(job(), outlook(wet_hour_mm=1.0))
COLD = entry_of(job(), outlook(rh_pct=82.0))
SAID = said_of(FAIR.judgement, "morning", NOW - timedelta(hours=2))
DISPLAY = Display()


def message(kind, entry, found=None, was=SAID):
    """Return a notice as a message."""
    made = Notice(kind, found or entry.judgement, was, NOW, ())
    return notice_message(made, entry, "Curlew Strand", DISPLAY)


def rest(entry, stage="base-1"):
    """Return the judgement on what is left from a stage on."""
    found, policy = entry.judgement, Policy()
    at = Place([one.id for one in found.plan.stages].index(stage), NOW)
    limits = policy.thresholds[Moment.MORNING]
    return judge_rest(found.job, found.plan, at, found.climate, policy, limits, NOW)


def test_a_go_that_is_gone():
    """Subject, what was said, why, whom to ring, other slots."""
    made = message(Kind.WORSE, WET)
    assert made.subject == "T1, Hazel Court: no-go now, no longer go"
    assert "Change notice, Curlew Strand. Made Fri 17 Apr 09:00." in made.text
    assert "■ NO-GO" in made.text
    assert "Before: ● GO, said Fri 17 Apr 07:00." in made.text
    assert "Why: Rain 1.0 mm" in made.text
    assert "TO RING" in made.text
    assert made.charts == {}


@pytest.mark.parametrize("kind", list(Kind))
def test_every_notice_has_its_cautions_and_its_source(kind):
    """Never a verdict without them, in text and in HTML."""
    made = message(kind, WET if kind is not Kind.BETTER else FAIR)
    for layout in (made.text, made.html):
        assert "never permission" in layout
        assert "isocyanates" in layout
        assert "Weather data by Open-Meteo.com" in layout
        assert "CC BY 4.0" in layout
    assert "\n" not in made.subject


@pytest.mark.parametrize(
    ("kind", "entry", "subject", "words"),
    [
        (Kind.BETTER, FAIR, "go now, no longer go", "start "),
        (Kind.CAUSE, COLD, "still care, now for cold or damp", "Outside the sheet"),
        (Kind.COVER, WET, "cover now", "Cover the wet paint now. If a drop has landed"),
        (Kind.CLEAR, FAIR, "lay the clear now", "as soon as the base is matt"),
        (Kind.LAMP, COLD, "wait for the lamp", "warm the panel with the lamp before the clear"),
    ],
)
def test_each_kind_says_what_to_do(kind, entry, subject, words):
    """In the subject in a few words, in the text in one line."""
    made = message(kind, entry)
    assert made.subject == f"T1, Hazel Court: {subject}"
    flat = " ".join(made.text.split())
    assert words.lower() in flat.lower()


def test_wind_at_the_lamp_is_another_wait():
    """The stand stays down."""
    windy = entry_of(job(), outlook(wind_10m_ms=9.9, gust_10m_ms=20.0))
    assert "until the wind drops" in message(Kind.LAMP, windy).text


def test_once_begun_only_what_is_left_is_told():
    """No start, no other days, nobody to ring."""
    made = message(Kind.WORSE, WET, rest(WET))
    flat = " ".join(made.text.split())
    assert "do not open the base: what is left will not do" in flat
    for gone in ("TO RING", "Start:", "Other days", "Day's weather"):
        assert gone not in made.text
    assert "go on from where you are: start" in message(Kind.BETTER, FAIR, rest(FAIR)).text


def test_nothing_said_before_is_not_mentioned():
    """A job that no brief told of."""
    made = message(Kind.WORSE, WET, was=None)
    assert made.subject == "T1, Hazel Court: no-go now"
    assert "Before:" not in made.text


def test_unknown_says_why_and_is_no_go_ahead():
    """Without weather the reason is told, and the cautions are those of any paint."""
    blind = Entry(Judgement(job(), Word.UNKNOWN, "the service does not answer"))
    told = tell_notice(Notice(Kind.WORSE, blind.judgement, SAID, NOW, ()), blind, "", DISPLAY)
    assert told.subject == "T1, Hazel Court: unknown now, no longer go"
    assert told.jobs[0].short == "cannot be judged; do not take it for a go."
    assert ("Why", "The service does not answer.") in [
        (f.label, f.text) for f in told.jobs[0].facts
    ]
    assert told.title == "Change notice. Made Fri 17 Apr 09:00"
    assert any("isocyanates" in caution for caution in told.cautions)


def test_names_are_text_and_no_markup():
    """A site called like a tag stays a name."""
    nasty = job(site=replace(job().site, name="<b>Yard</b>"))
    made = message(Kind.WORSE, entry_of(nasty, outlook(wet_hour_mm=1.0)))
    assert "<b>Yard" not in made.html
    assert "&lt;b&gt;Yard" in made.html

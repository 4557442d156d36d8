"""The answer at the car in words: the answer first, then what stands behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from sprayadvisor.advice.air_levels import hazard_of
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.onsite import Danger, OnSiteAnswer
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.cautions import cautions
from sprayadvisor.render.limits import value_words
from sprayadvisor.render.told_committed import is_open, no_way_back, what_now
from sprayadvisor.render.told_readings import (
    AT_ONCE,
    as_read_words,
    felt_words,
    filled_words,
    flash_off_words,
    lamp_words,
    margin_of,
    said_words,
    value_read,
)
from sprayadvisor.render.told_verdict import RARE, against_it, goes_wrong, two_pack, why
from sprayadvisor.render.told_ways_out import as_far_words, safe_stop_words, ways_words
from sprayadvisor.render.words import LABELS, SHAPES, clock, odds, sentence
from sprayadvisor.units import Display

OTHERS = 0.1  # a smaller share of other reasons is lost in the tenths


@dataclass(frozen=True, slots=True)
class ToldOnSite:
    """An answer in words.

    Attributes:
        word: the verdict; of a *go* that has to wait for a flash-off *care*, until it is over.
        label: the verdict in capitals, with its shape.
        about: job, site and what would begin now.
        short: the answer in one line.
        questions: readings to look at again before anything is judged.
        facts: label and text, the most important first.
        cautions: what a verdict does not cover.
    """

    word: Word
    label: str
    about: str
    short: str
    questions: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]


def tell_onsite(answer: OnSiteAnswer, display: Display) -> ToldOnSite:
    """Return an answer in words."""
    found = answer.judgement or Judgement(answer.job, answer.word, answer.why)
    zone = answer.job.site.zone
    what = f": {answer.stage_name}" if answer.stage_name else ""
    questions = tuple(
        doubt.question + (" If it is right, ask again and say you are sure." * doubt.may_insist)
        for doubt in answer.doubts
    )
    waits = _not_yet(answer)
    word = Word.CARE if waits else answer.word
    return ToldOnSite(
        word=word,
        label=f"{SHAPES[word]} {'NOT YET' if waits else LABELS[word]}",
        about=f"{answer.job.ref}, {answer.job.site.name}{what}, {clock(answer.made_at, zone)}",
        short=waits + _short(answer),
        questions=questions,
        facts=tuple((label, text) for label, text in _facts(answer, found, display) if text),
        cautions=cautions([Entry(found)]),
    )


def onsite_text(answer: OnSiteAnswer, display: Display) -> str:
    """Return an answer as plain text."""
    told = tell_onsite(answer, display)
    return "\n".join(
        [
            f"{told.label}  {told.about}",
            told.short,
            *(f"  - {question}" for question in told.questions),
            *(f"  {label}: {text}" for label, text in told.facts),
            "Before you spray",
            *(f"  - {caution}" for caution in told.cautions),
        ]
    )


def _not_yet(answer: OnSiteAnswer) -> str:
    """Return until when the coat before flashes off, where the weather would let it begin now.

    Far below the word it would be read after the gun is in the hand.
    """
    flash = answer.flash_off
    open_ = answer.word in (Word.GO, Word.CARE) and not answer.doubts
    if flash is None or flash.at is None or not open_ or flash.at - answer.made_at < AT_ONCE:
        return ""
    return (
        f"Not before {clock(flash.at, answer.job.site.zone)}: the coat before flashes off. Then: "
    )


def _short(answer: OnSiteAnswer) -> str:
    """Return the answer in one line."""
    if answer.doubts:
        return "Not judged yet, please look at these first:"
    match answer.word:
        case Word.UNKNOWN:
            why = sentence(answer.why) + " " if answer.why else ""
            return f"{why}It cannot be judged; do not take it for a go."
        case Word.NOT_JUDGED:
            return sentence(answer.why)
        case Word.NO_GO if answer.why:
            return f"Do not begin. {sentence(answer.why)}"
        case Word.NO_GO:
            return f"Do not begin: {odds(answer.likelihood)} that it can be done."
        case Word.CARE if answer.only_as_far and answer.safe_stop:
            return f"Only as far as {as_far_words(answer.safe_stop, answer.job.site.zone)}"
        case Word.CARE if answer.why:
            return f"It may not hold. {sentence(answer.why)} Your call."
        case Word.CARE:
            return f"{odds(answer.likelihood).capitalize()} that it can be done. {_care(answer)}"
        case _:
            sure = odds(answer.likelihood).capitalize()
            return f"{sure} that it fits until “{answer.until}” is over."


def _care(answer: OnSiteAnswer) -> str:
    """Return what care means here."""
    found = answer.judgement
    if found is not None and found.reserved:
        return "Your call."
    limiting = found.limiting if found else None
    if found is None or limiting is None or limiting.level is not Level.INSIDE:
        return "It may not hold. Your call."
    if limiting.check.origin.kind == "sheet" and 0.0 < limiting.share < RARE:
        outside = 1.0 - found.likelihood[Level.INSIDE]
        where = f"In {odds(outside)} cases it lies outside the sheets"
        return f"{where}, where the maker will not stand behind it. Your call."
    if limiting.check.origin.kind == "sheet":
        return "Outside the sheet: the maker will not stand behind it. Your call."
    return f"Beyond {limiting.check.origin}. Your call."


def _facts(answer: OnSiteAnswer, found: Judgement, display: Display) -> list[tuple[str, str]]:
    """Return what stands behind an answer with its labels, the empty ones too."""
    entry = Entry(found)
    decides = "Tightest" if answer.word is Word.GO else "Why"
    judged = found.play is not None and not answer.doubts
    return [
        ("Now", _now(answer, display)),
        ("As read", as_read_words(answer, display)),
        ("Lamp", lamp_words(answer, display)),
        (decides, _why(answer, entry, display) if judged and not answer.why else ""),
        ("What goes wrong", _goes_wrong(answer, entry) if judged and not answer.why else ""),
        ("What now", what_now(answer)),
        ("No way back", no_way_back(answer)),
        ("Against it", " ".join(sentence(one) for one in against_it(found))),
        ("Flash-off", flash_off_words(answer)),
        ("Dust-free", _dust_free(answer)),
        ("Car back", _back_by(answer)),
        ("Nearest danger", _danger(answer, display) if judged else ""),
        ("By", _latest(answer)),
        ("What would help", " ".join(ways_words(answer, display))),
        ("Safe stop", safe_stop_words(answer)),
        ("Without instruments", felt_words(answer)),
        ("From the forecast", filled_words(answer, display)),
        ("You said", said_words(answer)),
        ("Two-pack", two_pack(entry)),
        ("Forecast", sentence(answer.weather_problem)),
    ]


def _goes_wrong(answer: OnSiteAnswer, entry: Entry) -> str:
    return goes_wrong(entry, over_open=is_open(answer))


def _how_often(entry: Entry, limiting: Limiting) -> str:
    """Return in how many cases something decides, and that there are others where there are."""
    spoilt = 1.0 - entry.judgement.likelihood[limiting.level]
    chiefly = "Chiefly, in" if spoilt - limiting.share > OTHERS else "In"
    return f"{chiefly} {odds(limiting.share)} cases"


def _why(answer: OnSiteAnswer, entry: Entry, display: Display) -> str:
    """Return what decides, with how often where that is in less than half of all cases.

    Else a reading well inside its bounds would seem to be contradicted; so would one that was
    read at this minute and is off by no more than its instrument.
    """
    limiting = entry.judgement.limiting
    read = value_read(answer, limiting) if limiting else None
    if limiting is None or entry.judgement.reserved:
        return why(entry, display)
    beyond = read is not None and margin_of(limiting, read) < 0.0
    if beyond and read is not None:
        limiting = replace(limiting, value=read, margin=margin_of(limiting, read))
        entry = replace(entry, judgement=replace(entry.judgement, limiting=limiting))
    told = why(entry, display)
    if 0.0 < limiting.share < RARE:
        told = f"{_how_often(entry, limiting)}: {told[0].lower()}{told[1:]}"
    if read is None or beyond or not limiting.share:
        return told
    shown = value_words(limiting.check, read, display)
    return f"{told} You read {shown}: it may change within minutes, and instruments err."


def _now(answer: OnSiteAnswer, display: Display) -> str:
    """Return what the panel meets now."""
    here = answer.conditions
    if here is None or math.isnan(here.dew_margin_k):
        return ""
    panel, dew = display.temp(here.panel_temp_c, 1), display.temp(here.dew_point_c, 1)
    margin = display.difference(abs(here.dew_margin_k))
    hand = "in hand" if here.dew_margin_k >= 0 else "under it, so water forms on it"
    return f"panel {panel}, dew point {dew}: {margin} {hand}."


def _dust_free(answer: OnSiteAnswer) -> str:
    """Return when nothing sticks any more."""
    free = answer.dust_free
    if free is None:
        return ""
    how = "at the end of the bake" if free.by_lamp else "in the air"
    slow = (
        f", {free.slow_minutes:.0f} if it goes slowly" if math.isfinite(free.slow_minutes) else ""
    )
    at = clock(free.at, answer.job.site.zone)
    return f"in about {free.minutes:.0f} min{slow}; {at}, {how}."


def _back_by(answer: OnSiteAnswer) -> str:
    """Return that the car will not be back in time, where that is so."""
    job, free = answer.job, answer.dust_free
    if job.back_by is None or free is None:
        return ""
    agreed = local_time(job.day, job.back_by, job.site.zone)
    if free.at <= agreed:
        return ""
    at = clock(free.at, job.site.zone)
    return f"wanted by {job.back_by:%H:%M}, and it is not dust-free before {at}."


def _danger(answer: OnSiteAnswer, display: Display) -> str:
    """Return what would break a bound next."""
    found = answer.danger
    if found is None:
        return "none in sight for the coming hours."
    when = f"from {clock(found.at, answer.job.site.zone)}"
    if found.at <= answer.made_at:
        when = "now already"
    kind = "" if found.level is Level.STOP else ", outside the sheet, short of the stop"
    if found.check.origin.kind != "sheet" and found.level is Level.INSIDE:
        kind = ", with care"
    return f"{danger_words(found, display)} {when}{kind}."


def danger_words(found: Danger, display: Display) -> str:
    """Return what breaks a bound."""
    check, quantity = found.check, found.check.quantity
    hazard = hazard_of(quantity)
    if hazard is not None:
        return f"{check.words.label} high"
    if quantity == "wet_hour_mm":
        return "rain"
    if quantity == "downwind":
        return "the wind takes your mist onto what stands downwind"
    low, high = check.bounds(found.level)
    bound = low if found.too_low else high
    side = "under" if found.too_low else "over"
    value = value_words(check, float("nan") if bound is None else bound, display)
    return f"{check.words.label} {side} {value}"


def _latest(answer: OnSiteAnswer) -> str:
    if answer.latest is None:
        return ""
    at = clock(answer.latest, answer.job.site.zone)
    return f"it must go on by {at}, by what you said of the coat before."

"""What would make it safe at the car, and where the work may be left, in words."""

from __future__ import annotations

import math

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.onsite import OnSiteAnswer, SafeStop, Way
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.words import clock, odds, sentence
from sprayadvisor.units import Display

WAYS_SHOWN = 3
_DO = {
    Change.SHADE: "bring the panel into the shade, of the house or of the van",
    Change.WIND_BREAK: "put the van 2 to 3 m off, on the side the wind comes from",
    Change.CANOPY: "put the canopy up, every leg weighted",
    Change.LAMP: "use the lamp instead of air-drying",
}


def ways_words(answer: OnSiteAnswer, display: Display) -> list[str]:
    """Return what would make it safe, best first."""
    return [sentence(_way(one, answer, display)) for one in answer.ways[:WAYS_SHOWN]]


def _way(way: Way, answer: OnSiteAnswer, display: Display) -> str:
    of = "inside the sheets" if way.word is Word.GO else "done at all"
    level = Level.INSIDE if way.word is Word.GO else Level.STOP
    now = answer.judgement.likelihood[level] if answer.judgement else float("nan")
    from_now = "" if math.isnan(now) else f", now {odds(now)}"
    comes_to = f"{way.word.value}; {of} {odds(way.likelihood)}{from_now}"
    if way.change is Change.LATER and way.at is not None:
        return f"wait until {clock(way.at, answer.job.site.zone)}: {comes_to}"
    if way.change is Change.WARM_FIRST:
        warm = display.temp(way.to_c or float("nan"))
        return f"warm the panel to {warm} first and go straight on: {comes_to}"
    return f"{_DO[way.change]}: {comes_to}"


def safe_stop_words(answer: OnSiteAnswer) -> str:
    """Return where the job can be left; the word is told where nothing else is said."""
    found = answer.safe_stop
    if found is None or answer.only_as_far:
        return ""
    if found.at is None:
        return f"here, as it is, after “{found.stage}”. Keep it dry, and clean it again first."
    at = clock(found.at, answer.job.site.zone)
    return f"after “{found.stage}”, {at}: {_stop_odds(found)}. Keep it dry until you go on."


def as_far_words(found: SafeStop, zone: str) -> str:
    """Return how far the work may go, where what comes behind that does not fit."""
    at = f", {clock(found.at, zone)}" if found.at else ""
    return f"“{found.stage}”{at}: {_stop_odds(found)}. What follows does not fit as it looks now."


def _stop_odds(found: SafeStop) -> str:
    fits = "it fits" if found.word is Word.GO else "it can be done"
    return f"{found.word.value}, {odds(found.likelihood)} that {fits} so far"

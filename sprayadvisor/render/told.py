"""A brief told in words, before it is laid out: the one source of both text and HTML.

Every fact is put into words here once, so that the two layouts cannot differ.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Brief, Clash, Entry, Offer, WindowBar
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.ensemble import LEAST_RUNS
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.said import cause_of
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.cautions import cautions
from sprayadvisor.render.told_around import ask_at_the_car, from_the_house, van_and_air_line
from sprayadvisor.render.told_job import ToldJob, tell_job
from sprayadvisor.render.told_times import IN_HOURS, part_of_day
from sprayadvisor.render.words import (
    clock,
    counted,
    day_and_clock,
    listed,
    long_day,
    odds,
    sentence,
    short_day,
)
from sprayadvisor.units import Display

ATTRIBUTION = "Weather data by Open-Meteo.com"
ATTRIBUTION_URL = "https://open-meteo.com/"
LICENCE = "CC BY 4.0"
LICENCE_URL = "https://creativecommons.org/licenses/by/4.0/"
CHANGES = (
    "changed here: interpolated to quarter hours and turned into panel temperatures and verdicts"
)


@dataclass(frozen=True, slots=True)
class Call:
    """One customer to ring, a message ready to send, and the number to ring or send it to."""

    line: str
    message: str
    phone: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """A whole brief in words.

    Attributes:
        subject: one line with the tally and the first coat.
        title: which brief this is.
        day_lines: what the day as a whole needs: whom to ring, what clashes, how it is carried.
        load: what goes into the van, to tick off one by one.
        calls: whom to ring.
        jobs: one for each job.
        problems: what could not be had or used.
        weather: age and source of the forecast, and what it cannot tell.
        cautions: what a verdict does not cover.
    """

    subject: str
    title: str
    day_lines: tuple[str, ...]
    load: tuple[str, ...]
    calls: tuple[Call, ...]
    jobs: tuple[ToldJob, ...]
    problems: tuple[str, ...]
    weather: tuple[str, ...]
    cautions: tuple[str, ...]


def tell(brief: Brief, display: Display) -> Told:
    """Return a brief in words."""
    jobs = tuple(tell_job(entry, brief, display) for entry in brief.entries)
    return Told(
        subject=_subject(brief),
        title=_title(brief),
        day_lines=_day_lines(brief, display),
        load=brief.load,
        calls=(
            *(_call(offer, brief) for offer in brief.ring),
            *(_heads_up(ref, brief) for ref in brief.heads_up),
        ),
        jobs=jobs,
        problems=tuple(sentence(problem) for problem in _problems(brief)),
        weather=_weather(brief),
        cautions=cautions(brief.entries),
    )


def _problems(brief: Brief) -> list[str]:
    """Return what is not in order, without what a job of the brief says of itself."""
    told = {entry.judgement.why for entry in brief.entries}
    weather = [p for p in brief.weather_problems if p.partition(": ")[2] not in told]
    return [*weather, *brief.faults]


def _subject(brief: Brief) -> str:
    """Return the subject: day, tally, first coat."""
    day = short_day(brief.day)
    if not brief.entries:
        return f"{day}: no jobs booked"
    tally = [f"{n} {word.value}" for word, n in brief.tally.items() if n]
    coat = brief.first_coat
    first = f", first coat {clock(coat, brief.zone)}" if coat else ", no paint today"
    if coat is None and brief.moment is Moment.EVENING:
        first = ", no paint"
    return f"{day}: {', '.join(tally)}{first}"


def _title(brief: Brief) -> str:
    kind = "Evening brief for" if brief.moment is Moment.EVENING else "Morning brief for"
    whose = f", {brief.business}" if brief.business else ""
    made = day_and_clock(brief.made_at, brief.zone)
    return f"{kind} {long_day(brief.day)}{whose}. Made {made}"


def _day_lines(brief: Brief, display: Display) -> tuple[str, ...]:
    """Return what the day as a whole needs, in the order it matters."""
    if not brief.entries:
        return ("No jobs are booked for this day.",)
    lines = []
    if brief.ring:
        names = listed([_who(offer.ref, brief) for offer in brief.ring])
        when = "Ring tonight" if brief.moment is Moment.EVENING else "Ring now"
        lines.append(f"{when}: {names}. See below for slots and a message.")
    if brief.heads_up:
        names = listed([_who(ref, brief) for ref in brief.heads_up])
        lines.append(f"Ring tonight as a heads-up: {names}. You decide in the morning.")
    lines += [clash_words(clash) for clash in brief.clashes]
    lines += from_the_house(brief)
    lines += van_and_air_line(brief, display)
    lines += ask_at_the_car(brief)
    return tuple(lines)


def clash_words(clash: Clash) -> str:
    """Return which job runs into which, and how late the van would be."""
    late = counted(clash.late_min, "minute", "minutes")
    return f"{clash.first_ref} runs into {clash.second_ref}: you would be {late} late there."


def _entry(ref: str, brief: Brief) -> Entry:
    return next(entry for entry in brief.entries if entry.judgement.job.ref == ref)


def _who(ref: str, brief: Brief) -> str:
    """Return a job with its customer, as far as one is known."""
    customer = _entry(ref, brief).judgement.job.customer
    return f"{ref} ({customer.name})" if customer.name else ref


def _call(offer: Offer, brief: Brief) -> Call:
    """Return whom to ring, and a message with the slots in it."""
    job = _entry(offer.ref, brief).judgement.job
    slots = list(dict.fromkeys(slot_words(s, job.site.zone, brief.made_at) for s in offer.slots))
    about = ", ".join(part for part in (_who(offer.ref, brief), job.customer.phone) if part)
    agreed = f"{long_day(brief.day)} at {job.arrive_from:%H:%M}"
    if not job.may_move:
        return Call(f"{about}: the date is fixed, so talk it over.", "", job.customer.phone)
    if not slots:
        nothing = f"{about}: nothing fits in the coming days yet; say you will ring again."
        return Call(nothing, "", job.customer.phone)
    moved = (
        f" Moved {counted(job.times_moved, 'time', 'times')} already." if job.times_moved else ""
    )
    care = " (care: it may not hold)" if all(s.word is Word.CARE for s in offer.slots) else ""
    return Call(
        f"{about}: offer {'; '.join(slots)}{care}.{moved}",
        _message(_entry(offer.ref, brief), agreed, slots, brief),
        job.customer.phone,
    )


def _heads_up(ref: str, brief: Brief) -> Call:
    """Return a customer to tell beforehand that a job that is kept may have to move."""
    entry = _entry(ref, brief)
    job = entry.judgement.job
    about = ", ".join(part for part in (_who(ref, brief), job.customer.phone) if part)
    chance = odds(entry.judgement.likelihood[Level.STOP])
    agreed = f"{long_day(brief.day)} at {job.arrive_from:%H:%M}"
    return Call(
        f"{about}: a heads-up only, the job stands. It is {chance} that it can be done.",
        f"{_hello(job)}, I plan to come on {agreed} as agreed. The weather is not certain yet: "
        f"I will let you know early that morning if we have to move it.{_sender(brief)}",
        job.customer.phone,
    )


_FOR_CUSTOMERS = {
    "rain": "rain is forecast during the work",
    "wind": "it looks too windy to spray",
    "cold or damp": "it looks too cold or damp for paint",
    "hot": "the panel looks to get too hot for paint",
    "light": "there is too little daylight to judge the colour",
}


_OTHER_REASON = "the weather does not do for paint"
_COLD_OR_DAMP = ("panel_temp_c", "air_temp_c", "rh_pct", "dew_margin_k", "panel_wet", "drying")
_BY_QUANTITY = {
    "downwind": "the wind would carry paint to where it must not go",
    "diffuse_lx": _FOR_CUSTOMERS["light"],
}


def _hello(job: Job) -> str:
    return f"Hello {job.customer.name}" if job.customer.name else "Hello"


def _sender(brief: Brief) -> str:
    return f" {brief.business}" if brief.business else ""


def _message(entry: Entry, agreed: str, slots: list[str], brief: Brief) -> str:
    """Return what can be sent to the customer as it stands."""
    ask = "Would that suit you?" if len(slots) == 1 else "Which suits you?"
    return (
        f"{_hello(entry.judgement.job)}, sorry to trouble you: {_reason(entry, agreed)} I could "
        f"come on {' or on '.join(slots)} instead. {ask}{_sender(brief)}"
    )


def _reason(entry: Entry, agreed: str) -> str:
    """Return why a job cannot be done as agreed, as a customer is told."""
    limiting = entry.judgement.limiting
    cause = cause_of(limiting)
    if entry.judgement.why or cause == "hours":
        return f"for {agreed} the time we agreed is too short to finish the work."
    weather = _FOR_CUSTOMERS.get(cause, _OTHER_REASON)
    if cause == "cold or damp" and limiting and limiting.check.quantity not in _COLD_OR_DAMP:
        weather = _BY_QUANTITY.get(limiting.check.quantity, _OTHER_REASON)
    return f"for {agreed} {weather}, and your car would not come out right."


def slot_words(slot: WindowBar, zone: str, made_at: datetime) -> str:
    """Return a slot as it is said to a customer.

    That is an hour and a half of arrival around the best start; beyond two days a part of the day.
    """
    if slot.first - made_at >= IN_HOURS:
        day = long_day(slot.best.astimezone(ZoneInfo(zone)).date())
        return f"{day} in the {part_of_day(slot, zone)}"
    begin, end = arrival(slot)
    day = long_day(slot.best.astimezone(ZoneInfo(zone)).date())
    if begin == end:
        return f"{day} at {clock(begin, zone)}"
    return f"{day}, arriving between {clock(begin, zone)} and {clock(end, zone)}"


def arrival(slot: WindowBar) -> tuple[datetime, datetime]:
    """Return between when to arrive for a slot, UTC."""
    begin = max(slot.first, slot.best - timedelta(minutes=30))
    return begin, min(slot.latest, begin + timedelta(minutes=90))


def _weather(brief: Brief) -> tuple[str, ...]:
    """Return age and source of the weather, and what cannot be read from it."""
    known = [entry.provenance for entry in brief.entries if entry.provenance]
    if not known:
        return ("No weather was used for this brief.",)
    oldest = max(known, key=lambda provenance: provenance.age(brief.made_at))
    minutes = oldest.age(brief.made_at).total_seconds() / 60
    age = "just fetched"
    if minutes >= 1:
        age = f"{minutes:.0f} min old" if minutes < 120 else f"{minutes / 60:.0f} h old"
    stale = " It is an older one: a new forecast could not be had." if oldest.stale else ""
    lines = [f"Forecast {age}, from {listed(brief.sources)}.{stale}"]
    if brief.runs >= LEAST_RUNS:
        lines.append(f"Odds from the {brief.runs} runs of an ensemble.")
    lines += [f"Pollen and fine dust, {problem}" for problem in brief.air_problems]
    lines += [f"Odds, {problem}" for problem in brief.odds_problems]
    if not all(provenance.quarter_hours_native for provenance in known):
        lines.append(
            "Quarter hours are interpolated from hours: a shower cannot be timed to the half hour. "
            "Look at the radar before you open the base and again before the clear."
        )
    return tuple(lines)

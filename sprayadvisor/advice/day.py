"""The day as a whole: its order, what runs into what, whom to ring, what to load."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from itertools import pairwise

from sprayadvisor.advice.brief import AirLine, Clash, Entry, House, Offer, WindowBar
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.coat_line import CoatLine
from sprayadvisor.advice.diary import Busy, free_part, lasts_min
from sprayadvisor.advice.drives import drive_min
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.model import Cover, Job, Kit, Power
from sprayadvisor.advice.policy import Thresholds
from sprayadvisor.advice.verdict import Word

STICKY_DEW_POINT_C = 14.0  # above it a compressor makes water faster than one draining takes out
# What is needed wherever a panel is worked on, and where it is sprayed: common practice, no source.
_ALWAYS = ("water, degreaser and clean wipes", "panel thermometer and hygrometer")
_TO_SPRAY = ("masking paper, film and tape, ground sheet",)
WARM_BOX_BELOW_C = 10.0  # paint from a colder van goes on like syrup: common practice
SLOTS_OFFERED = 3  # customers decide between two or three real slots: common practice


def in_order(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the entries in the order of their arrival windows."""
    return tuple(sorted(entries, key=lambda one: arrival_of(one.judgement.job)))


def arrival_of(job: Job) -> tuple[time, time]:
    """Return what the jobs of a day are put in order by."""
    return job.arrive_from, job.arrive_to


def clashes(entries: Sequence[Entry]) -> tuple[Clash, ...]:
    """Return the jobs that cannot be reached in time after the one before them.

    Each job is taken at its best start; the one after it is late if its latest workable start is
    over before the van can be there.
    """
    found = []
    doable = [e for e in entries if e.judgement.word in (Word.GO, Word.CARE) and e.judgement.play]
    for before, after in pairwise(doable):
        if after.under_way is not None:
            continue
        gap = drive_min(before.judgement.job.site, after.judgement.job.site)
        there = _ends(before) + timedelta(minutes=gap)
        late = (there - _latest(after)).total_seconds() / 60
        if late > 0:
            pair = (before.judgement.job.ref, after.judgement.job.ref)
            found.append(Clash(*pair, late_min=round(late)))
    return tuple(found)


def _ends(entry: Entry) -> datetime:
    """Return when a job ends in its best play."""
    play = entry.judgement.play
    assert play is not None  # noqa: S101 - only jobs with a play are asked
    return entry.judgement.at(int(play.walk.ends[:, play.row].max()))


def _latest(entry: Entry) -> datetime:
    """Return the latest start inside both the arrival window and a window that fits."""
    job = entry.judgement.job
    agreed = local_time(job.day, job.arrive_to, job.site.zone)
    arrives = local_time(job.day, job.arrive_from, job.site.zone)
    inside = [w for w in entry.windows if w.first <= agreed and w.latest >= arrives]
    fits = [min(w.latest, agreed) for w in inside]
    return max(fits, default=agreed)


def offers(entries: Sequence[Entry], others: Sequence[Busy] = ()) -> tuple[Offer, ...]:
    """Return whom to ring, with slots on other days that fit: jobs that will not do as agreed.

    Args:
        entries: of the day.
        others: every job booked in the coming days: no slot that breaks one is offered.
    """
    found, taken = [], list(others)
    for entry in entries:
        if entry.judgement.word is not Word.NO_GO:
            continue
        job, slots = entry.judgement.job, _slots(entry, taken)
        found.append(Offer(job.ref, slots))
        # What one customer is asked about is not offered to the next.
        taken += [Busy(job.ref, job.site, one.best, one.best, lasts_min(entry)) for one in slots]
    return tuple(found)


def heads_up(entries: Sequence[Entry], thresholds: Thresholds) -> tuple[str, ...]:
    """Return the jobs that are kept but may well not hold: their customers are told beforehand.

    That is *care* for want of likelihood, and not because a sheet's inside bound is passed.

    Args:
        entries: of the day.
        thresholds: the evening's; what is as likely as *go* asks for is simply kept.
    """
    return tuple(
        entry.judgement.job.ref
        for entry in entries
        if entry.judgement.word is Word.CARE
        and entry.judgement.likelihood[Level.STOP] < thresholds.go
    )


def _slots(entry: Entry, others: Sequence[Busy]) -> tuple[WindowBar, ...]:
    """Return the best windows to offer, *go* before *care*, then by day."""
    job = entry.judgement.job
    if not job.may_move:
        return ()
    agreed = local_time(job.day, job.arrive_to, job.site.zone)
    lasts = lasts_min(entry)
    ahead = (window for window in entry.windows if window.first > agreed)
    parts = (free_part(job, window, lasts, others) for window in ahead)
    later = [part for part in parts if part is not None]
    best = sorted(later, key=lambda w: (w.word is not Word.GO, w.first))[:SLOTS_OFFERED]
    return tuple(sorted(best, key=lambda w: w.first))


def load(entries: Sequence[Entry], kit: Kit) -> tuple[str, ...]:
    """Return what goes into the van for the jobs that may be done, in the order it is loaded."""
    doable = [e for e in entries if e.judgement.word in (Word.GO, Word.CARE)]
    plans = [e.judgement.plan for e in doable if e.judgement.plan]
    items: dict[str, None] = {}
    if any(plan.uses_lamp for plan in plans):
        items["lamp and its stand"] = None
    coats = [coat for entry in doable for coat in entry.coats]
    if kit.blower and any(coat.water_borne for coat in coats):
        items["blower"] = None
    if kit.canopy and any(_may_rain(entry) or _under_canopy(entry) for entry in doable):
        items["canopy with weights"] = None
    if any(entry.judgement.job.site.power is Power.GENERATOR for entry in doable):
        items["generator and fuel"] = None
    if kit.work_light and plans:
        items["work light"] = None
    if any(coat.two_pack for coat in coats):
        items["air-fed mask with its hose, gloves"] = None
    if doable:
        items |= dict.fromkeys(_ALWAYS)
    if coats:
        items |= dict.fromkeys(_TO_SPRAY)
    return (*items, *_paints(coats))


def _under_canopy(entry: Entry) -> bool:
    return entry.judgement.job.site.cover is Cover.CANOPY


def house(entries: Sequence[Entry]) -> House:
    """Return what of the paint of the day spends the night in the house."""
    doable = [e for e in entries if e.judgement.word in (Word.GO, Word.CARE)]
    coats = [coat for entry in doable for coat in entry.coats]
    cold = any(e.weather is not None and e.weather.air_low_c < WARM_BOX_BELOW_C for e in doable)
    return House(
        water_borne=tuple(dict.fromkeys(c.sheet_name for c in coats if c.water_borne)),
        hardeners=any(coat.two_pack for coat in coats),
        warm_box=cold and bool(coats),
    )


def _paints(coats: Sequence[CoatLine]) -> list[str]:
    """Return each product once: every hardener or thinner the jobs ask for, and all that is mixed.

    The amount is left out where the sheet of the product says none.
    """
    chosen: dict[str, dict[str, None]] = {}
    amounts: dict[str, float] = {}
    for coat in coats:
        of_sheet = chosen.setdefault(coat.sheet_name, {})
        of_sheet.update({f"{choice.name} {choice.what}": None for choice in coat.choices})
        mixed = sum(mix.ml or 0.0 for mix in coat.mixes)
        amounts[coat.sheet_name] = amounts.get(coat.sheet_name, 0.0) + mixed
    return [_paint(name, list(choices), amounts[name]) for name, choices in chosen.items()]


def _paint(name: str, choices: Sequence[str], ml: float) -> str:
    told = f"{name} with {' and '.join(choices)}" if choices else name
    return f"{told}, {ml:.0f} ml" if ml else told


def _may_rain(entry: Entry) -> bool:
    """Return whether rain is forecast in the working hours, or at least one in ten likely."""
    weather = entry.weather
    return weather is not None and (bool(weather.rain_hours) or weather.rain_chance_pct >= 10.0)


def air_line(entries: Sequence[Entry]) -> AirLine | None:
    """Return how the compressor's line is kept dry that day; None where nothing is sprayed.

    Frost comes before stickiness: a frozen trap lets through what a full one would.
    """
    days = [e.weather for e in entries if e.judgement.word in (Word.GO, Word.CARE) and e.weather]
    if not days:
        return None
    if any(day.air_low_c < 0.0 for day in days):
        return AirLine.FROST
    if any(day.dew_point_high_c > STICKY_DEW_POINT_C for day in days):
        return AirLine.STICKY
    return AirLine.USUAL

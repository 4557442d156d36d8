"""What would change a verdict, in words: the best three of what was computed and helps."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.downwind import side_at
from sprayadvisor.advice.model import Site
from sprayadvisor.advice.remedies import Remedy
from sprayadvisor.advice.setups import Change
from sprayadvisor.render.told_times import IN_HOURS
from sprayadvisor.render.words import clock, long_day, odds, sentence
from sprayadvisor.units import Display

SHOWN = 3
_PLAIN = {
    Change.WIPE: "the dew wiped off as you arrive",
    Change.SHADE: "the panel in the shade, of the house or of the van",
    Change.WIND_BREAK: "the van 2 to 3 m off, on the side the wind comes from",
    Change.CANOPY: "under the canopy, two sides open and every leg weighted",
    Change.LAMP: "a socket agreed for the lamp, so that it bakes instead of air-drying",
    Change.HALF_AREA: "half the area, so that the lamp stands in fewer places",
}


def remedies(entry: Entry, made_at: datetime, display: Display) -> str:
    """Return what would change a verdict, best first; empty where nothing helps.

    Args:
        entry: the job.
        made_at: of the brief; hours are told for two days from then on.
        display: units.
    """
    site = entry.judgement.job.site
    return " ".join(
        sentence(f"{_done(one, site, made_at, display)}: {_comes_to(one)}")
        for one in entry.remedies[:SHOWN]
    )


def _comes_to(remedy: Remedy) -> str:
    """Return what a remedy leads to, and from where."""
    # The two levels have odds of their own, so both figures are told of the same thing.
    of = "inside the sheets" if remedy.level is Level.INSIDE else "done at all"
    chances = f"{of} {odds(remedy.p_after)}, as booked {odds(remedy.p_before)}"
    still = remedy.word_after is remedy.word_before
    return f"{'still ' if still else ''}{remedy.word_after.value}; {chances}"


def _done(remedy: Remedy, site: Site, made_at: datetime, display: Display) -> str:
    """Return what is done otherwise."""
    match remedy.change:
        case Change.EARLIER | Change.LATER:
            return f"start at {clock(remedy.start, site.zone)}, if the customer agrees"
        case Change.OTHER_DAY:
            return f"{_when(remedy.start, site.zone, made_at)}, if the customer agrees"
        case Change.TURN if remedy.before is None:
            where = ", if the road runs so" if site.kerb else ""
            return f"the car with its nose to the {side_at(float(remedy.after or 0.0))}{where}"
        case Change.TURN if site.kerb:
            return "the car on the other side of the road, facing the other way"
        case Change.TURN:
            return "the car the other way round on the drive"
        case Change.WARM_FIRST:
            warm = display.temp(float(remedy.after or 0.0))
            return f"the lamp on the panel right before the {remedy.about}, to {warm}"
        case Change.OTHER_CLEAR:
            return f"{remedy.about} instead, if it is in the van"
        case _:
            return _PLAIN[remedy.change]


def _when(start: datetime, zone: str, made_at: datetime) -> str:
    """Return a start on another day, beyond two days as a part of the day."""
    local = start.astimezone(ZoneInfo(zone))
    if start - made_at < IN_HOURS:
        return f"{long_day(local.date())} at {clock(start, zone)}"
    return f"{long_day(local.date())} in the {'morning' if local.hour < 12 else 'afternoon'}"

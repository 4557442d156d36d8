"""What rain and dew may do to fresh clear, and what the customer is told."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.first_night import FirstNight, Wetting
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.words import clock, day_and_clock, odds, sentence

LIKELY = 1.0 / 3.0  # what fewer members show is not told: trade judgement
_LEFT_PRIMED = (
    "Keep the primer dry: once wet it wants an hour to dry, and another wipe. Tell the customer: "
    "no wash, out of the rain, and do not touch it."
)
_CUSTOMER = (
    "Tell the customer: no wash for a week, no wax for a month, bird droppings off the same day, "
    "no cover, not under a tree tonight."
)

# Once a job is done nobody reckons any more: the longest that fresh clear can be spotted.
AFTERCARE = (
    "Rain or dew in the first 3 hours after the lamp, or 12 hours without one, leaves spots on "
    f"fresh clear. {_CUSTOMER}"
)


def first_night(entry: Entry) -> str:
    """Return until when rain and dew must be kept off, and what to tell the customer."""
    if entry.judgement.word not in (Word.GO, Word.CARE) or not entry.coats:
        return ""
    found = entry.first_night
    if found is None or entry.commitment is None:
        return _LEFT_PRIMED
    zone = entry.judgement.job.site.zone
    until = _half_hour_after(found.until)
    same_day = _day(entry.commitment[1], zone) == _day(until, zone)
    when = clock(until, zone) if same_day else day_and_clock(until, zone)
    return f"Rain or dew before about {when} leaves spots.{_likely(found, zone)} {_CUSTOMER}"


def _likely(found: FirstNight, zone: str) -> str:
    """Return what of it is likely where the car stands, and that it needs a roof then."""
    wettings = (("rain", found.rain), ("dew", found.dew))
    told = [_wetting(what, one, zone) for what, one in wettings if one.share >= LIKELY]
    if not told:
        all_known = all(one.known for _, one in wettings)
        return "" if all_known else " The forecast does not know all of that time."
    likely = sentence(" and ".join(told)).removesuffix(".")
    return f" {likely}: have it under a roof by then, or choose another day."


def _wetting(what: str, found: Wetting, zone: str) -> str:
    at = f" from about {clock(found.at, zone)}" if found.at else ""
    return f"{what} is likely{at} ({odds(found.share)})"


def _day(at: datetime, zone: str) -> object:
    return at.astimezone(ZoneInfo(zone)).date()


def _half_hour_after(at: datetime) -> datetime:
    """Return a time rounded up to the half hour: nobody knows it finer."""
    return at + timedelta(minutes=-at.minute % 30)

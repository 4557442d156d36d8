"""A repair in two visits, in words."""

from __future__ import annotations

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.two_visits import Visit
from sprayadvisor.render.words import clock, day_and_clock, odds


def in_two_visits(entry: Entry) -> str:
    """Return what is done today, what another day, and how the job is left between."""
    found, zone = entry.two_visits, entry.judgement.job.site.zone
    if found is None:
        return ""
    begin = f"{day_and_clock(found.first.begin, zone)} to {clock(found.first.end, zone)}"
    told = (
        f"{begin} up to “{found.after}” ({_sure(found.first)}); the rest "
        f"{day_and_clock(found.second.begin, zone)} to {clock(found.second.end, zone)} "
        f"({_sure(found.second)}), if the customer agrees. Leave it dry and covered, key it again "
        "before the colour."
    )
    if found.rekey_after_h is not None:
        told += f" More than {found.rekey_after_h:.0f} h lie between: key all of it, edges too."
    return told


def _sure(visit: Visit) -> str:
    return f"{visit.word.value}, {odds(visit.likelihood)}"

"""What to look out for on a day, in the order in which it comes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.told_verdict import why
from sprayadvisor.render.words import clock, stretches
from sprayadvisor.units import Display

_HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Danger:
    """Something that may spoil a job.

    Attributes:
        at: when it begins, UTC.
        until: when it is over, UTC.
        line: what it is, with the clock time in it.
    """

    at: datetime
    until: datetime
    line: str


def day_dangers(entries: Sequence[Entry], display: Display) -> tuple[Danger, ...]:
    """Return what threatens the jobs that may be done, and those under way whatever their word.

    That is rain, and the tightest check of each.
    """
    doable = [e for e in entries if e.under_way or e.judgement.word in (Word.GO, Word.CARE)]
    found = [danger for entry in doable for danger in _of(entry, display)]
    return tuple(sorted(dict.fromkeys(found), key=lambda danger: danger.at))


def next_danger(dangers: Sequence[Danger], now: datetime) -> Danger | None:
    """Return the first one that is not over; None if all are."""
    return next((danger for danger in dangers if danger.until > now), None)


def _of(entry: Entry, display: Display) -> Iterator[Danger]:
    judgement = entry.judgement
    site = judgement.job.site
    if judgement.limiting is not None and judgement.climate is not None:
        at = judgement.at(judgement.limiting.minute)
        yield Danger(at, at + _HOUR, f"{judgement.job.ref}, {site.name}: {why(entry, display)}")
    hours = entry.weather.rain_hours if entry.weather else ()
    for begin, end in stretches(hours, _HOUR):
        yield Danger(
            begin,
            end,
            f"Rain at {site.name} from {clock(begin, site.zone)} to {clock(end, site.zone)}; it "
            "may come an hour sooner or later.",
        )

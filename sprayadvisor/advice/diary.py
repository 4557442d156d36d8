"""One painter, one van: starts that leave every other job of those days to be kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Entry, WindowBar
from sprayadvisor.advice.drives import drive_min
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.model import Job, Site
from sprayadvisor.advice.play import FIT
from sprayadvisor.advice.printed import in_a_row
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.verdict import Word
from sprayadvisor.science.quantities import STEP_MIN

A_DAY = timedelta(hours=24)
OTHER_TIMES = (Change.EARLIER, Change.LATER, Change.OTHER_DAY)


@dataclass(frozen=True, slots=True)
class Busy:
    """A job that is to be kept.

    Attributes:
        ref: of the job.
        site: where.
        first: when it begins at the soonest, UTC.
        latest: when it begins at the latest, UTC.
        minutes: how long it takes.
    """

    ref: str
    site: Site
    first: datetime
    latest: datetime
    minutes: float


def busy_with(job: Job, minutes: float) -> Busy:
    """Return a booking as time that is taken."""
    first, latest = (
        local_time(job.day, clock, job.site.zone) for clock in (job.arrive_from, job.arrive_to)
    )
    return Busy(job.ref, job.site, first, latest, minutes)


def is_free(job: Job, begin: datetime, end: datetime, others: Sequence[Busy]) -> bool:
    """Return whether every other job can still be kept beside some work, the drives included.

    Jobs that cannot all be kept as they are booked are each looked at alone.

    Args:
        job: whose work it is.
        begin: when it begins, UTC.
        end: when it is done, UTC.
        others: what is booked; the job itself is not in its own way.
    """
    mine = Busy(job.ref, job.site, begin, begin, (end - begin).total_seconds() / 60)
    near = [one for one in others if one.ref != job.ref and abs(one.first - begin) < A_DAY]
    rest = sorted(near, key=lambda one: (one.first, one.latest))
    if not _can_be_kept(rest):
        return all(_fits_beside(mine, [one]) for one in rest)
    return _fits_beside(mine, rest)


def _fits_beside(mine: Busy, rest: Sequence[Busy]) -> bool:
    """Return whether some work can be done somewhere between the others, in their order."""
    places = range(len(rest) + 1)
    return any(_can_be_kept([*rest[:place], mine, *rest[place:]]) for place in places)


def _can_be_kept(row: Sequence[Busy]) -> bool:
    """Return whether some jobs can all be kept in their order, each begun at its soonest."""
    at: datetime | None = None
    for before, one in zip([None, *row], row, strict=False):
        begin = one.first
        if at is not None and before is not None:
            begin = max(begin, at + timedelta(minutes=drive_min(before.site, one.site)))
        if begin > one.latest:
            return False
        at = begin + timedelta(minutes=one.minutes)
    return True


def free_part(
    job: Job, window: WindowBar, minutes: float, others: Sequence[Busy]
) -> WindowBar | None:
    """Return what of a window leaves every other job to be kept; None where nothing does.

    Where the best start itself is taken the nearest free one stands for it; of its odds no more is
    known than that it may do, so that it is *care*.
    """
    step, lasts = timedelta(minutes=STEP_MIN), timedelta(minutes=minutes)
    count = int((window.latest - window.first) / step) + 1
    starts = [window.first + number * step for number in range(count)]
    free = [at for at in starts if is_free(job, at, at + lasts, others)]
    if not free:
        return None
    best = min(free, key=lambda at: abs(at - window.best))
    first = latest = best
    while first - step in free:
        first -= step
    while latest + step in free:
        latest += step
    word = window.word if best == window.best else Word.CARE
    return replace(window, first=first, best=best, latest=latest, word=word)


def kept_apart(entry: Entry, others: Sequence[Busy]) -> Entry:
    """Return an entry without remedies and visits that would break with another job.

    Args:
        entry: of the day.
        others: every job that is booked in the coming days.
    """
    job, lasts = entry.judgement.job, timedelta(minutes=lasts_min(entry))

    remedies = tuple(
        one
        for one in entry.remedies
        if one.change not in OTHER_TIMES or is_free(job, one.start, one.start + lasts, others)
    )
    visits = entry.two_visits
    if visits and not all(
        is_free(job, one.begin, one.end, others) for one in (visits.first, visits.second)
    ):
        visits = None
    return replace(entry, remedies=remedies, two_visits=visits)


def there_from(job: Job, before: Sequence[Entry]) -> datetime | None:
    """Return when the painter can be at a job after the one he does before it, UTC.

    Args:
        job: of the same day.
        before: the jobs of that day that come before it, as judged.

    Returns:
        None where he is free.
    """
    doable = [one for one in before if one.judgement.word in (Word.GO, Word.CARE)]
    last = next((one for one in reversed(doable) if one.judgement.play is not None), None)
    if last is None or last.judgement.best_start is None:
        return None
    done = last.judgement.best_start + timedelta(minutes=lasts_min(last))
    return done + timedelta(minutes=drive_min(last.judgement.job.site, job.site))


def held_up(entry: Entry, there: datetime, *, in_time: bool) -> Entry:
    """Return the entry of a job at which the painter is only after the one before it.

    Args:
        entry: as judged, for the hours agreed where he comes too late for them: its starts are
            none that he can make then, so that it is never a plain *go*.
        there: when he can be there, UTC.
        in_time: whether that is within the hours agreed.
    """
    found, zone = entry.judgement, ZoneInfo(entry.judgement.job.site.zone)
    if not in_time and found.word is Word.GO:
        why = f"you cannot be there before {there.astimezone(zone):%H:%M}, too late for the hours"
        found = replace(found, word=Word.CARE, reserved=(f"{why} agreed: ring",))
    return replace(entry, judgement=found, there_from=there)


def lasts_min(entry: Entry) -> float:
    """Return how long a job takes, minutes: as played, or as printed where the play broke off."""
    found = entry.judgement
    if found.plan is None:
        return 0.0
    printed = max((end for _, end in in_a_row(found.plan)), default=0)
    if found.play is None or found.play.walk.status[found.play.row] != FIT:
        return float(printed)
    ends = int(found.play.walk.ends[:, found.play.row].max())
    return float(ends - found.play.start * STEP_MIN)

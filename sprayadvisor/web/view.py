"""The values that the pages of a day and of a job show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING
from urllib.parse import quote, urlencode
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Brief, Entry, Offer, WindowBar
from sprayadvisor.advice.judge import ARRIVAL_PAST
from sprayadvisor.advice.model import Job
from sprayadvisor.render.cautions import FIRE, KERB, TWO_PACK, WEATHER_ONLY
from sprayadvisor.render.dangers import Danger, next_danger
from sprayadvisor.render.strip import Strip, strip
from sprayadvisor.render.told import Told, arrival, clash_words, slot_words
from sprayadvisor.render.told_job import ToldJob
from sprayadvisor.services.board import DAYS_AHEAD, Shown

if TYPE_CHECKING:
    from sprayadvisor.bootstrap import Services


@dataclass(frozen=True, slots=True)
class JobCard:
    """One job on the page of a day.

    Attributes:
        job: the booking.
        told: what is said of it; None until it has been judged as it is booked now.
        strip: its day; None without one.
        past: whether it was begun or the agreed arrival is past, so that the check at the car can
            say more.
    """

    job: Job
    told: ToldJob | None
    strip: Strip | None
    past: bool = False

    @property
    def start(self) -> str:
        """What is said of when to start, or of what is left of a job that was begun."""
        facts = self.told.facts if self.told else ()
        return next((fact.text for fact in facts if fact.label in ("Under way", "Start")), "")


@dataclass(frozen=True, slots=True)
class AgreedSlot:
    """A slot that was offered, for when the customer agrees to it.

    Attributes:
        words: as it is told to the customer.
        path: of the form of the job's change, filled in with it.
    """

    words: str
    path: str


@dataclass(frozen=True, slots=True)
class DayView:
    """One day on the page.

    Attributes:
        day: the day.
        shown: what was worked out last; None if nothing was.
        cards: its jobs in order.
        current: whether all of it is worked out from what is booked now.
        old: whether it is so old that nobody should decide by it.
        told: the day in words; None if nothing was worked out.
        danger: what to look out for next; None if nothing is known of.
        agreed: the slots offered to each customer who is to be rung, in the order of the calls.
    """

    day: date
    shown: Shown | None
    cards: tuple[JobCard, ...]
    current: bool
    old: bool
    told: Told | None
    danger: Danger | None
    agreed: tuple[tuple[AgreedSlot, ...], ...]

    def clashes(self, ref: str = "") -> tuple[str, ...]:
        """Return which jobs run into each other, or into the one of a reference."""
        found = self.shown.brief.clashes if self.shown and self.current else ()
        both = [one for one in found if ref in ("", one.first_ref, one.second_ref)]
        return tuple(clash_words(one) for one in both)

    @property
    def empty(self) -> bool:
        """Whether nothing is booked."""
        return not self.cards


def day_view(
    services: Services, day: date, jobs: Sequence[Job], *, nameless: bool = False
) -> DayView:
    """Return a day as it is booked now, with what was last worked out of it.

    Args:
        services: bookings and board.
        day: the day.
        jobs: what is booked, on other days too.
        nameless: leave out whom the jobs are for.
    """
    now, board = services.now(), services.board
    current = board.is_current(day)
    shown = board.day(day)
    booked = sorted((j for j in jobs if j.day == day), key=lambda j: (j.arrive_from, j.arrive_to))
    return DayView(
        day=day,
        shown=shown,
        cards=tuple(job_card(job, shown) for job in booked),
        current=current,
        old=shown is not None and shown.is_old(now),
        told=(shown.nameless if nameless else shown.told) if shown else None,
        danger=next_danger(shown.dangers, now) if shown else None,
        agreed=tuple(_agreed(offer, shown.brief) for offer in shown.brief.ring) if shown else (),
    )


def agreed_slots(job: Job, shown: Shown | None) -> tuple[AgreedSlot, ...]:
    """Return the slots offered for a job, if that is about the job as it is booked now."""
    if shown is None or not shown.fits(job):
        return ()
    offers = (offer for offer in shown.brief.ring if offer.ref == job.ref)
    return tuple(slot for offer in offers for slot in _agreed(offer, shown.brief))


def _agreed(offer: Offer, brief: Brief) -> tuple[AgreedSlot, ...]:
    job = next(e.judgement.job for e in brief.entries if e.judgement.job.ref == offer.ref)
    if not job.may_move:
        return ()
    return tuple(dict.fromkeys(_slot(slot, job, brief) for slot in offer.slots))


def _slot(slot: WindowBar, job: Job, brief: Brief) -> AgreedSlot:
    zone = ZoneInfo(job.site.zone)
    begin, end = (one.astimezone(zone) for one in arrival(slot))
    hours = f"{begin:%H:%M}-{end:%H:%M}"
    filled = urlencode({"day": f"{begin:%Y-%m-%d}", "arrive": hours})
    words = slot_words(slot, job.site.zone, brief.made_at)
    return AgreedSlot(words, f"/job/{quote(job.ref, safe='')}/change?{filled}")


def job_card(job: Job, shown: Shown | None) -> JobCard:
    """Return a job with what is said of it, if that is about the job as it is booked now."""
    entry = entry_of(job, shown)
    if entry is None or shown is None:
        return JobCard(job, None, None)
    told = next(one for one in shown.told.jobs if one.ref == job.ref)
    past = entry.under_way is not None or entry.judgement.why == ARRIVAL_PAST
    return JobCard(job, told, strip(entry.chart) if entry.chart else None, past)


def cautions_of(views: Sequence[DayView]) -> tuple[str, ...]:
    """Return the cautions of some days, each once; before anything is judged those of any job."""
    told = [line for view in views if view.told for line in view.told.cautions]
    return tuple(dict.fromkeys(told or (WEATHER_ONLY, TWO_PACK, FIRE, KERB)))


def entry_of(job: Job, shown: Shown | None) -> Entry | None:
    """Return what was worked out for a job as it is booked now."""
    return shown.entry(job.ref) if shown and shown.fits(job) else None


def coming(services: Services) -> tuple[date, tuple[Job, ...]]:
    """Return today and the booked jobs of today and the days that can be judged."""
    today = services.board.today()
    return today, services.bookings.list(today, today + timedelta(days=DAYS_AHEAD))

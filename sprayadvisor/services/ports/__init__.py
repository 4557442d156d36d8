"""What the use cases need from the outside world, as protocols whose docstrings are the contract.

Every ``datetime`` that passes a port is aware and in UTC. Dates and times of day are local to the
site they belong to. Any method of a store may raise ``StoreError``; then nothing was changed.
What messages leave by is in ``outbox``, files of bookings in ``booking_file``.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Protocol

from sprayadvisor.advice.model import Job, JobState, Site
from sprayadvisor.errors import WeatherError


@dataclass(frozen=True, slots=True)
class Place:
    """A place that weather is wanted for.

    Attributes:
        key: the caller's name for it; answers come back under it.
        latitude: degrees north.
        longitude: degrees east.
        elevation_m: height above the sea, m; None lets the service look it up.
    """

    key: str
    latitude: float
    longitude: float
    elevation_m: float | None


@dataclass(frozen=True, slots=True)
class FetchResult:
    """What came of asking for one place: an answer or the reason why there is none.

    Attributes:
        payload: the body for this place as the service sent it, None if there is none.
        request: what was asked, fit to be stored and logged: it holds no key and no password.
        error: why there is no payload; exactly one of ``payload`` and ``error`` is None.
    """

    payload: bytes | None
    request: str
    error: WeatherError | None


class ForecastClient(Protocol):
    """Asks a forecast service."""

    def fetch(self, places: Sequence[Place]) -> dict[str, FetchResult]:
        """Return one result for every place, by its key.

        A place that cannot be had is an entry with an ``error``, never an exception and never a
        missing key, so that one bad place does not cost the others their weather.
        """
        ...


@dataclass(frozen=True, slots=True)
class Snapshot:
    """An answer of the forecast service as it was received.

    Attributes:
        place: key of the place.
        kind: what was asked for, ``"forecast"`` unless said otherwise.
        fetched_at: when it was received, aware, UTC.
        request: what was asked.
        payload: the body, byte for byte.
        values_since: when the numbers in it were first seen; None: when it was received.
    """

    place: str
    kind: str
    fetched_at: datetime
    request: str
    payload: bytes
    values_since: datetime | None = None

    @property
    def first_seen(self) -> datetime:
        """When the numbers in it were first seen, UTC."""
        return self.values_since or self.fetched_at


class SnapshotStore(Protocol):
    """Keeps answers, so that a lost connection costs freshness and not the brief."""

    def save(self, snapshot: Snapshot) -> None:
        """Keep an answer.

        Raises:
            StoreError: it could not be kept.
        """
        ...

    def latest(self, place: str, kind: str = "forecast") -> Snapshot | None:
        """Return the answer fetched last for a place, None if there is none.

        Raises:
            StoreError: the store cannot be read, or the stored answer is damaged.
        """
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class JobForm:
    """What a person typed, or a file holds, about a job: texts that nobody has judged yet.

    None means: not said. An empty text takes away what a job can do without, and is otherwise the
    same as not said. Numbers are in the unit their name gives; times of day are local to the site.

    Attributes:
        ref: reference; not said lets the store number the job.
        process: name of a process in the catalogue.
        day: ``2027-05-04``, ``today`` or ``tomorrow``.
        arrive: arrival window, ``09:00-10:30``.
        site: name of the site. A stored name brings the stored site along.
        latitude: degrees north.
        longitude: degrees east.
        zone: IANA time zone.
        elevation_m: height above the sea, m.
        surroundings: a word of ``Surroundings``.
        ground: a word of ``Ground``.
        cover: a word of ``Cover``.
        power: a word of ``Power``.
        downwind: sides and what lies there, each as ``n=neighbour's cars``.
        shade_before: in the shade of a house until.
        shade_after: in the shade of a house from.
        kerb: whether it lies at the kerb, with cars passing.
        panels: each as ``part:colour``, ``part:colour:material`` or with a surface behind it.
        heading: where the car's nose points, degrees or a compass word.
        car_there_from: the car is there from.
        back_by: the car must be back by.
        driven_until: its last drive before the work ends at.
        washed_until: its last wash before the work ends at.
        may_move: whether another day would do.
        repair_area_m2: area to be painted, m².
        customer: name of the customer.
        phone: the customer's number.
        email: the customer's address for mail.
        note: anything else about the customer or the car.
    """

    ref: str | None = None
    process: str | None = None
    day: str | None = None
    arrive: str | None = None
    site: str | None = None
    latitude: str | None = None
    longitude: str | None = None
    zone: str | None = None
    elevation_m: str | None = None
    surroundings: str | None = None
    ground: str | None = None
    cover: str | None = None
    power: str | None = None
    downwind: tuple[str, ...] | None = None
    shade_before: str | None = None
    shade_after: str | None = None
    kerb: bool | None = None
    panels: tuple[str, ...] | None = None
    heading: str | None = None
    car_there_from: str | None = None
    back_by: str | None = None
    driven_until: str | None = None
    washed_until: str | None = None
    may_move: bool | None = None
    repair_area_m2: str | None = None
    customer: str | None = None
    phone: str | None = None
    email: str | None = None
    note: str | None = None


class Event(StrEnum):
    """What happened to a booking."""

    ADDED = "added"
    CHANGED = "changed"
    MOVED = "moved"
    CANCELLED = "cancelled"
    AT = "at"  # the note is the stage of the process
    DONE = "done"
    SPOILED = "spoiled"


@dataclass(frozen=True, slots=True)
class JobEvent:
    """One line of a job's history.

    Attributes:
        at: when, aware, UTC.
        event: what.
        by: through which door it came (``"command line"``, ``"page"``), empty if not known.
        note: a few words, never a customer's details.
    """

    at: datetime
    event: Event
    by: str
    note: str


class BookingStore(Protocol):
    """Keeps jobs, the sites they are at, and what happened to each job.

    A job is stored together with its site. A site is known by its name: storing a job whose site
    has a stored name brings that site up to date for every job there. Nothing is ever deleted.
    The process of a stored job is a name only; it may have vanished from the catalogue since.
    """

    def add(self, job: Job, at: datetime, *, by: str = "") -> None:
        """Store a new job and the event ``added``.

        Raises:
            BookingError: the reference is taken; nothing was stored.
        """
        ...

    def add_all(self, jobs: Sequence[Job], at: datetime, *, by: str = "") -> None:
        """Store new jobs, each with the event ``added``: all of them or none.

        Raises:
            BookingError: a reference is taken; nothing was stored.
        """
        ...

    def get(self, ref: str) -> Job | None:
        """Return the job with this reference, None if there is none."""
        ...

    def between(
        self,
        first_day: date,
        last_day: date,
        states: Collection[JobState] = (JobState.BOOKED,),
    ) -> tuple[Job, ...]:
        """Return the jobs of these days, both included, in order of day, arrival and reference."""
        ...

    def replace(
        self,
        job: Job,
        at: datetime,
        event: Event,
        note: str = "",
        *,
        by: str = "",
        was: Job | None = None,
    ) -> None:
        """Put ``job`` in the place of the stored one with its reference and store the event.

        Args:
            job: the job as it shall be from now on.
            at: when, aware, UTC.
            event: what happened.
            note: a few words for the history, never a customer's details.
            by: through which door the change came.
            was: the job as the caller last read it. If the stored one differs, somebody else was
                quicker and nothing is written. None overwrites whatever is there.

        Raises:
            BookingError: there is no such job, or it is no longer what ``was`` says.
        """
        ...

    def next_ref(self) -> str:
        """Return a short reference that is free now: ``J`` and a number.

        It is not reserved; ``add`` decides who was first.
        """
        ...

    def sites(self) -> tuple[Site, ...]:
        """Return every stored site, in order of name."""
        ...

    def history(self, ref: str) -> tuple[JobEvent, ...]:
        """Return what happened to a job, oldest first; empty if there is no such job."""
        ...

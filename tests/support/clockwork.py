"""Stand-ins for everything around the clock: time, briefs, reports, and an outbox in memory."""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta

from days import job

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.due import Key, Rhythm
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.verdict import Word
from sprayadvisor.services.health import Health
from sprayadvisor.services.rhythm import Clock

ZONE = "Europe/Dublin"
ANNA, BEN = "anna@example.org", "ben@example.org"
RHYTHM = Rhythm((ANNA, BEN), time(18), time(6, 30), time(21, 30), time(6), look_minute=20)
RAIN = Limiting(
    Check("wet_hour_mm", Origin("practice"), stop_max=0.1), 0, 0, 1.0, -0.9, Level.STOP, 1.0, 0
)
LIKELY = {Word.GO: (0.95, 0.95), Word.CARE: (0.2, 0.9), Word.NO_GO: (0.05, 0.05)}


class Time:
    """A clock that is set by hand."""

    def __init__(self, now):
        self.now = now

    def __call__(self):
        return self.now

    def on(self, **step):
        """Go on by so much, or back."""
        self.now += timedelta(**step)


def utc(text):
    """Return a UTC time of April 2026, ``"17 08:20"``; Dublin is an hour ahead."""
    return datetime.strptime(f"2026-04-{text}", "%Y-%m-%d %H:%M").replace(tzinfo=UTC)


class Jobs:
    """Bookings in a list."""

    def __init__(self, *jobs):
        self.jobs, self.fault = list(jobs), None

    def list(self, first_day=None, last_day=None):
        if self.fault:
            raise self.fault
        return tuple(one for one in self.jobs if first_day <= one.day <= last_day)


@dataclass
class Briefs:
    """Makes briefs whose verdicts are given by hand."""

    jobs: Jobs
    time: Time
    words: dict = field(default_factory=dict)
    fault: Exception | None = None
    made: list = field(default_factory=list)

    def make(self, day, moment):
        if self.fault:
            raise self.fault
        self.made.append((self.time.now, day, moment))
        entries = tuple(
            Entry(judgement(one, self.words.get(one.ref, Word.GO)))
            for one in self.jobs.list(day, day)
        )
        return Brief(moment, day, self.time.now, ZONE, "Curlew Strand", entries)


def judgement(booking, word):
    """Return a judgement without a plan; before the work begins that is enough."""
    limiting = RAIN if word is Word.NO_GO else None
    nan = (float("nan"), float("nan"))
    return Judgement(booking, word, likelihood=LIKELY.get(word, nan), limiting=limiting)


class Reports:
    """Nobody said where he is, unless it is put in here."""

    def __init__(self):
        self.by_ref = {}

    def report(self, booking):
        return self.by_ref.get(booking.ref)


class Said:
    """What was said, in memory."""

    def __init__(self):
        self.rows = []

    def keep(self, ref, day, subject, said):
        self.rows = [row for row in self.rows if row[:1] + row[2:3] != (ref, subject)]
        self.rows.append((ref, day, subject, said))

    def newest(self, ref, day):
        return tuple((row[2], row[3]) for row in reversed(self.rows) if row[:2] == (ref, day))


class Outbox:
    """An outbox in memory whose way out can fail."""

    def __init__(self, time):
        self.time = time
        self.ready, self.sent, self.contents = {}, [], {}
        self.fault = None
        self.put_fault_after = None

    def known(self, keys):
        return {key for key in keys if key in self.ready or key in self.contents}

    def delivered(self, keys):
        return {key for _, key in self.sent} & set(keys)

    def put(self, brief, recipient):
        self._put(Key(recipient, brief.moment.value, brief.day.isoformat()), brief)

    def put_notice(self, key, made, _entry):
        self._put(key, made)

    def put_missed(self, key):
        self._put(Key(key.recipient, "not_sent", f"{key.kind} {key.subject}"), key)

    def _put(self, key, content):
        if self.put_fault_after == 0:
            raise self.fault
        if self.put_fault_after is not None:
            self.put_fault_after -= 1
        if key not in self.contents:
            self.contents[key] = self.ready[key] = content

    def send(self, stopping):
        if self.fault and self.put_fault_after is None:
            raise self.fault
        for key in list(self.ready):
            if stopping():
                return
            self.sent.append((self.time.now, key))
            del self.ready[key]


@dataclass
class World:
    """A clock and all around it."""

    time: Time
    jobs: Jobs
    briefs: Briefs
    reports: Reports
    said: Said
    outbox: Outbox
    health: Health
    pings: list
    tidied: list
    clock: Clock

    def run(self, minutes, step=1):
        """Tick every ``step`` minutes."""
        for _ in range(0, minutes, step):
            self.clock.tick()
            self.time.on(minutes=step)

    def kinds(self):
        """Return recipient, kind and subject of what was sent, by the time of day in UTC."""
        return [(f"{at:%d %H:%M}", *key) for at, key in self.outbox.sent]

    def restarted(self):
        """Return the same world after a restart: what was only in memory is gone."""
        return replace(self, clock=replace(self.clock, _looked=set(), _pinged=set(), _tidied=[]))


def world(now="17 05:00", *jobs, recipients=(ANNA,), stopping=lambda: False):
    """Return a world at a time of April 2026 with these jobs, the usual one if none."""
    time = Time(utc(now))
    booked = Jobs(*(jobs or (job(),)))
    briefs, reports, said, outbox = Briefs(booked, time), Reports(), Said(), Outbox(time)
    health, pings, tidied = Health(time), [], []
    clock = Clock(
        jobs=booked,
        briefs=briefs,
        reports=reports,
        said=said,
        post=outbox,
        rhythm=replace(RHYTHM, recipients=recipients),
        zone=ZONE,
        policy=Policy(),
        health=health,
        now=time,
        ping=lambda: pings.append(time.now),
        tidy=lambda: tidied.append(time.now),
        stopping=stopping,
    )
    return World(time, booked, briefs, reports, said, outbox, health, pings, tidied, clock)

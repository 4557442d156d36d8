"""Three days on a fast clock over the true path, with faults drawn by a seed, and their counts.

Forecasts and mails go over real sockets, everything is kept in a real file, and each restart builds
everything anew. Expected is what the times ticked at allow, worked out without the code under test.
"""

import contextlib
import random
import sqlite3
from collections import Counter, defaultdict
from contextlib import closing
from dataclasses import replace
from datetime import UTC, time, timedelta
from email import message_from_bytes
from typing import NamedTuple
from zoneinfo import ZoneInfo

from clockwork import Time
from mail_server import HOST, MailServer, closed_port
from whole_brief import quick_services

from sprayadvisor.adapters.smtp import SmtpTransport
from sprayadvisor.adapters.store.engine import open_engine
from sprayadvisor.adapters.store.outbox import SqlOutbox, Worker
from sprayadvisor.demo import story
from sprayadvisor.demo.play import _form, _near, fixture_answers
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.demo.weather_server import WeatherServer
from sprayadvisor.services.ports.outbox import Sending

STEP = timedelta(minutes=5)
DAYS = 3
HOURS = 6 * 24  # of weather; more would only take longer
ZONE = ZoneInfo(story.ZONE)
RECIPIENTS = ("painter@example.org", "mate@example.org")
JOBS = [
    replace(story.BOOKINGS[0], ref=f"D{n}", day=story.FIRST_DAY + timedelta(days=n))
    for n in range(DAYS)
]
API_FAULTS = [fault for fault in Fault if fault is not Fault.OLD_DATA]
KINDS = ("api", "mail", "restart", "kill", "lock", "sleep", "clock")


class Killed(BaseException):
    """The process is gone, here in the middle of sending."""


class Counts(NamedTuple):
    """What three days came to.

    Attributes:
        faults: how many of each kind.
        due: briefs that fell due, by recipient.
        messages: lines of the ledger: briefs, change notices and notes.
        arrived: mails in the mailbox.
        lost: briefs of which nothing arrived, nor a note that says so.
        doubled: mails that were one too many.
        doubts: as the ledger counts them.
        wrong: what may not be, a sentence each.
    """

    faults: dict[str, int]
    due: int
    messages: int
    arrived: int
    lost: int
    doubled: int
    doubts: int
    wrong: tuple[str, ...]


class Deadly:
    """A transport that the process may die in, before or after the other side has the mail."""

    def __init__(self, transport, chance):
        self.transport, self.chance, self.longest_s = transport, chance, transport.longest_s
        self.deaths = 0

    def send(self, outgoing):
        if not self.deaths:
            return self.transport.send(outgoing)
        self.deaths -= 1
        if self.chance.random() < 0.5:
            self.transport.send(outgoing)
        raise Killed


class World:
    """All there is, and how it breaks."""

    def __init__(self, folder, seed, jobs, weather, mail):
        self.chance = random.Random(seed)
        self.folder, self.weather, self.mail = folder, weather, mail
        self.time = Time(story.NOW.astimezone(UTC) - timedelta(hours=1))
        self.counts = Counter(dict.fromkeys(KINDS, 0))
        self.mail_until = self.api_until = self.lock_until = self.time()
        self.no_server, self.starts = False, 0
        self.good, self.all = [], []  # local times ticked at: those without a lock or death, all
        self.start()
        for job in jobs:
            self.services.bookings.add(_form(job))

    def start(self):
        """Begin, or begin again: what was only in memory is gone."""
        environ = story.SETTINGS | {
            "SPRAYADVISOR_RECIPIENTS": ",".join(RECIPIENTS),
            "SPRAYADVISOR_DATA_DIR": str(self.folder),
            "SPRAYADVISOR_FORECAST__BASE_URL": self.weather.url,
        }
        self.starts += 1
        self.services = quick_services(environ, self.time, self.weather.url, self.weather.url)
        self.services.engine.dispose()
        self.services.engine = open_engine(
            f"sqlite:///{self.folder}/sprayadvisor.db", busy_timeout_s=0.02
        )
        self.services.outbox = SqlOutbox(
            self.services.engine, Worker("van", 10, f"{self.starts:02d}")
        )
        self.set_way()

    def set_way(self):
        """Have mails leave through the server, or where nobody listens."""
        port = closed_port() if self.no_server else self.mail.port
        way = SmtpTransport(
            host=HOST, port=port, security="none", sender="s@example.org", timeout_s=0.25,
            deadline_s=0.5,
            plain_allowed=True,
        )  # fmt: skip
        self.services.transport = Deadly(way, self.chance)
        if "delivery" in vars(self.services):
            self.services.delivery.transport = self.services.transport

    def restart(self):
        """End well and begin again."""
        self.services.close()
        self.start()

    def break_something(self):
        """Perhaps let something go wrong, and let what went wrong get well."""
        now, chance = self.time(), self.chance
        if now >= self.api_until:
            self.weather.faults.switch(None)
        if self.no_server and now >= self.mail_until:
            self.no_server = False
            self.set_way()
        kind = chance.choice(KINDS) if chance.random() < 0.08 else ""
        if not kind:
            return
        self.counts[kind] += 1
        if kind == "api":
            self.api_until = now + timedelta(minutes=chance.randint(5, 120))
            self.weather.faults.switch(chance.choice(API_FAULTS))
        elif kind == "mail":
            self.break_mail(now)
        elif kind == "restart":
            self.restart()
        elif kind == "kill":
            self.services.transport.deaths = 1
        elif kind == "lock":
            self.lock_until = now + timedelta(minutes=chance.randint(1, 15))
        elif kind == "sleep":
            self.time.on(minutes=chance.randint(10, 300))
        else:
            self.time.on(hours=chance.choice([-1, 1]))
            self.lock_until = min(self.lock_until, self.time() + timedelta(minutes=15))

    def break_mail(self, now):
        """Choose what the mail server does."""
        odd = self.chance.choice(["gone", "later", "busy", "drop"])
        if odd == "gone":
            self.no_server, self.mail_until = True, now + timedelta(minutes=20)
            self.set_way()
        elif odd == "drop":
            self.mail.drop += 1
        else:
            step, answer = ("RCPT", "450 4.2.0 later") if odd == "later" else ("MAIL", "421 busy")
            self.mail.answers[step] = [answer]

    def tick(self):
        """Tick once, perhaps with another writer in the way, perhaps to die in it."""
        local = self.time().astimezone(ZONE)
        self.all.append(local)
        with contextlib.ExitStack() as stack:
            if self.time() < self.lock_until:
                path = self.folder / "sprayadvisor.db"
                other = stack.enter_context(closing(sqlite3.connect(path, isolation_level=None)))
                other.execute("BEGIN IMMEDIATE")
            else:
                self.good.append(local)
            try:
                self.services.clock.tick()
            except Killed:
                self.good = [at for at in self.good if at is not local]
                stack.close()
                self.restart()


def changing(source, time, seed):
    """Return a source whose weather is another one each hour, as a new run brings it."""

    def weather(latitude, longitude):
        series = source(latitude, longitude)
        if series is None or "temperature_2m" not in series:
            return series
        hour = int(time().timestamp() // 3600)
        run = random.Random(seed * 100_000 + hour // 3)
        gusts, warmer = run.uniform(0.7, 1.8), hour % 7 * 0.05
        series = {name: column[:HOURS] for name, column in series.items()}
        return series | {
            "wind_gusts_10m": [g and round(g * gusts, 1) for g in series["wind_gusts_10m"]],
            "temperature_2m": [t and round(t + warmer, 2) for t in series["temperature_2m"]],
            "dew_point_2m": [t and round(t + warmer, 2) for t in series["dew_point_2m"]],
        }

    return weather


def three_days(folder, seed, jobs=JOBS):
    """Live through three days with these bookings and return what came of them."""
    time = Time(None)
    source = changing(_near(fixture_answers()), time, seed)
    air = _near(fixture_answers("air_quality"))
    with WeatherServer(source, air) as weather, MailServer() as mail:
        w = World(folder, seed, jobs, weather, mail)
        time.now = w.time()
        ends = w.time() + timedelta(days=DAYS)
        while w.time() < ends:
            w.break_something()
            w.tick()
            w.time.on(seconds=STEP.total_seconds())
            time.now = w.time()
        settle(w)
        lines = w.services.outbox.ledger()
        w.services.close()
    return counted(w, lines, mail.mails)


def settle(w):
    """Let everything get well and what waits go out, short of the next brief."""
    w.weather.faults.switch(None)
    w.mail.answers.clear()
    w.mail.drop = 0
    w.no_server, w.lock_until = False, w.time()
    w.restart()
    for _ in range(8):
        w.tick()
        w.time.on(minutes=5)


def briefs_of(seen):
    """Return the keys of every brief that could be made at these local times."""
    found = set()
    for at in seen:
        if time(6, 30) <= at.time() < time(12):
            found |= {(who, "morning", str(at.date())) for who in RECIPIENTS}
        if time(18) <= at.time() < time(21, 30):
            day = str(at.date() + timedelta(days=1))
            found |= {(who, "evening", day) for who in RECIPIENTS}
    return found


def missed_of(seen, found):
    """Return the notes owed for mornings that nobody was awake in."""
    owed = set()
    for at in seen:
        for who in RECIPIENTS:
            today, yesterday = str(at.date()), str(at.date() - timedelta(days=1))
            before = {(who, "evening", today), (who, "morning", yesterday)}
            if at.time() >= time(12) and before & found and (who, "morning", today) not in found:
                owed.add((who, "not_sent", f"morning {today}"))
    return owed


def counted(w, lines, mails):
    """Hold ledger and mailbox against what was due."""
    by_id = defaultdict(list)
    for mail in mails:
        by_id[message_from_bytes(mail.content)["Message-ID"]].append(mail)
    copies = {tuple(line.key): by_id.pop(line.message_id, []) for line in lines}
    keys = Counter(tuple(line.key) for line in lines)
    briefs = {key for key in keys if key[1] in ("morning", "evening")}
    notes = {key for key in keys if key[1] == "not_sent"}
    must, may = briefs_of(w.good), briefs_of(w.all)
    wrong = [f"in no ledger: {message_id}" for message_id in by_id]
    wrong += [f"{key} is twice in the ledger" for key, n in keys.items() if n > 1]
    wrong += [f"{key} was due and is not in the ledger" for key in must - briefs]
    wrong += [f"{key} was never due" for key in briefs - may]
    wrong += [f"nothing tells of {key}" for key in missed_of(w.good, briefs) - notes]
    lost = len(must - briefs)
    for line in lines:
        arrived, key = copies[tuple(line.key)], tuple(line.key)
        told = (key[0], "not_sent", f"{key[1]} {key[2]}") in notes
        if line.state not in (Sending.SENT, Sending.EXPIRED):
            wrong.append(f"{key} is still {line.state.value}")
        if line.state is Sending.SENT and not arrived:
            wrong.append(f"{key} is called sent and never arrived")
        if line.state is Sending.EXPIRED and not told and key[1] != "not_sent":
            wrong.append(f"{key} expired and nothing tells of it")
        if len(arrived) > 1 + line.doubts:
            wrong.append(f"{key} came {len(arrived)} times with {line.doubts} doubts")
        if len(set(arrived)) > 1:
            wrong.append(f"{key} came in different words")
        lost += not arrived and not told and key in briefs
    changes = Counter((key[0], key[2].rpartition(" ")[0]) for key in keys if key[1] == "change")
    wrong += [f"{n} notices of {key}" for key, n in changes.items() if n > 2]
    return Counts(
        faults=dict(w.counts),
        due=len(must),
        messages=len(lines),
        arrived=len(mails),
        lost=lost,
        doubled=sum(max(0, len(some) - 1) for some in copies.values()),
        doubts=sum(line.doubts for line in lines),
        wrong=tuple(wrong),
    )

"""What a tick does: gather, decide, act.

    ledger, open jobs ── due? ─┬─ brief ── keep what is said ── put into the outbox ── send
                               └─ look ─── job by job: changed? ── the same with a notice
    brief sent to all ── ping      a new day ── forget what is old

What is said is kept before it is put into the outbox, and counts as said once the outbox has it. So
whatever is cut short is done again, from the same state and under the same key, and is sent once.
Two processes may tick at once. One thing that fails keeps nothing else from being done.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from sprayadvisor.advice.base_on import is_on
from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.change import NOTICES_A_DAY, notice
from sprayadvisor.advice.due import Due, Key, Kind, Rhythm, due, keys_asked, keys_of, missed
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.said import Said, said_by, said_of
from sprayadvisor.errors import SprayadvisorError
from sprayadvisor.services.health import Health
from sprayadvisor.services.ports.clock import Briefs, Jobs, Post, Reports, SaidStore

CHANGE = "change"

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Clock:
    """Does what is due.

    Attributes:
        jobs: the bookings.
        briefs: makes briefs.
        reports: where the painter is.
        said: what was said of each job.
        post: the outbox.
        rhythm: the user's day.
        zone: of the base; it says what "today" is.
        policy: the user's bounds.
        health: where it is noted how it went.
        now: the clock, aware.
        ping: told once a brief has been sent to all its recipients.
        tidy: told once a day to forget what is old.
        stopping: whether to begin nothing more.
    """

    jobs: Jobs
    briefs: Briefs
    reports: Reports
    said: SaidStore
    post: Post
    rhythm: Rhythm
    zone: str
    policy: Policy
    health: Health
    now: Callable[[], datetime]
    ping: Callable[[], None] = lambda: None
    tidy: Callable[[], object] = lambda: None
    stopping: Callable[[], bool] = lambda: False
    _looked: set[Key] = field(default_factory=set)
    _pinged: set[tuple[Key, ...]] = field(default_factory=set)
    _tidied: list[date] = field(default_factory=list)

    def tick(self) -> None:
        """Send what waits and do what is due. It never raises."""
        problems: list[str] = []
        with _told(problems):
            self._send()
        with _told(problems):
            for unit in self._units(problems):
                if self.stopping():
                    break
                with _told(problems):
                    unit()
        with _told(problems):
            self._ping_finished()
        with _told(problems):
            self._tidy_daily()
        self.health.ticked(tuple(problems))

    def _units(self, problems: list[str]) -> list[Callable[[], None]]:
        """Return what is due as units, each of which is done whole or again."""
        today = self._today()
        tomorrow = today + timedelta(days=1)
        ledger = {*self.post.known(keys_asked(today, self.rhythm)), *self._looked}
        open_jobs = self.jobs.list(today, tomorrow)
        open_days = {job.day for job in open_jobs}
        close_days = set()
        for job in open_jobs:
            with _told(problems):
                if self._has_base_on(job):
                    close_days.add(job.day)
        found = due(self.now(), self.zone, self.rhythm, ledger, open_days, close_days)
        late = missed(self.now(), self.zone, self.rhythm, ledger)
        units: list[Callable[[], None]] = [partial(self._own_up, late)] if late else []
        for kind, day in dict.fromkeys((one.kind, one.day) for one in found):
            these = [one for one in found if (one.kind, one.day) == (kind, day)]
            if kind is Kind.LOOK:
                units += [partial(self._look, one, problems) for one in these]
            else:
                units.append(partial(self._brief, these))
        return units

    def _brief(self, wanted: Sequence[Due]) -> None:
        """Make one brief for all recipients who have not got it, and send it."""
        kind, day = wanted[0].kind, wanted[0].day
        made = self.briefs.make(day, Moment(kind.value))
        for entry in made.entries:
            said = said_of(entry.judgement, kind.value, made.made_at)
            self.said.keep(entry.judgement.job.ref, day, kind.value, said)
        for one in wanted:
            self.post.put(made, one.key.recipient)
        log.info("The %s brief for %s is made: %d jobs.", kind.value, day, len(made.entries))
        self._send()

    def _own_up(self, late: Sequence[Key]) -> None:
        """Tell those who wait for a brief that none will come."""
        for key in late:
            self.post.put_missed(key)
        self._send()

    def _look(self, wanted: Due, problems: list[str]) -> None:
        """Judge the open jobs of a day anew and tell what changed."""
        moment = Moment.MORNING if wanted.day == self._today() else Moment.EVENING
        seen = self.briefs.make(wanted.day, moment)
        for entry in seen.entries:
            with _told(problems):
                self._look_at(entry, moment, seen.made_at)
        past = {key for key in self._looked if _hour(key) != _hour(wanted.key)}
        self._looked.difference_update(past)
        self._looked.add(wanted.key)
        self._send()

    def _look_at(self, entry: Entry, moment: Moment, now: datetime) -> None:
        """Put a notice into the outbox if one is owed for this job."""
        job = entry.judgement.job
        subject = self._free_subject(job.ref)
        if subject is None:
            return
        news = notice(
            entry.judgement,
            self._last_said(job),
            self.reports.report(job),
            self.policy,
            moment,
            now,
        )
        if news is None:
            return
        self.said.keep(job.ref, job.day, subject, said_by(news))
        for key in self._change_keys(subject):
            self.post.put_notice(key, news, entry)
        log.info("A change notice for job %s is made: %s.", job.ref, news.kind.value)

    def _has_base_on(self, job: Job) -> bool:
        """Return whether a job of today is between the base and the end of the bake."""
        if job.day != self._today():
            return False
        return is_on(self._last_said(job), self.reports.report(job), self.now())

    def _ping_finished(self) -> None:
        """Ping once for each brief that all its recipients have got."""
        today = self._today()
        current = {
            keys_of(Kind.MORNING, today, self.rhythm),
            keys_of(Kind.EVENING, today + timedelta(days=1), self.rhythm),
        }
        self._pinged.intersection_update(current)
        for keys in sorted(current - self._pinged):
            if keys and set(keys) <= set(self.post.delivered(keys)):
                self._pinged.add(keys)
                self.ping()

    def _tidy_daily(self) -> None:
        """Forget what is old, once in each local day."""
        today = self._today()
        if self._tidied != [today]:
            self._tidied[:] = [today]
            self.tidy()

    def _free_subject(self, ref: str) -> str | None:
        """Return the subject of the next notice on a job today, None if it has had them all."""
        for number in range(1, NOTICES_A_DAY + 1):
            subject = f"{ref} {self._today()} {number}"
            if not self._was_put(subject):
                return subject
        return None

    def _last_said(self, job: Job) -> Said | None:
        """Return the last thing said of a job that the outbox has."""
        for subject, said in self.said.newest(job.ref, job.day):
            if self._was_put(subject) or self._was_made(subject, job.day):
                return said
        return None

    def _was_made(self, subject: str, day: date) -> bool:
        """Return whether the outbox has a brief for any recipient."""
        if subject not in (Kind.EVENING, Kind.MORNING):
            return False
        return bool(self.post.known(keys_of(Kind(subject), day, self.rhythm)))

    def _was_put(self, subject: str) -> bool:
        """Return whether the outbox has a notice for every recipient."""
        keys = self._change_keys(subject)
        return set(keys) <= set(self.post.known(keys))

    def _change_keys(self, subject: str) -> list[Key]:
        return [Key(recipient, CHANGE, subject) for recipient in self.rhythm.recipients]

    def _send(self) -> None:
        """Send what waits, except in the quiet hours."""
        local = self.now().astimezone(ZoneInfo(self.zone))
        if not self.rhythm.is_quiet(local.time()):
            self.post.send(self.stopping)

    def _today(self) -> date:
        return self.now().astimezone(ZoneInfo(self.zone)).date()


def _hour(key: Key) -> str:
    """Return the hour of a look, without its quarter."""
    return key.subject.rsplit(" ", 1)[-1].partition(":")[0]


@contextmanager
def _told(problems: list[str]) -> Iterator[None]:
    """Log what goes wrong inside and go on after it."""
    try:
        yield
    except SprayadvisorError as error:
        log.error("%s", error)  # noqa: TRY400 - the sentence says it all
        problems.append(str(error))
    except Exception as error:
        log.exception("A defect kept something from being done.")
        problems.append(f"A defect ({type(error).__name__}) kept something from being done.")

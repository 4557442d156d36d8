"""Messages into the outbox, and from there on their way: each once, or told why not.

    put ─▸ outbox ─ claim ─▸ transport ─┬─ accepted ─▸ sent
              ▴                         ├─ for now ──▸ back, with a growing wait
              └──── put back ◂──────────┘
                                        ├─ for good ─▸ failed  ┐ with a note to the recipient
              past its use ─────────────────────────▸ expired  ┘ in the same step

No transaction is open while a message is on its way. What the other side has accepted is marked at
once; where the mark cannot be written it is kept in mind and written before anything else is sent,
so that only the death of the process leaves a doubt. A doubt is counted, and settled by sending the
same bytes again.
"""

from __future__ import annotations

import logging
import random
import time as steady_clock
import uuid
from collections import Counter
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from email.utils import format_datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from sprayadvisor.advice.brief import Brief, Entry
from sprayadvisor.advice.due import Key, Rhythm, morning_ends
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.said import Kind, Notice
from sprayadvisor.errors import DeliveryError
from sprayadvisor.render.email import Rendered, brief_message, to_email_message
from sprayadvisor.render.html import NO_LINKS, MailLinks
from sprayadvisor.render.not_sent import not_sent_message
from sprayadvisor.render.notice import notice_message
from sprayadvisor.services.ports.outbox import (
    LONGEST_WAIT,
    Claim,
    Outbox,
    Outgoing,
    Sending,
    Transport,
)
from sprayadvisor.units import Display

NOT_SENT = "not_sent"
FIRST_WAIT = timedelta(minutes=1)
LAST_WAIT = timedelta(minutes=30)
# Between the deadline of a transport and the end of a claim: finding a name may take a while, and
# so may writing down that the message is sent.
CLAIM_MARGIN = timedelta(minutes=2)
ROUND_S = 300.0  # whoever ticks wants to get on with what else is due
_NOBODY = "This computer was off, asleep or busy when it was time to send it."
_AT_ONCE = (Kind.COVER, Kind.CLEAR, Kind.LAMP)
_AT_ONCE_FOR = timedelta(minutes=30)  # trade judgement: the coat in question is done by then
_CHANGE_FOR = timedelta(hours=1)
_NOTE_FOR = timedelta(days=1)

log = logging.getLogger(__name__)


class Report(NamedTuple):
    """What came of one round, as numbers of messages.

    Attributes:
        sent: accepted by the other side.
        postponed: to be tried again.
        failed: refused for good.
        expired: past their use.
        doubts: that may have arrived unknown to us, now or when a process died.
    """

    sent: int = 0
    postponed: int = 0
    failed: int = 0
    expired: int = 0
    doubts: int = 0


@dataclass(slots=True)
class Delivery:
    """``Post`` through an outbox; its contract is in ``services.ports.clock``.

    Any method may raise the outbox's ``StoreError``; then nothing is lost, and what was put in or
    accepted stays so.

    Attributes:
        outbox: where messages wait.
        transport: how they leave.
        now: the clock, aware.
        rhythm: the user's day, for how long a brief is of use.
        zone: of the base.
        sender: address the mails come from.
        business: name of the business.
        display: how numbers are shown.
        links: returns where the page shows a day and its jobs.
        stop: address of somebody who takes a recipient out, empty where nobody is known to.
        tell: told in a sentence what keeps a message from being sent.
        jitter: a number from 0 to 1, so that not all try again at once.
        steady: a clock that nobody sets, seconds.
    """

    outbox: Outbox
    transport: Transport
    now: Callable[[], datetime]
    rhythm: Rhythm
    zone: str
    sender: str
    business: str = ""
    display: Display = field(default_factory=Display)
    links: Callable[[date, Collection[str]], MailLinks] = lambda _day, _refs: NO_LINKS
    stop: str = ""
    tell: Callable[[str], None] = lambda _: None
    jitter: Callable[[], float] = random.random
    steady: Callable[[], float] = steady_clock.monotonic
    _accepted: list[Claim] = field(default_factory=list)
    _shut_until: datetime | None = None
    _begun: bool = False
    _last_rendered: tuple[Brief, Rendered] | None = None

    def known(self, keys: Collection[Key]) -> set[Key]:
        """Return those of the keys that the outbox has, whatever became of them."""
        return self.outbox.known(keys)

    def delivered(self, keys: Collection[Key]) -> set[Key]:
        """Return those of the keys whose message has left for good."""
        return self.outbox.delivered(keys)

    def put(self, brief: Brief, recipient: str) -> bool:
        """Put a brief in, unless the outbox has it; return whether it was put in."""
        key = Key(recipient, brief.moment.value, brief.day.isoformat())
        return self._put(
            key,
            useful_until(brief.moment, brief.day, self.rhythm, self.zone),
            lambda: self._brief_message(brief),
        )

    def put_notice(self, key: Key, made: Notice, entry: Entry) -> bool:
        """Put a change notice in, unless the outbox has it; return whether it was put in."""
        links = self.links(made.found.job.day, [made.found.job.ref])
        return self._put(
            key,
            notice_until(made),
            lambda: notice_message(made, entry, self.business, self.display, links),
        )

    def put_missed(self, key: Key) -> bool:
        """Put in the note that a brief was never made; return whether it was put in."""
        return self._put(
            _note_key(key),
            self.now() + _NOTE_FOR,
            lambda: not_sent_message(key, _NOBODY, doubtful=False),
        )

    def send(self, stopping: Callable[[], bool] = lambda: False) -> Report:
        """Send what is due, until nothing is, it shall stop, or the round has lasted long enough.

        What goes wrong with a message is in the ledger, in the log and told, and raises nothing.
        """
        self._last_rendered = None  # it is put in; a brief holds all its weather, some 25 MB
        self._mark_accepted()
        tally = Counter(doubts=self._freed())
        ends = self.steady() + ROUND_S
        while not stopping() and self.steady() < ends:
            now = self.now()
            until = now + timedelta(seconds=self.transport.longest_s) + CLAIM_MARGIN
            claim = self.outbox.claim(now, until, useless_only=self._is_shut(now))
            if claim is None:
                break
            tally["doubts"] += claim.taken_over
            tally.update(self._deal_with(claim))
        return Report(**tally)

    def _freed(self) -> int:
        """Take back what dead processes held, and at the start have everything tried at once."""
        freed = self.outbox.free_dead_claims()
        if not self._begun:
            # Whoever starts it again has mended something; and a clock set back holds nothing up.
            self.outbox.hurry(self.now())
            self._begun = True
        return freed

    def _brief_message(self, brief: Brief) -> Rendered:
        """Return a brief in words and pictures, which are the same for all its recipients."""
        if self._last_rendered is None or self._last_rendered[0] is not brief:
            links = self.links(brief.day, [entry.judgement.job.ref for entry in brief.entries])
            self._last_rendered = (brief, brief_message(brief, self.display, links))
        return self._last_rendered[1]

    def _put(self, key: Key, expires_at: datetime, render: Callable[[], Rendered]) -> bool:
        """Put a message in; what is in is not rendered again."""
        if self.outbox.known([key]):
            return False
        return self.outbox.enqueue(self._outgoing(key, render(), expires_at), self.now())

    def _outgoing(self, key: Key, rendered: Rendered, expires_at: datetime) -> Outgoing:
        """Return a message with all its headers, as the bytes that every try sends."""
        message_id = f"<{uuid.uuid4().hex}@{self.sender.rpartition('@')[2]}>"
        date = format_datetime(self.now().astimezone(ZoneInfo(self.zone)))
        mail = to_email_message(rendered, key.recipient, self.sender, message_id, date, self.stop)
        return Outgoing(key, message_id, mail.as_bytes(), expires_at.astimezone(UTC))

    def _deal_with(self, claim: Claim) -> dict[str, int]:
        """Send what was claimed, or close it as useless; return what to count."""
        if claim.outgoing.expires_at <= self.now():
            why = claim.problem or _NOBODY
            return self._give_up(claim, Sending.EXPIRED, why)
        try:
            self.transport.send(claim.outgoing)
        except DeliveryError as error:
            return self._not_sent(claim, error)
        self._accepted.append(claim)
        self._mark_accepted()
        log.info("Sent: %s.", _named(claim.outgoing.key))
        return {"sent": 1}

    def _mark_accepted(self) -> None:
        """Write down what the other side has, oldest first."""
        while self._accepted:
            claim = self._accepted[0]
            if not self.outbox.close(claim, Sending.SENT, self.now()):
                log.warning("%s was taken over while being sent.", _named(claim.outgoing.key))
            self._accepted.pop(0)

    def _not_sent(self, claim: Claim, error: DeliveryError) -> dict[str, int]:
        """Write down what kept a message from being sent; return what to count."""
        log.warning("Not sent: %s. %s", _named(claim.outgoing.key), error)
        self.tell(str(error))
        if error.permanent:
            return self._give_up(claim, Sending.FAILED, str(error))
        again = self.now() + self._wait(claim.tries, error.wait_s)
        if error.for_all:
            self._shut_until = again
        self.outbox.postpone(claim, again, str(error), doubtful=error.doubtful)
        return {"postponed": 1, "doubts": int(error.doubtful)}

    def _give_up(self, claim: Claim, state: Sending, why: str) -> dict[str, int]:
        """Close a message and put in the note that tells of it; return what to count."""
        key = claim.outgoing.key
        note = None
        if key.kind != NOT_SENT:
            note = self._outgoing(
                _note_key(key),
                not_sent_message(key, why, doubtful=claim.doubts > 0),
                self.now() + _NOTE_FOR,
            )
        self.outbox.close(claim, state, self.now(), why, note)
        log.warning("%s is %s.", _named(key), state.value)
        return {state.value: 1}

    def _wait(self, tries: int, at_least_s: float) -> timedelta:
        """Return how long to wait after so many tries: twice as long each time, give or take."""
        doubled = FIRST_WAIT * (1 << min(tries - 1, 10))
        usual = min(doubled, LAST_WAIT) * (0.75 + 0.5 * self.jitter())
        return min(max(usual, timedelta(seconds=at_least_s)), LONGEST_WAIT)

    def _is_shut(self, now: datetime) -> bool:
        """Return whether the way out is to be left alone; a clock set back opens it."""
        if self._shut_until is None:
            return False
        return timedelta() < self._shut_until - now <= LONGEST_WAIT


def _note_key(key: Key) -> Key:
    """Return the key of the note that tells of a message not sent."""
    return Key(key.recipient, NOT_SENT, f"{key.kind} {key.subject}")


def useful_until(moment: Moment, day: date, rhythm: Rhythm, zone: str) -> datetime:
    """Return until when a brief is of use, as ``advice.due`` has it, UTC.

    The evening brief: until the quiet hours begin or its own day does. The morning brief: until the
    first coat would be on.
    """
    if moment is Moment.EVENING:
        eve = day - timedelta(days=1)
        quiet = rhythm.quiet_from != rhythm.quiet_to and rhythm.quiet_from > rhythm.evening
        ends = (eve, rhythm.quiet_from) if quiet else (day, time())
    else:
        ends = (day, morning_ends(rhythm))
    return datetime.combine(*ends, tzinfo=ZoneInfo(zone)).astimezone(UTC)


def notice_until(made: Notice) -> datetime:
    """Return until when a change notice is of use, UTC: what is to be done at once, half an hour.

    Any other until the painter is due at the job, or an hour, whichever is longer.
    """
    if made.kind in _AT_ONCE:
        return made.made_at + _AT_ONCE_FOR
    job = made.found.job
    due = datetime.combine(job.day, job.arrive_to, tzinfo=ZoneInfo(job.site.zone))
    return max(due.astimezone(UTC), made.made_at + _CHANGE_FOR)


def _named(key: Key) -> str:
    """Return a message as the log names it, without its recipient."""
    return f"{key.kind} {key.subject}"

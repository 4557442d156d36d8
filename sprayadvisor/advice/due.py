"""What is due at a moment: evening brief, morning brief, hourly look.

Nothing here remembers or waits. A thing is due while it is still useful and the ledger has no entry
for it, so a tick that comes late, twice or from another process changes nothing:

    evening brief   from its time to midnight, outside the quiet hours; for tomorrow
    morning brief   from its time to noon, outside the quiet hours; for today
    look            once in each hour, outside the quiet hours, at a day's open jobs, from the brief
                    that told of that day on; once in each quarter while a base is on, for then
                    minutes count

Times of day are read off the wall clock of the zone. A time that a clock change skips is past at
the next tick; one that comes twice finds its entry in the ledger.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from typing import NamedTuple
from zoneinfo import ZoneInfo

NOON = time(12)  # a morning brief that comes later finds the first coat on


class Kind(StrEnum):
    """What may be due."""

    EVENING = "evening"
    MORNING = "morning"
    LOOK = "look"


class Key(NamedTuple):
    """What the ledger knows a thing by: whom it is for, what it is, what it is about."""

    recipient: str
    kind: str
    subject: str


@dataclass(frozen=True, slots=True)
class Rhythm:
    """The user's day.

    Attributes:
        recipients: who gets the briefs.
        evening: local time of the brief for tomorrow.
        morning: local time of the brief for today.
        quiet_from: no message from this local time on,
        quiet_to: until this one, over midnight too; the same time twice: never quiet.
        look_minute: minute of the UTC hour from which a look is due.
    """

    recipients: tuple[str, ...]
    evening: time
    morning: time
    quiet_from: time
    quiet_to: time
    look_minute: int = 0

    def is_quiet(self, at: time) -> bool:
        """Return whether a local time of day lies in the quiet hours."""
        return is_quiet(at, self.quiet_from, self.quiet_to)


@dataclass(frozen=True, slots=True)
class Due:
    """One thing that is due.

    Attributes:
        key: what to enter in the ledger once it is done.
        kind: what it is.
        day: the local day it is about.
    """

    key: Key
    kind: Kind
    day: date


def is_quiet(at: time, quiet_from: time, quiet_to: time) -> bool:
    """Return whether ``at`` lies from ``quiet_from`` up to ``quiet_to``, over midnight too."""
    if quiet_from <= quiet_to:
        return quiet_from <= at < quiet_to
    return at >= quiet_from or at < quiet_to


def due(
    now: datetime,
    zone: str,
    rhythm: Rhythm,
    ledger: Collection[Key],
    open_days: Collection[date] = (),
    close_days: Collection[date] = (),
) -> tuple[Due, ...]:
    """Return what is due, briefs first.

    Args:
        now: aware.
        zone: whose wall clock counts.
        rhythm: the user's day.
        ledger: keys of what was done already, whatever became of it.
        open_days: local days with jobs that are still open.
        close_days: those on which a base is on right now.
    """
    local = now.astimezone(ZoneInfo(zone))
    if rhythm.is_quiet(local.time()):
        return ()
    today, tomorrow = local.date(), local.date() + timedelta(days=1)
    found = []
    if rhythm.morning <= local.time() < morning_ends(rhythm):
        found += _briefs(Kind.MORNING, today, rhythm)
    if local.time() >= rhythm.evening:
        found += _briefs(Kind.EVENING, tomorrow, rhythm)
    for day in (today, tomorrow):
        close = day in close_days
        in_time = close or now.astimezone(UTC).minute >= rhythm.look_minute
        if day in open_days and in_time and _told(day, local, rhythm, ledger):
            found.append(_look(now, day, close=close))
    return tuple(one for one in found if one.key not in ledger)


def missed(now: datetime, zone: str, rhythm: Rhythm, ledger: Collection[Key]) -> tuple[Key, ...]:
    """Return the keys of today's morning brief that nobody made while it was of use.

    An evening brief that was slept through is followed by the morning's; after that nothing comes
    until the evening, and silence could be taken for a go. Whoever got nothing since the day
    before yesterday has just begun, or has long noticed.

    Args:
        now: aware.
        zone: whose wall clock counts.
        rhythm: the user's day.
        ledger: keys of what was done already; ``keys_asked`` names those that matter.
    """
    local = now.astimezone(ZoneInfo(zone))
    if local.time() < morning_ends(rhythm):
        return ()
    before = {key.recipient for key in ledger if key in _before(local.date(), rhythm)}
    mornings = keys_of(Kind.MORNING, local.date(), rhythm)
    return tuple(key for key in mornings if key not in ledger and key.recipient in before)


def _before(today: date, rhythm: Rhythm) -> tuple[Key, ...]:
    """Return the keys of the briefs before this morning's."""
    yesterday = today - timedelta(days=1)
    return (
        *keys_of(Kind.EVENING, today, rhythm),
        *keys_of(Kind.MORNING, yesterday, rhythm),
        *keys_of(Kind.EVENING, yesterday, rhythm),
    )


def keys_asked(today: date, rhythm: Rhythm) -> tuple[Key, ...]:
    """Return the keys that ``due`` and ``missed`` look for in the ledger on a local day."""
    return (
        *keys_of(Kind.MORNING, today, rhythm),
        *keys_of(Kind.EVENING, today + timedelta(days=1), rhythm),
        *_before(today, rhythm),
    )


def keys_of(kind: Kind, day: date, rhythm: Rhythm) -> tuple[Key, ...]:
    """Return the keys of one brief, one for each recipient."""
    return tuple(one.key for one in _briefs(kind, day, rhythm))


def morning_ends(rhythm: Rhythm) -> time:
    """Return the local time from which the morning brief is of no more use."""
    if rhythm.morning < NOON:
        return NOON
    return rhythm.evening  # who gets up at noon has the afternoon for a morning


def _briefs(kind: Kind, day: date, rhythm: Rhythm) -> list[Due]:
    subject = day.isoformat()
    return [Due(Key(who, kind.value, subject), kind, day) for who in rhythm.recipients]


def _look(now: datetime, day: date, *, close: bool) -> Due:
    """Return the look of this hour or quarter; both are UTC, so that none comes twice."""
    at = now.astimezone(UTC)
    quarter = f":{at.minute // 15 * 15:02d}" if close else ""
    subject = f"{day.isoformat()} {at:%Y-%m-%dT%H}{quarter}"
    return Due(Key("", Kind.LOOK.value, subject), Kind.LOOK, day)


def _told(day: date, local: datetime, rhythm: Rhythm, ledger: Collection[Key]) -> bool:
    """Return whether the brief that tells of a day first was made, or comes no more."""
    if day > local.date():
        return any(key in ledger for key in keys_of(Kind.EVENING, day, rhythm))
    made = any(key in ledger for key in keys_of(Kind.MORNING, day, rhythm))
    return made or local.time() >= morning_ends(rhythm)

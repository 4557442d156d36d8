"""What is due: once a local day whatever the clock does, or not at all once it is of no use."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from sprayadvisor.advice.due import (
    Key,
    Kind,
    Rhythm,
    due,
    is_quiet,
    keys_asked,
    keys_of,
    missed,
    morning_ends,
)

ANNA, BEN = "anna@example.org", "ben@example.org"
RHYTHM = Rhythm((ANNA,), time(18), time(6, 30), time(21, 30), time(6), look_minute=20)
LONDON = "Europe/London"
# Zone, and the local days on which its clocks change in 2026 (tz database, tzdata package):
# London 29 March and 25 October at 01:00 UTC, New York 8 March and 1 November at 02:00 local,
# Lord Howe by half an hour on 5 April and 4 October at 02:00 local, Brisbane never.
CHANGES = {
    "Europe/London": (date(2026, 3, 29), date(2026, 10, 25)),
    "America/New_York": (date(2026, 3, 8), date(2026, 11, 1)),
    "Australia/Lord_Howe": (date(2026, 4, 5), date(2026, 10, 4)),
    "Australia/Brisbane": (date(2026, 3, 29), date(2026, 10, 25)),
}


def at(text, zone=LONDON):
    """Return a local time of April 2026, ``"17 18:00"``."""
    return datetime.strptime(f"2026-04-{text}", "%Y-%m-%d %H:%M").replace(tzinfo=ZoneInfo(zone))


def kinds(now, ledger=(), open_days=(), rhythm=RHYTHM, zone=LONDON):
    """Return what is due as pairs of kind and day of April."""
    found = due(now, zone, rhythm, ledger, open_days)
    return [(one.kind.value, one.day.day) for one in found]


@pytest.mark.parametrize(
    ("now", "expected"),
    [
        ("17 05:59", []),
        ("17 06:29", []),
        ("17 06:30", [("morning", 17)]),
        ("17 11:59", [("morning", 17)]),
        ("17 12:00", []),
        ("17 17:59", []),
        ("17 18:00", [("evening", 18)]),
        ("17 21:29", [("evening", 18)]),
        ("17 21:30", []),
        ("18 00:10", []),
    ],
)
def test_a_brief_is_due_while_it_is_of_use(now, expected):
    """The morning's until noon, the evening's until the quiet hours."""
    assert kinds(at(now)) == expected


@pytest.mark.parametrize(
    ("now", "expected"), [("17 23:59", [("evening", 18)]), ("18 00:00", []), ("17 03:00", [])]
)
def test_without_quiet_hours_midnight_ends_the_evening(now, expected):
    """After midnight "tomorrow" is another day."""
    never = replace(RHYTHM, quiet_from=time(0), quiet_to=time(0))
    assert kinds(at(now), rhythm=never) == expected


@pytest.mark.parametrize(
    ("morning", "ends"), [(time(6, 30), time(12)), (time(12), time(18)), (time(13), time(18))]
)
def test_a_morning_brief_at_noon_still_has_its_time(morning, ends):
    """No setting leaves a brief without a moment at which it is due."""
    late = replace(RHYTHM, morning=morning)
    assert morning_ends(late) == ends
    now = datetime.combine(date(2026, 4, 17), morning, ZoneInfo(LONDON))
    assert kinds(now, rhythm=late) == [("morning", 17)]


@pytest.mark.parametrize(
    ("clock", "quiet"),
    [("21:29", False), ("21:30", True), ("23:59", True), ("00:00", True), ("06:00", False)],
)
def test_quiet_hours_reach_over_midnight(clock, quiet):
    """From the first time on, up to the second."""
    assert RHYTHM.is_quiet(time.fromisoformat(clock)) is quiet


@pytest.mark.parametrize(("hour", "quiet"), [(8, False), (9, True), (10, False)])
def test_quiet_hours_within_a_day_put_a_brief_off(hour, quiet):
    """A brief that could not go before waits until they are over."""
    assert is_quiet(time(hour), time(9), time(10)) is quiet
    nap = replace(RHYTHM, quiet_from=time(9), quiet_to=time(10))
    assert (kinds(at(f"17 {hour:02}:00"), rhythm=nap) == []) is quiet


def test_each_recipient_has_a_brief_of_their_own():
    """What one has got is still due to the other."""
    both = replace(RHYTHM, recipients=(ANNA, BEN))
    found = due(at("17 18:05"), LONDON, both, {Key(ANNA, "evening", "2026-04-18")})
    assert [one.key for one in found] == [Key(BEN, "evening", "2026-04-18")]


def test_keys_of_a_day_are_those_that_come_due():
    """Whoever reads the ledger can ask for a day's briefs by name."""
    evening, morning = (due(at(now), LONDON, RHYTHM, ()) for now in ("17 18:00", "18 07:00"))
    day = date(2026, 4, 18)
    assert keys_of(Kind.EVENING, day, RHYTHM) == tuple(one.key for one in evening)
    assert keys_of(Kind.MORNING, day, RHYTHM) == tuple(one.key for one in morning)


TODAY, TOMORROW = date(2026, 4, 17), date(2026, 4, 18)
MADE = {Key(ANNA, "morning", "2026-04-17")}
BOTH_MADE = MADE | {Key(ANNA, "evening", "2026-04-18")}


@pytest.mark.parametrize(
    ("now", "ledger", "open_days", "expected"),
    [
        ("17 09:20", MADE, {TODAY}, [("look", 17)]),
        ("17 09:59", MADE, {TODAY}, [("look", 17)]),
        ("17 09:19", MADE, {TODAY}, []),  # not at this minute
        ("17 09:20", MADE, {TOMORROW}, []),  # nothing open
        ("17 09:20", (), {TODAY}, [("morning", 17)]),  # the brief comes first
        ("17 12:20", (), {TODAY}, [("look", 17)]),  # no brief comes any more
        ("17 18:20", BOTH_MADE, {TODAY, TOMORROW}, [("look", 17), ("look", 18)]),
        ("17 18:20", MADE, {TODAY, TOMORROW}, [("evening", 18), ("look", 17)]),
        ("17 21:45", BOTH_MADE, {TODAY, TOMORROW}, []),  # quiet
    ],
)
def test_a_look_is_due_at_open_jobs_that_were_told_of(now, ledger, open_days, expected):
    """Hourly, while a job is open, from its brief on."""
    assert kinds(at(now), ledger, open_days) == expected


def test_a_look_is_once_an_hour_even_when_the_hour_comes_twice():
    """Hours are counted in UTC, and a look has a key of its own in each."""
    first = due(at("17 09:30"), LONDON, RHYTHM, MADE, {TODAY})[0].key
    assert first == Key("", "look", "2026-04-17 2026-04-17T08")
    assert kinds(at("17 09:50"), MADE | {first}, {TODAY}) == []
    assert kinds(at("17 10:20"), MADE | {first}, {TODAY}) == [("look", 17)]


@pytest.mark.parametrize(
    ("now", "close", "subject"),
    [
        ("17 09:07", {TODAY}, "2026-04-17 2026-04-17T08:00"),
        ("17 09:15", {TODAY}, "2026-04-17 2026-04-17T08:15"),
        ("17 09:44", {TODAY}, "2026-04-17 2026-04-17T08:30"),
        ("17 09:44", {TOMORROW}, "2026-04-17 2026-04-17T08"),
    ],
)
def test_a_day_with_a_base_on_is_looked_at_by_the_quarter(now, close, subject):
    """At any minute, once in each quarter hour, and that day alone."""
    (one,) = due(at(now), LONDON, RHYTHM, MADE, {TODAY}, close)
    assert one.key.subject == subject
    assert due(at(now), LONDON, RHYTHM, MADE | {one.key}, {TODAY}, close) == ()
    assert due(at(now), LONDON, RHYTHM, MADE, {TOMORROW}, {TODAY}) == ()


EVE = Key(ANNA, "evening", "2026-04-17")
YESTERDAY = Key(ANNA, "morning", "2026-04-16")
MORNING = Key(ANNA, "morning", "2026-04-17")


@pytest.mark.parametrize(
    ("now", "ledger", "expected"),
    [
        ("17 12:00", {EVE}, (MORNING,)),
        ("17 23:00", {YESTERDAY}, (MORNING,)),
        ("17 11:59", {EVE}, ()),  # it may still come
        ("17 12:00", {EVE, MORNING}, ()),  # it came
        ("17 12:00", (), ()),  # nobody waits for it: this is the first day
        ("17 12:00", {Key(ANNA, "evening", "2026-04-15")}, ()),  # off for long
        ("17 12:00", {Key(BEN, "evening", "2026-04-17")}, ()),  # not a recipient any more
    ],
)
def test_a_morning_brief_that_nobody_made_is_missed(now, ledger, expected):
    """By those who had the one before, from the time on at which it would be useless."""
    assert missed(at(now), LONDON, RHYTHM, ledger) == expected
    assert set(ledger) & set(keys_asked(TODAY, RHYTHM)) == set(ledger) & {EVE, YESTERDAY, MORNING}


def run(ticks, zone, rhythm=RHYTHM):
    """Return the ledger after these ticks, and how often each key came due."""
    ledger, times = set(), {}
    for now in ticks:
        for one in due(now, zone, rhythm, ledger):
            times[one.key] = times.get(one.key, 0) + 1
            ledger.add(one.key)
    return times


def useful(ticks, zone, rhythm=RHYTHM):
    """Return the keys of all briefs that some tick could have made, worked out another way.

    Each tick's wall-clock minute is looked up in a written-out table of the day.
    """
    keys = set()
    for now in ticks:
        local = now.astimezone(ZoneInfo(zone))
        minute = local.hour * 60 + local.minute
        if 6 * 60 + 30 <= minute < 12 * 60:
            keys.add(Key(ANNA, "morning", str(local.date())))
        if 18 * 60 <= minute < 21 * 60 + 30:
            keys.add(Key(ANNA, "evening", str(local.date() + timedelta(days=1))))
    return keys


@pytest.mark.parametrize("zone", CHANGES)
@pytest.mark.parametrize("which", [0, 1])
def test_every_day_around_a_clock_change_has_both_briefs_once(zone, which):
    """A tick a minute over five days: each brief once, at its minute by the wall."""
    day = CHANGES[zone][which]
    begin = datetime.combine(day - timedelta(days=2), time(0), ZoneInfo(zone)).astimezone(UTC)
    ledger, when = set(), {}
    for minute in range(5 * 24 * 60 - 60):
        now = begin + timedelta(minutes=minute)
        for one in due(now, zone, RHYTHM, ledger):
            assert one.key not in when
            ledger.add(one.key)
            when[one.key] = now.astimezone(ZoneInfo(zone))
    days = [day + timedelta(days=n) for n in range(-2, 3)]
    expected = {Key(ANNA, "morning", str(one)) for one in days}
    expected |= {Key(ANNA, "evening", str(one + timedelta(days=1))) for one in days}
    assert set(when) == expected
    for key, local in when.items():
        assert local.time() == (time(6, 30) if key.kind == "morning" else time(18))


@pytest.mark.parametrize("zone", CHANGES)
@pytest.mark.parametrize("clock", [time(1, 30), time(2, 15), time(2, 30)])
def test_a_brief_at_an_hour_that_is_skipped_or_comes_twice_comes_once(zone, clock):
    """Even in the small hours of the two nights each day has its brief once."""
    small = replace(RHYTHM, morning=clock, quiet_from=time(22), quiet_to=time(1))
    for day in CHANGES[zone]:
        begin = datetime.combine(day - timedelta(days=1), time(12), ZoneInfo(zone))
        ticks = [begin.astimezone(UTC) + timedelta(minutes=n) for n in range(36 * 60)]
        times = run(ticks, zone, small)
        assert times[Key(ANNA, "morning", str(day))] == 1
        assert set(times.values()) == {1}


# How the clock may go on from one tick to the next: a minute, asleep, set forward or back.
steps = st.one_of(
    st.integers(30, 120),
    st.integers(30 * 60, 30 * 3600),
    st.sampled_from([3600, -3600, 86400, -86400]),
)


@given(
    zone=st.sampled_from(sorted(CHANGES)),
    which=st.integers(0, 1),
    moves=st.lists(steps, max_size=60),
)
@example(zone="Europe/London", which=0, moves=[86400, -86400, 86400, -86400])
@example(zone="Australia/Lord_Howe", which=1, moves=[3600] * 40)
def test_whatever_the_clock_does_a_brief_comes_once_or_expires(zone, which, moves):
    """Over random ticks: made exactly where a tick fell into its time, never twice."""
    day = CHANGES[zone][which]
    now = datetime.combine(day - timedelta(days=1), time(5), ZoneInfo(zone)).astimezone(UTC)
    ticks = [now]
    for seconds in moves:
        ticks.append(ticks[-1] + timedelta(seconds=seconds))
    times = run(ticks, zone)
    assert set(times) == useful(ticks, zone)
    assert set(times.values()) <= {1}


@given(minutes=st.integers(0, 3 * 24 * 60))
def test_two_processes_with_one_ledger_do_nothing_twice(minutes):
    """A second tick at the same moment finds nothing left."""
    now = datetime(2026, 3, 28, tzinfo=UTC) + timedelta(minutes=minutes)
    ledger = {one.key for one in due(now, LONDON, RHYTHM, (), {now.date()})}
    again = due(now, LONDON, RHYTHM, ledger, {now.date()})
    assert [one for one in again if one.kind is not Kind.LOOK] == []

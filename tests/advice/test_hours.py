"""Local days and hours on the UTC grid."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from days import SITE, job

from sprayadvisor.advice.hours import (
    arrival_steps,
    coming_steps,
    day_bounds,
    local_time,
    off_hours,
)
from sprayadvisor.advice.model import Site
from sprayadvisor.advice.policy import Policy

# zone, day, hours the day has: clock changes of 2026 by the tz database
DAYS = [
    ("Europe/Dublin", date(2026, 3, 29), 23),
    ("Europe/Dublin", date(2026, 10, 25), 25),
    ("America/New_York", date(2026, 3, 8), 23),
    ("America/New_York", date(2026, 11, 1), 25),
    ("Australia/Lord_Howe", date(2026, 4, 5), 24.5),
    ("Australia/Lord_Howe", date(2026, 10, 4), 23.5),
    ("Asia/Kathmandu", date(2026, 4, 5), 24),
]


def grid(begin: datetime, days: int = 3):
    """Return the beginnings of quarter hours from a UTC time on."""
    first = np.datetime64(begin.replace(tzinfo=None), "s")
    return first + np.arange(days * 96) * np.timedelta64(900, "s")


@pytest.mark.parametrize(("zone", "day", "hours"), DAYS)
def test_days_have_their_length(zone, day, hours):
    """A local day runs from midnight to midnight by the wall, whatever the clock does."""
    begin, end = day_bounds(day, zone)
    assert (end - begin).total_seconds() / 3600 == hours
    assert begin.astimezone(ZoneInfo(zone)).time() == time(0)


@pytest.mark.parametrize(("zone", "day", "hours"), DAYS)
def test_working_hours_follow_the_wall_clock(zone, day, hours):
    """Work is open from eight to half past six by the wall, on clock-change days too."""
    booking = job(site=Site("x", 0.0, 0.0, zone), day=day)
    begin = datetime(day.year, day.month, day.day, tzinfo=UTC)
    starts = grid(begin.replace(hour=0), 2)
    closed = off_hours(starts, booking, Policy())[0]
    local = [
        datetime.fromtimestamp(int(s.astype(np.int64)), tz=UTC).astimezone(ZoneInfo(zone))
        for s in starts
    ]
    expected = [0.0 if time(8) <= at.time() < time(18, 30) else 1.0 for at in local]
    assert closed.tolist() == expected


def test_the_bookings_own_hours_hold_on_its_day_only():
    """``car_there_from`` and ``back_by`` narrow the agreed day and no other."""
    booking = job(day=date(2026, 4, 17), car_there_from=time(10), back_by=time(16))
    starts = grid(datetime(2026, 4, 16, tzinfo=UTC))
    closed = off_hours(starts, booking, Policy())[0].reshape(3, 24, 4)
    open_hours = [int((1 - day).sum()) / 4 for day in closed]
    assert open_hours == [10.5, 6.0, 10.5]


def test_part_of_a_quarter_hour_is_closed():
    """A quarter hour that is not open to its end is closed."""
    booking = job(back_by=time(16, 10))
    starts = grid(datetime(2026, 4, 17, tzinfo=UTC), 1)
    closed = off_hours(starts, booking, Policy())[0]
    last_open = int(np.flatnonzero(closed == 0)[-1])
    assert starts[last_open] == np.datetime64("2026-04-17T14:45:00")


def test_arrival_steps_hold_both_ends():
    """The arrival window's own beginning and end may both be starts."""
    starts = grid(datetime(2026, 4, 16, tzinfo=UTC))
    steps = arrival_steps(starts, job(), datetime(2026, 4, 16, tzinfo=UTC))
    assert starts[steps[0]] == np.datetime64("2026-04-17T08:30:00")
    assert starts[steps[-1]] == np.datetime64("2026-04-17T10:00:00")


def test_arrival_steps_leave_out_the_past():
    """A start that is past is none, and a window that is over has no start."""
    starts = grid(datetime(2026, 4, 16, tzinfo=UTC))
    steps = arrival_steps(starts, job(), datetime(2026, 4, 17, 9, 5, tzinfo=UTC))
    assert starts[steps[0]] == np.datetime64("2026-04-17T09:15:00")
    assert arrival_steps(starts, job(), datetime(2026, 4, 17, 11, tzinfo=UTC)).size == 0


@pytest.mark.parametrize("day", [date(2026, 4, 10), date(2026, 5, 1)])
def test_arrival_outside_the_grid_has_no_steps(day):
    """A day before or beyond the forecast has no start."""
    starts = grid(datetime(2026, 4, 16, tzinfo=UTC))
    assert arrival_steps(starts, job(day=day), datetime(2026, 4, 1, tzinfo=UTC)).size == 0


def test_coming_steps_end_with_the_grid():
    """The look ahead is as long as asked, or as the forecast."""
    starts = grid(datetime(2026, 4, 16, tzinfo=UTC))
    now = datetime(2026, 4, 16, 1, 1, tzinfo=UTC)
    assert coming_steps(starts, now, 2.0).tolist() == list(range(5, 13))
    assert coming_steps(starts, now, 1000.0)[-1] == len(starts) - 1
    assert coming_steps(starts, datetime(2026, 5, 1, tzinfo=UTC), 2.0).size == 0


def test_local_time_in_a_gap_and_in_a_repeated_hour():
    """A skipped clock time is the same instant an hour later; of a repeated one the first."""
    assert local_time(date(2026, 3, 29), time(1, 30), SITE.zone) == datetime(
        2026, 3, 29, 1, 30, tzinfo=UTC
    )
    assert local_time(date(2026, 10, 25), time(1, 30), SITE.zone) == datetime(
        2026, 10, 25, 0, 30, tzinfo=UTC
    )

"""The board: worked out when something changed, read without waiting, honest about its age."""

import threading
from datetime import date, time, timedelta

import pytest
from clockwork import Briefs, Jobs, Time, utc
from days import job

from sprayadvisor.advice.due import is_quiet
from sprayadvisor.advice.policy import Moment
from sprayadvisor.errors import StoreError
from sprayadvisor.services.board import ANEW_AFTER, OLD_AFTER, Board
from sprayadvisor.units import Display

TODAY = date(2026, 4, 17)
ZONE = "Europe/Dublin"


class Revisions:
    """Numbers set by hand."""

    def __init__(self):
        self.of_bookings = self.of_weather = 1

    def bookings(self):
        return self.of_bookings

    def weather(self):
        return self.of_weather


class World:
    """A board and all around it, at eight in the morning."""

    def __init__(self, *jobs):
        self.time = Time(utc("17 07:00"))
        self.jobs = Jobs(*jobs)
        self.briefs = Briefs(self.jobs, self.time)
        self.revisions = Revisions()
        quiet = lambda at: is_quiet(at, time(21, 30), time(6))  # noqa: E731
        self.board = Board(
            self.briefs, self.jobs, self.revisions, self.time, ZONE, Display(), quiet
        )

    def made(self):
        """Work out what is out of date and return which days that were."""
        before = len(self.briefs.made)
        self.board.refresh()
        return [(day.day, moment) for _, day, moment in self.briefs.made[before:]]


@pytest.fixture
def world():
    """A job today, one in three days, one next week."""
    later = (job(ref=f"T{n}", day=TODAY + timedelta(days=n)) for n in (3, 7))
    return World(job(), *later)


def test_today_tomorrow_and_booked_days_are_worked_out_once(world):
    """Today by its morning bounds, the others by the evening's; days too far ahead not at all."""
    assert world.made() == [(17, Moment.MORNING), (18, Moment.EVENING), (20, Moment.EVENING)]
    assert world.made() == []
    shown = world.board.day(TODAY)
    assert shown.told.jobs[0].ref == "T1"
    assert world.board.day(TODAY + timedelta(days=7)) is None
    assert [world.board.covers(TODAY + timedelta(days=n)) for n in (-1, 0, 4, 5)] == [
        False, True, True, False,
    ]  # fmt: skip


@pytest.mark.parametrize("change", ["of_bookings", "of_weather"])
def test_a_change_has_all_of_it_worked_out_anew(world, change):
    """Of bookings or weather."""
    world.made()
    setattr(world.revisions, change, 2)
    assert len(world.made()) == 3


def test_weather_fetched_by_the_making_is_no_change(world):
    """Making a brief may itself fetch weather."""
    make = world.briefs.make

    def fetching(day, moment):
        world.revisions.of_weather += 1
        return make(day, moment)

    world.briefs.make = fetching
    assert len(world.made()) == 3
    assert world.made() == []


def test_after_a_quarter_of_an_hour_it_is_worked_out_anew(world):
    """Starts that are past must not be offered; a clock set back counts too."""
    world.made()
    world.time.now += ANEW_AFTER
    assert world.made() == []
    world.time.on(seconds=1)
    assert len(world.made()) == 3
    world.time.on(hours=-2)
    assert len(world.made()) == 3


def test_at_midnight_tomorrow_becomes_today(world):
    """With today's bounds; yesterday is let go of."""
    world.time.now = utc("17 22:55")  # five to midnight in Dublin
    world.made()
    world.time.on(minutes=6)
    assert (18, Moment.MORNING) in world.made()
    assert world.board.day(TODAY) is None
    assert world.board.today().day == 18


def test_what_is_shown_is_current_only_for_what_is_booked_now(world):
    """A changed booking is not judged yet, whatever its old verdict was."""
    world.made()
    shown = world.board.day(TODAY)
    assert world.board.is_current(TODAY)
    assert shown.fits(job())
    assert not shown.fits(job(heading_deg=10.0))
    assert not shown.fits(job(ref="other"))
    assert shown.entry("other") is None
    world.revisions.of_bookings = 2
    assert not world.board.is_current(TODAY)


def test_what_it_was_worked_out_from_is_let_go_of(world):
    """And whose job it is stands in one telling only."""
    world.made()
    shown = world.board.day(TODAY)
    for entry in shown.brief.entries:
        assert entry.judgement.climate is entry.judgement.play is None
    assert shown.brief.entries[0].judgement.job.customer.name == "Ms Test"
    assert "Ms Test" not in str(shown.nameless)


@pytest.mark.parametrize(
    ("fault", "words"),
    [(StoreError("There is no room left."), "There is no room left."),
     (RuntimeError("secret"), "A defect (RuntimeError) keeps this from being worked out.")],
)  # fmt: skip
def test_what_fails_is_told_and_the_last_one_kept(world, fault, words):
    """It never raises; once it works again the problem is gone."""
    world.made()
    shown = world.board.day(TODAY)
    world.briefs.fault = fault
    world.time.on(hours=2)
    assert world.made() == []
    assert world.board.problem == words
    assert world.board.day(TODAY) is shown
    assert shown.is_old(world.time())
    assert not shown.is_old(shown.brief.made_at + OLD_AFTER)
    world.briefs.fault = None
    world.made()
    assert world.board.problem == ""


def test_it_begins_nothing_more_once_it_shall_stop(world):
    """The first day may be finished, no other begun."""
    stops = iter([False, True])
    world.board.refresh(lambda: next(stops))
    assert [day.day for _, day, _ in world.briefs.made] == [17]


def test_whoever_looks_wakes_it(world):
    """It runs beside the page, and a look at something out of date has it begin at once."""
    stopping, seen = threading.Event(), threading.Event()
    make = world.briefs.make

    def noting(day, moment):
        if len(world.briefs.made) >= 5:
            seen.set()
        return make(day, moment)

    world.briefs.make = noting
    thread = threading.Thread(target=world.board.run, args=(stopping,), daemon=True)
    thread.start()
    while len(world.briefs.made) < 3:
        thread.join(0.005)
    world.revisions.of_bookings = 2
    assert not world.board.is_current(TODAY)
    assert seen.wait(2)
    stopping.set()
    world.board.wake()
    thread.join(2)
    assert not thread.is_alive()


def test_at_night_it_sleeps_unless_somebody_looks(world):
    """Nobody is asked for weather that nobody reads."""
    world.time.now = utc("17 22:00")
    stopping = threading.Event()

    def run_once():
        stopping.clear()
        thread = threading.Thread(target=world.board.run, args=(stopping,), daemon=True)
        thread.start()
        stopping.set()
        world.board.wake()
        thread.join(2)

    assert world.board._sleeps()
    run_once()
    assert world.briefs.made == []
    world.board.is_current(TODAY)
    assert not world.board._sleeps()
    world.time.on(hours=1, seconds=1)
    assert world.board._sleeps()

"""What is offered leaves every other job to be kept."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from at_car import EASY
from days import EVENING, SITE, ZONE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.brief import WindowBar
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.diary import (
    busy_with,
    free_part,
    is_free,
    kept_apart,
    lasts_min,
    there_from,
)
from sprayadvisor.advice.drives import drive_min
from sprayadvisor.advice.entries import entry
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.remedies import Remedy
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.two_visits import TwoVisits, Visit
from sprayadvisor.advice.verdict import Word

DAY = date(2026, 4, 18)
MOVED = job(ref="A3")


def at(hour, minute=0, day=DAY):
    """Return a local time."""
    return local_time(day, time(hour, minute), ZONE)


def busy(first, latest, minutes=120.0, ref="B1", site=SITE):
    """Return a job that begins between two whole hours."""
    booked = job(ref=ref, site=site, day=DAY, arrive_from=time(first), arrive_to=time(latest))
    return busy_with(booked, minutes)


@pytest.mark.parametrize(
    ("begin", "end", "free"),
    [
        ((8, 0), (10, 50), True),
        ((8, 0), (10, 51), False),
        ((11, 0), (12, 0), False),
        ((11, 9), (14, 0), False),
        ((11, 10), (14, 0), True),
    ],
)
def test_work_is_kept_apart_by_the_length_of_the_other_and_the_drive(begin, end, free):
    """Ten minutes at one place: done in time for its latest arrival, or begun when it is over."""
    assert drive_min(SITE, SITE) == 10.0
    assert is_free(MOVED, at(*begin), at(*end), [busy(9, 11)]) is free
    assert is_free(replace(MOVED, ref="B1"), at(11), at(12), [busy(9, 11)])


def test_a_gap_is_free_only_if_all_can_be_kept_one_after_the_other():
    """Beside each of two jobs alone there is room, between both there is not."""
    early, late = busy(8, 12, 120.0, "B1"), busy(12, 13, 120.0, "B2")
    two_hours = timedelta(hours=2)
    assert is_free(MOVED, at(8), at(8) + two_hours, [early])
    assert is_free(MOVED, at(8), at(8) + two_hours, [late])
    assert not is_free(MOVED, at(9, 30), at(9, 30) + two_hours, [early, late])
    assert is_free(MOVED, at(15), at(17), [early, late])


def test_where_the_jobs_booked_break_each_other_already_each_is_looked_at_alone():
    """Else nothing could be offered on such a day at all; another day is never in the way."""
    both = [busy(9, 9, 240.0, "B1"), busy(10, 10, 60.0, "B2")]
    assert is_free(MOVED, at(14), at(15), both)
    assert not is_free(MOVED, at(9, 30), at(10, 30), both)
    assert is_free(MOVED, at(9, 30, day=date(2026, 4, 20)), at(10, 30, day=date(2026, 4, 20)), both)


def test_only_the_free_part_of_a_window_is_offered():
    """Around the best start, or the nearest free one, which then is no more than care."""
    window = WindowBar(at(8), at(10), at(15), Word.GO)
    whole = free_part(MOVED, window, 60.0, [])
    assert whole == window
    ahead = free_part(MOVED, window, 60.0, [busy(13, 13)])
    assert (ahead.first, ahead.best, ahead.latest) == (at(8), at(10), at(11, 45))
    assert ahead.word is Word.GO
    taken = free_part(MOVED, window, 60.0, [busy(9, 9, 180.0)])
    assert (taken.first, taken.best, taken.latest) == (at(12, 15), at(12, 15), at(15))
    assert taken.word is Word.CARE
    assert free_part(MOVED, window, 60.0, [busy(8, 8, 600.0)]) is None


def told(weather=None):
    """Return the entry of a bumper corner on the seventeenth."""
    weather = weather or outlook(rain_probability_pct=0.0)
    plan, met = plan_for(MOVED, EASY), climate_for(MOVED, weather)
    found = judge(MOVED, plan, met, EASY, EASY.thresholds[Moment.EVENING], EVENING)
    return entry(found, weather, EASY)


def test_a_job_lasts_as_long_as_it_is_played():
    """Where the play broke off its printed minutes count; without a plan nothing is known."""
    fine = told()
    assert 180 < lasts_min(fine) < 420
    wet = told(outlook(wet_hour_mm=3.0))
    assert wet.judgement.word is Word.NO_GO
    assert 180 < lasts_min(wet) < 420
    assert lasts_min(replace(fine, judgement=replace(fine.judgement, plan=None))) == 0.0
    off = replace(wet, judgement=replace(wet.judgement, play=None))
    assert lasts_min(off) == lasts_min(wet)
    assert np.isfinite(lasts_min(fine))


def remedy(change, start):
    """Return something that helps."""
    return Remedy(change, "x", "", "", Level.STOP, 0.2, 0.9, Word.NO_GO, Word.GO, start)


def test_what_would_break_with_another_job_is_not_told():
    """Another time and two visits are dropped; shade is shade."""
    some = replace(
        told(),
        remedies=(remedy(Change.OTHER_DAY, at(9)), remedy(Change.SHADE, at(9))),
        two_visits=TwoVisits(
            "sand the primer",
            Visit(at(9, day=MOVED.day), at(11, day=MOVED.day), Word.GO, 0.9),
            Visit(at(9), at(9) + timedelta(hours=2), Word.GO, 0.9),
            None,
        ),
    )
    assert kept_apart(some, []) == some
    apart = kept_apart(some, [busy(10, 10)])
    assert [one.change for one in apart.remedies] == [Change.SHADE]
    assert apart.two_visits is None
    far = kept_apart(some, [busy(17, 17)])
    assert far == some


def test_the_next_job_begins_when_the_van_can_be_there():
    """After the one before it and the drive, in time for it or not."""
    first = told()
    done = first.judgement.best_start + timedelta(minutes=lasts_min(first))
    late = job(ref="A4", arrive_from=time(13), arrive_to=time(18))
    assert there_from(late, [first]) == done + timedelta(minutes=10)
    assert there_from(replace(late, arrive_to=time(13, 5)), [first]) == there_from(late, [first])
    assert there_from(late, []) is None
    wet = told(outlook(wet_hour_mm=3.0))
    assert there_from(late, [wet]) is None
    assert there_from(late, [first, wet]) == there_from(late, [first])
    unplayed = replace(first, judgement=replace(first.judgement, play=None))
    assert there_from(late, [unplayed]) is None

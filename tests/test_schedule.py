"""The tick: at once, then every so often, never two at a time, and woken when the clock is set."""

import logging
import threading
import time

import pytest

from sprayadvisor.schedule import JUMP_S, Schedule


class Ticks:
    """Counts ticks and lets a test wait for them."""

    def __init__(self, act=lambda: None):
        self.count, self.act, self.changed = 0, act, threading.Condition()

    def __call__(self):
        with self.changed:
            self.count += 1
            self.changed.notify_all()
        self.act()

    def wait_for(self, count):
        with self.changed:
            return self.changed.wait_for(lambda: self.count >= count, timeout=5)


@pytest.fixture
def running():
    """Start schedules that are stopped whatever happens."""
    begun = []

    def run(ticks, missed=lambda _: None, **kwargs):
        schedule = Schedule(ticks, missed, **kwargs)
        schedule.start()
        begun.append(schedule)
        return schedule

    yield run
    for schedule in begun:
        schedule.stop(1)


def test_the_first_tick_is_at_once_and_others_follow(running):
    """A start catches up without waiting a minute."""
    ticks = Ticks()
    running(ticks, every_s=0.02)
    assert ticks.wait_for(3)


def test_a_stop_waits_for_the_tick_in_hand(running):
    """It ends whole, and none begins after it."""
    go_on, ended = threading.Event(), []
    ticks = Ticks(lambda: (go_on.wait(5), ended.append(1)))
    schedule = running(ticks, every_s=0.02)
    assert ticks.wait_for(1)
    threading.Timer(0.05, go_on.set).start()
    assert schedule.stop(5)
    assert ended == [1]
    time.sleep(0.05)
    assert ticks.count == 1


def test_a_tick_handed_over_before_a_stop_does_not_begin_after_it(running):
    """The stop is the last word."""
    ticks = Ticks()
    schedule = running(ticks)
    assert ticks.wait_for(1)
    assert schedule.stop(1)
    schedule._run()
    assert ticks.count == 1
    assert schedule.stop(1)


def test_a_tick_that_does_not_end_is_not_waited_for_for_ever(running):
    """Whoever stops is told, and decides."""
    go_on = threading.Event()
    ticks = Ticks(lambda: go_on.wait(5))
    schedule = running(ticks)
    assert ticks.wait_for(1)
    try:
        assert not schedule.stop(0.02)
    finally:
        go_on.set()


def test_two_ticks_never_run_at_once(running):
    """A slow one is not overtaken."""
    inside, most = [], []

    def act():
        inside.append(1)
        most.append(len(inside))
        time.sleep(0.03)
        inside.pop()

    ticks = Ticks(act)
    running(ticks, every_s=0.01)
    assert ticks.wait_for(3)
    assert set(most) == {1}


def test_a_late_tick_is_not_dropped(running):
    """By default one that is a second late would be left out, and only a log line would tell."""
    tick = running(Ticks())._scheduler.get_job("tick")
    assert (tick.misfire_grace_time, tick.coalesce, tick.max_instances) == (None, True, 1)


def test_a_tick_that_raises_is_told_and_the_next_one_comes(running):
    """It should not, but a defect must not end the clock."""
    told = []
    ticks = Ticks(lambda: 1 / 0)
    logging.getLogger("apscheduler").setLevel(logging.CRITICAL)
    try:
        running(ticks, told.append, every_s=0.02)
        assert ticks.wait_for(2)
    finally:
        logging.getLogger("apscheduler").setLevel(logging.NOTSET)
    assert told[0] == "A tick failed: a defect (ZeroDivisionError); see the log."


def test_a_tick_left_out_is_told():
    """Nothing leaves one out by itself; were it so, it would be heard."""
    told = []
    schedule = Schedule(lambda: None, told.append)
    schedule._note(object())
    assert told == ["A tick failed: it was left out; see the log."]


@pytest.mark.parametrize("jump", [-86400, -3600, 3600, 86400])
def test_a_clock_that_was_set_makes_it_tick_at_once(running, caplog, jump):
    """Set back an hour, a scheduler would be silent for an hour."""
    wall = [1e9]
    ticks = Ticks()
    schedule = running(ticks, wall=lambda: wall[0], steady=lambda: 5.0)
    assert ticks.wait_for(1)
    wall[0] += jump
    schedule.look_at_the_clock()
    assert ticks.wait_for(2)
    assert f"{jump:+d} s" in caplog.text
    schedule.look_at_the_clock()  # it was set once, so once is enough
    assert caplog.text.count("was set by") == 1


def test_a_clock_that_is_corrected_is_let_be(running, caplog):
    """Seconds are corrected all the time."""
    wall = [1e9]
    schedule = running(Ticks(), wall=lambda: wall[0], steady=lambda: 5.0)
    wall[0] += JUMP_S
    schedule.look_at_the_clock()
    assert caplog.text == ""


def test_it_watches_the_clock_until_it_is_told_to_stop(running, monkeypatch):
    """The caller's thread does nothing else."""
    monkeypatch.setattr("sprayadvisor.schedule.WATCH_S", 0.01)
    stopping, wall = threading.Event(), [1e9]
    ticks = Ticks()
    schedule = running(ticks, wall=lambda: wall[0], steady=lambda: 5.0)
    watcher = threading.Thread(target=schedule.watch, args=(stopping,))
    watcher.start()
    assert ticks.wait_for(1)
    wall[0] += 7200
    assert ticks.wait_for(2)
    stopping.set()
    watcher.join(5)
    assert not watcher.is_alive()

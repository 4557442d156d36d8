"""What a tick does: each thing once, in its hours, whatever fails in between."""

import logging
from dataclasses import replace
from datetime import date, timedelta

import pytest
from clockwork import ANNA, BEN, utc, world
from days import job

from sprayadvisor.advice.change import NOTICES_A_DAY
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.rest import StageTime
from sprayadvisor.advice.said import Report, Said
from sprayadvisor.advice.verdict import Word
from sprayadvisor.errors import StoreError

DAY = date(2026, 4, 17)  # of the usual job; it arrives from 8:30 to 10:00 UTC
LOCKED = StoreError("The database is locked; try again.")


def test_a_day_has_its_two_briefs():
    """A tick a minute from six to ten: the morning's for today, the evening's for tomorrow."""
    w = world("17 05:00")
    w.run(16 * 60)
    assert w.kinds() == [
        ("17 05:30", ANNA, "morning", "2026-04-17"),
        ("17 17:00", ANNA, "evening", "2026-04-18"),
    ]
    assert w.pings == [utc("17 05:30"), utc("17 17:00")]
    assert w.health.state.problem == ""


def test_every_recipient_gets_the_same_brief():
    """It is made once and put in for each."""
    w = world("17 05:30", recipients=(ANNA, BEN))
    w.clock.tick()
    assert [key.recipient for _, key in w.outbox.sent] == [ANNA, BEN]
    assert len({id(one) for one in w.outbox.contents.values()}) == 1
    assert len(w.briefs.made) == 1


@pytest.mark.parametrize(
    ("start", "sent"),
    [
        ("17 09:47", [("17 09:47", ANNA, "morning", "2026-04-17")]),
        ("17 11:00", []),
        ("17 20:29", [("17 20:29", ANNA, "evening", "2026-04-18")]),
        ("17 20:30", []),
    ],
)
def test_a_start_catches_up_while_it_is_of_use(start, sent):
    """Asleep over a brief: it comes late, or not at all once nobody can use it."""
    w = world(start)
    w.clock.tick()
    assert w.kinds() == sent


def test_asleep_over_a_morning_brief_a_note_owns_up():
    """Once, to those who had the evening's; silence could be taken for a go."""
    w = world("16 17:00", recipients=(ANNA, BEN))
    w.clock.tick()
    w.time.on(hours=19)  # 13:00 in Dublin
    w.run(3)
    assert w.kinds()[2:] == [
        ("17 12:00", ANNA, "not_sent", "morning 2026-04-17"),
        ("17 12:00", BEN, "not_sent", "morning 2026-04-17"),
    ]


def test_a_restart_does_nothing_again():
    """The ledger is the outbox, not the memory."""
    w = world("17 05:30")
    w.run(3)
    w = w.restarted()
    w.run(3)
    assert len(w.outbox.sent) == 1


def test_looks_are_hourly_from_the_morning_brief_on():
    """At their minute, while a job is open, and for tomorrow from the evening brief on."""
    w = world("17 05:00", job(), job(ref="T2", day=DAY + timedelta(days=1)))
    w.run(16 * 60)
    looks = [(f"{at:%H:%M}", day.day, moment) for at, day, moment in w.briefs.made]
    briefs = [("05:30", 17, Moment.MORNING), ("17:00", 18, Moment.EVENING)]
    assert [one for one in looks if one[0].endswith(":20")] == [
        *((f"{hour:02}:20", 17, Moment.MORNING) for hour in range(6, 17)),
        *(
            (f"{hour}:20", day, moment)
            for hour in range(17, 21)
            for day, moment in ((17, Moment.MORNING), (18, Moment.EVENING))
        ),
    ]
    # The hour of the morning brief has a look as well, right after it.
    assert [one for one in looks if not one[0].endswith(":20")] == [
        briefs[0],
        ("05:31", 17, Moment.MORNING),
        briefs[1],
    ]


def test_nothing_open_is_not_looked_at():
    """Without jobs no weather is asked for."""
    w = world("17 05:30", job(day=DAY + timedelta(days=9)))
    w.run(6 * 60)
    assert len(w.briefs.made) == 1


def test_a_change_is_told_once():
    """Rain comes up: one notice at the next look, none at the one after."""
    w = world("17 05:30")
    w.run(5)
    w.briefs.words["T1"] = Word.NO_GO
    w.run(4 * 60)
    assert w.kinds()[1:] == [("17 06:20", ANNA, "change", "T1 2026-04-17 1")]
    made = w.outbox.contents[w.outbox.sent[-1][1]]
    assert (made.kind, made.was.word, made.found.word) == ("worse", Word.GO, Word.NO_GO)


def test_there_are_two_notices_a_day_and_not_three():
    """However often the weather turns."""
    w = world("17 05:30", job(arrive_from=job().arrive_to, arrive_to=job().arrive_to.replace(16)))
    w.run(5)
    for hour in range(8):
        w.briefs.words["T1"] = Word.GO if hour % 2 else Word.NO_GO
        w.run(60)
    changes = [subject for _, _, kind, subject in w.kinds() if kind == "change"]
    assert changes == [f"T1 2026-04-17 {number + 1}" for number in range(NOTICES_A_DAY)]


def test_tomorrow_is_watched_after_the_evening_brief():
    """A notice in the evening, and none in the night."""
    w = world("16 17:00")
    w.run(5)
    w.briefs.words["T1"] = Word.NO_GO
    w.run(120)
    assert w.kinds()[1:] == [("16 17:20", ANNA, "change", "T1 2026-04-16 1")]
    w.briefs.words["T1"] = Word.GO
    w.time.now = utc("16 20:30")
    w.run(8 * 60)
    assert len(w.outbox.sent) == 2
    w.run(120)  # the morning brief tells it
    assert w.kinds()[2:] == [("17 05:30", ANNA, "morning", "2026-04-17")]


def test_a_job_that_ended_is_watched_no_more():
    """Done, spoiled or cancelled it is not among the open ones."""
    w = world("17 05:30")
    w.run(5)
    w.jobs.jobs.clear()
    w.briefs.words["T1"] = Word.NO_GO
    w.run(120)
    assert len(w.outbox.sent) == 1


def test_a_painter_at_work_is_left_alone_without_weather():
    """What he reported reaches the decision."""
    w = world("17 05:30")
    w.run(5)
    w.reports.by_ref["T1"] = Report(("base",), w.time.now)
    w.briefs.words["T1"] = Word.NO_GO
    w.run(120)
    assert len(w.outbox.sent) == 1


def test_a_job_no_brief_told_of_is_told_if_it_will_not_do():
    """Booked in the morning for the same day."""
    w = world("17 05:30", job(day=DAY + timedelta(days=9)))
    w.run(5)
    w.jobs.jobs.append(job(ref="NEW"))
    w.briefs.words["NEW"] = Word.NO_GO
    w.run(60)
    assert w.kinds()[1:] == [("17 05:35", ANNA, "change", "NEW 2026-04-17 1")]


def told_base(begin, end):
    """Return what was said of a job whose base is on from begin to end."""
    times = (
        StageTime("mask", "hand", begin - timedelta(minutes=30), begin),
        StageTime("base-1", "coat", begin, begin + timedelta(minutes=5), no_return=True),
        StageTime("lamp", "lamp", end - timedelta(minutes=10), end),
        StageTime("polish", "hand", end, end + timedelta(hours=1)),
    )
    return Said(utc("17 05:30"), "morning", Word.GO, "", times)


def test_a_base_that_is_on_is_watched_by_the_quarter(monkeypatch):
    """From the base to the end of the bake a look each quarter hour, else one an hour."""
    w = world("17 05:30")
    w.run(60)
    base = told_base(utc("17 09:00"), utc("17 10:00"))
    monkeypatch.setattr(w.said, "newest", lambda *_: (("morning", base),))
    w.time.now = utc("17 08:00")
    w.run(180)
    looks = [f"{at:%H:%M}" for at, _, _ in w.briefs.made if at >= utc("17 08:00")]
    assert looks == ["08:20", "09:00", "09:15", "09:30", "09:45", "10:20"]


def test_a_report_moves_the_watch(monkeypatch):
    """Who is at the base an hour early is watched an hour early; the hour's own look follows."""
    w = world("17 05:30")
    w.run(60)
    base = told_base(utc("17 09:00"), utc("17 10:00"))
    monkeypatch.setattr(w.said, "newest", lambda *_: (("morning", base),))
    w.reports.by_ref["T1"] = Report(("base", "lamp", "polish"), utc("17 07:50"))
    w.time.now = utc("17 08:00")
    w.run(120)
    looks = [f"{at:%H:%M}" for at, _, _ in w.briefs.made if at >= utc("17 08:00")]
    assert looks == ["08:00", "08:15", "08:30", "08:45", "08:50", "09:20"]


def test_the_ping_waits_until_all_have_the_brief():
    """Neither a brief that waits nor one that lacks a recipient is reported as finished."""
    w = world("17 05:30", recipients=(ANNA, BEN))
    w.outbox.fault = LOCKED
    w.outbox.put_fault_after = None
    w.run(3)
    assert w.pings == []
    w.outbox.fault = None
    w.run(3)
    assert w.pings == [utc("17 05:33")]


def test_a_restart_pings_for_the_brief_of_the_day_again():
    """Whoever listens hears of today's brief, sent before the restart or after it."""
    w = world("17 05:30")
    w.run(2)
    again = w.restarted()
    again.run(3)
    assert w.pings == [utc("17 05:30"), utc("17 05:32")]


def test_old_things_are_forgotten_once_a_day():
    """At the first tick and at the first of each local day, also when forgetting fails."""
    w = world("17 05:30")
    w.run(2 * 24 * 60, step=10)
    assert w.tidied == [utc("17 05:30"), utc("17 23:00"), utc("18 23:00")]


# --- things that fail -------------------------------------------------------------------------


def test_bookings_that_cannot_be_read_are_tried_again(caplog):
    """Said in the log and to whoever asks for the health; the brief comes once they can."""
    w = world("17 05:30")
    w.jobs.fault = LOCKED
    w.run(3)
    assert w.outbox.sent == []
    assert w.health.state.problem == str(LOCKED)
    assert [record.message for record in caplog.records] == [str(LOCKED)] * 3
    w.jobs.fault = None
    w.run(1)
    assert w.kinds() == [("17 05:33", ANNA, "morning", "2026-04-17")]
    assert w.health.state.problem_at == utc("17 05:32")
    assert w.health.state.ticked_at == utc("17 05:33")


def test_a_defect_is_logged_and_stops_nothing_else(caplog):
    """The look fails for a reason nobody foresaw; sending goes on."""
    w = world("17 05:30")
    w.run(5)
    w.briefs.fault = ZeroDivisionError("secret")
    w.run(60)
    assert w.health.state.problem == "A defect (ZeroDivisionError) kept something from being done."
    assert "A defect kept something from being done." in caplog.text
    w.briefs.fault = None
    w.briefs.words["T1"] = Word.NO_GO
    w.run(60)
    assert w.kinds()[-1] == ("17 06:35", ANNA, "change", "T1 2026-04-17 1")


def test_one_job_that_fails_spoils_no_other():
    """Each job is looked at on its own."""
    w = world("17 05:30", job(), job(ref="T2"))
    w.run(5)
    w.briefs.words |= {"T1": Word.NO_GO, "T2": Word.NO_GO}
    w.reports.report = lambda one: 1 / 0 if one.ref == "T1" else None
    w.run(60)
    assert [subject for *_, subject in w.kinds()[1:]] == ["T2 2026-04-17 1"]
    assert "ZeroDivisionError" in w.health.state.problem


def test_a_way_out_that_is_blocked_keeps_nothing_from_being_made():
    """What cannot be sent waits in the outbox."""
    w = world("17 05:30")
    w.outbox.fault = StoreError("no way out")
    w.run(2)
    assert len(w.outbox.ready) == 1
    assert w.pings == []  # nothing is finished that nobody can read
    w.outbox.fault = None
    w.run(2)
    assert len(w.outbox.sent) == 1


def test_cut_short_between_two_recipients_each_gets_one():
    """One has it, the other not: at the next tick only the other does."""
    w = world("17 05:30", recipients=(ANNA, BEN))
    w.outbox.fault, w.outbox.put_fault_after = LOCKED, 1
    w.run(1)
    w.outbox.fault = w.outbox.put_fault_after = None
    w.run(2)
    assert sorted(key.recipient for _, key in w.outbox.sent) == [ANNA, BEN]


@pytest.mark.parametrize("puts", [0, 1])
def test_cut_short_within_a_notice_it_is_said_once_all_the_same(puts):
    """Kept as said but not put in, or only for one: it is decided again from the same state."""
    w = world("17 05:30", recipients=(ANNA, BEN))
    w.run(5)
    w.briefs.words["T1"] = Word.NO_GO
    w.time.now = utc("17 06:20")
    w.outbox.fault, w.outbox.put_fault_after = LOCKED, puts
    w.run(1)
    w.outbox.fault = w.outbox.put_fault_after = None
    w = w.restarted()
    w.run(3 * 60)
    changes = sorted((who, subject) for _, who, kind, subject in w.kinds() if kind == "change")
    assert changes == [(ANNA, "T1 2026-04-17 1"), (BEN, "T1 2026-04-17 1")]


def test_nothing_is_sent_in_the_quiet_hours():
    """What still waits at half past nine waits until six."""
    w = world("17 20:00")
    w.outbox.fault = StoreError("no way out")
    w.run(30)
    w.outbox.fault = None
    w.run(9 * 60 + 5)
    assert {at for at, *_ in w.kinds()} == {"18 05:00", "18 05:30"}


def test_told_to_stop_it_begins_nothing_more():
    """The unit in hand is finished, the next one is not begun."""
    stop = []
    w = world("17 05:30", stopping=lambda: bool(stop))
    make = w.briefs.make
    w.briefs.make = lambda *args: (stop.append(1), make(*args))[1]
    w.clock.tick()
    assert len(w.outbox.contents) == 1  # made and put in, to be sent after the restart
    assert w.outbox.sent == []
    w.time.on(minutes=1)
    w.clock.tick()
    assert len(w.briefs.made) == 1


def test_two_processes_do_each_thing_once():
    """Both tick over one outbox and one memory of what was said."""
    w = world("17 05:30")
    other = w.restarted()
    for hour in range(6):
        w.briefs.words["T1"] = Word.GO if hour % 2 else Word.NO_GO
        for _ in range(60):
            w.clock.tick()
            other.clock.tick()
            w.time.on(minutes=1)
    keys = [key for _, key in w.outbox.sent]
    assert len(keys) == len(set(keys))
    assert [key.kind for key in keys].count("morning") == 1


def test_the_log_names_no_customer(caplog):
    """A reference says enough."""
    caplog.set_level(logging.DEBUG)
    named = replace(job(), customer=replace(job().customer, name="Zebedee", phone="0555"))
    w = world("17 05:30", named)
    w.run(5)
    w.briefs.words["T1"] = Word.NO_GO
    w.run(60)
    assert "change notice for job T1 is made: worse" in caplog.text
    assert "Zebedee" not in caplog.text
    assert "0555" not in caplog.text
    assert ANNA not in caplog.text

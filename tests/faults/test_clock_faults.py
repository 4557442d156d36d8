"""The clock among faults: three simulated days, and the ledger exactly as it must be."""

import email
import random
import sqlite3
from contextlib import closing
from datetime import date, time, timedelta
from time import sleep
from zoneinfo import ZoneInfo

import pytest
from clockwork import ANNA, BEN, ZONE, utc, world
from days import job
from serving import evening_world, mails, served, wait_for, wait_for_line

from sprayadvisor.advice.change import LEAD
from sprayadvisor.advice.due import Key
from sprayadvisor.advice.verdict import Word
from sprayadvisor.demo.weather_faults import Fault
from sprayadvisor.errors import StoreError

FIRST = date(2026, 4, 17)
DAYS = [FIRST + timedelta(days=n) for n in range(3)]
WORDS = (Word.GO, Word.CARE, Word.NO_GO, Word.UNKNOWN)
# Which change of word must be told; the likelihoods of the stand-ins lie far from any threshold.
MATTERS = {
    *((Word.GO, word) for word in (Word.CARE, Word.NO_GO, Word.UNKNOWN)),
    *((Word.CARE, word) for word in (Word.NO_GO, Word.UNKNOWN)),
    *((Word.UNKNOWN, word) for word in (Word.NO_GO, Word.GO, Word.CARE)),
    *((Word.NO_GO, word) for word in (Word.GO, Word.CARE)),
}


def three_days(seed):
    """Return a world with a job a day, and the verdict of each in every UTC hour."""
    chance = random.Random(seed)
    jobs = [
        job(ref=f"D{n}", day=day, arrive_from=time(13), arrive_to=time(15))
        for n, day in enumerate(DAYS)
    ]
    hours = [utc("16 00:00") + timedelta(hours=n) for n in range(5 * 24)]
    words = {(one.ref, hour): chance.choice(WORDS) for one in jobs for hour in hours}
    return world("16 17:00", *jobs, recipients=(ANNA, BEN)), words, chance


def expected_keys(words):
    """Return what must be in the ledger, worked out without the code that is tested.

    Every job is told of by the evening brief, the morning brief, and at twenty past each hour.
    """
    keys = {
        Key(who, kind, str(day))
        for who in (ANNA, BEN)
        for day in DAYS
        for kind in ("evening", "morning")
    }
    keys |= {Key(who, "evening", str(DAYS[-1] + timedelta(days=1))) for who in (ANNA, BEN)}
    for n, day in enumerate(DAYS):
        said, sent = None, {}
        ends = utc("17 14:00") + timedelta(days=n)  # 15:00 in Dublin
        now = utc("16 17:00") + timedelta(days=n)
        while now <= ends - LEAD:
            local = now.astimezone(ZoneInfo(ZONE))
            word = words[f"D{n}", now.replace(minute=0)]
            evening = local.date() < day
            quiet = local.time() >= time(21, 30) or local.time() < time(6)
            if local.strftime("%H:%M") == ("18:00" if evening else "06:30"):
                said = word
            looks = now.minute == 20 or (local.hour, local.minute) == (6, 31)
            watched = evening or local.time() > time(6, 30)
            if said and looks and watched and not quiet and (said, word) in MATTERS:
                number = sent.get(local.date(), 0) + 1
                if number <= 2:
                    sent[local.date()] = number
                    said = word
                    subject = f"D{n} {local.date()} {number}"
                    keys |= {Key(who, "change", subject) for who in (ANNA, BEN)}
            now += timedelta(minutes=1)
    return keys


def run_three_days(w, words, chance, faults):
    """Tick through three days with faults that come and go; return the number of each."""
    counts = dict.fromkeys(faults, 0)
    until = dict.fromkeys(faults, w.time.now)
    for _ in range(3 * 24 * 60 + 4 * 60):
        hour = w.time.now.replace(minute=0)
        w.briefs.words = {ref: word for (ref, at), word in words.items() if at == hour}
        for fault in faults:
            # Never over the minutes at which something falls due, so that it is due as expected.
            if w.time.now >= until[fault] and chance.random() < 0.02:
                counts[fault] += 1
                until[fault] = w.time.now + timedelta(minutes=chance.randint(1, 12))
        broken = {fault for fault in faults if w.time.now < until[fault]}
        w.outbox.fault = StoreError("no way out") if "transport" in broken else None
        if "restart" in broken:
            w = w.restarted()
        for _ in range(2 if "second process" in broken else 1):
            w.clock.tick()
        w.time.on(minutes=1)
    w.outbox.fault = None
    w.clock.tick()
    return w, counts


@pytest.mark.parametrize("seed", range(5))
def test_three_days_among_faults_leave_the_ledger_as_it_must_be(seed):
    """Transport down, restarts, a second process: nothing lost, nothing doubled, nothing else."""
    w, words, chance = three_days(seed)
    w, counts = run_three_days(w, words, chance, ["transport", "restart", "second process"])
    sent = [key for _, key in w.outbox.sent]
    assert all(counts.values())
    assert len(sent) == len(set(sent))
    assert set(sent) == set(w.outbox.contents) == expected_keys(words)
    assert any(key.kind == "change" for key in sent)


# --- a real process ---------------------------------------------------------------------------


def test_killed_at_random_instants_it_sends_each_brief_once_and_whole(tmp_path):
    """Six starts, each killed somewhere between its start and its brief, then one that may end."""
    chance = random.Random(7)
    with evening_world(tmp_path) as (environ, _, folder):
        for _ in range(6):
            with served(environ):
                sleep(chance.uniform(0.3, 2.2))
            assert len(mails(folder)) <= 1
        with served(environ) as process:
            wait_for(lambda: mails(folder))
            process.terminate()
            assert process.wait(10) == 0
        (sent,) = mails(folder)
    mail = email.message_from_bytes(sent.read_bytes())
    assert mail["Subject"].startswith("Thu 16 Apr")
    text, page = mail.walk(), mail.as_string()
    assert "text/plain" in {part.get_content_type() for part in text}
    assert page.rstrip().endswith("--")  # the last boundary: nothing is cut off


def test_a_folder_that_cannot_be_written_holds_nothing_up_and_loses_nothing(tmp_path):
    """One sentence in the log, the process lives; with the folder free the next start sends it."""
    with evening_world(tmp_path) as (environ, _, folder):
        folder.write_text("a file where the folder should be")
        with served(environ) as process:
            wait_for_line(process, "mail cannot be written to")
            process.terminate()
            log = process.communicate(timeout=10)[1]
            assert process.returncode == 0
            assert "Traceback" not in log
        folder.unlink()
        with served(environ):
            wait_for(lambda: mails(folder))
        assert len(mails(folder)) == 1


def test_without_weather_the_brief_goes_out_as_unknown(tmp_path):
    """It says why; a job is never left out."""
    with evening_world(tmp_path) as (environ, server, folder):
        server.faults.switch(Fault.NOT_FOUND)
        with served(environ):
            wait_for(lambda: mails(folder))
        mail = email.message_from_bytes(mails(folder)[0].read_bytes())
    assert "1 unknown" in mail["Subject"]


def test_a_database_held_by_another_writer_is_waited_for(tmp_path):
    """Locked at the start of the tick; free again a moment later the brief goes out."""
    with (
        evening_world(tmp_path) as (environ, _, folder),
        closing(sqlite3.connect(tmp_path / "sprayadvisor.db", isolation_level=None)) as other,
    ):
        other.execute("BEGIN IMMEDIATE")
        with served(environ) as process:
            wait_for_line(process, "The clock runs.")
            sleep(0.5)
            assert mails(folder) == []
            other.execute("ROLLBACK")
            wait_for(lambda: mails(folder))

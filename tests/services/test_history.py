"""What happened to a job and what was said of it, in order, and whether it has left."""

import pytest
from clockwork import ANNA, RHYTHM, Said, utc
from days import DAY, job

from sprayadvisor.advice.due import Key
from sprayadvisor.advice.said import Said as SaidOnce
from sprayadvisor.advice.verdict import Word
from sprayadvisor.services.history import Happened, History
from sprayadvisor.services.ports import Event, JobEvent

ADDED, AT = utc("15 10:00"), utc("17 09:00")


class Bookings:
    """Two events of a job."""

    def history(self, _ref):
        return (JobEvent(ADDED, Event.ADDED, "", ""), JobEvent(AT, Event.AT, "", "base"))


class Post:
    """Knows what has left."""

    def __init__(self, *left):
        self.left = set(left)

    def delivered(self, keys):
        return self.left & set(keys)


SUBJECT = f"T1 {DAY} 1"


@pytest.mark.parametrize(
    ("left", "sent"),
    [
        ((), (False, False)),
        ((Key(ANNA, "evening", DAY.isoformat()),), (True, False)),
        ((Key(ANNA, "change", SUBJECT),), (False, True)),
        ((Key("somebody@example.org", "change", SUBJECT),), (False, False)),
    ],
)
def test_events_and_what_was_said_stand_in_order_with_whether_it_left(left, sent):
    """A brief or a notice has left once any recipient's server has it."""
    said = Said()
    evening, later = utc("16 17:00"), utc("17 08:00")
    said.keep("T1", DAY, "evening", SaidOnce(evening, "evening", Word.GO, "", ()))
    said.keep("T1", DAY, SUBJECT, SaidOnce(later, "worse", Word.NO_GO, "rain", ()))
    found = History(Bookings(), said, Post(*left), RHYTHM).of(job())
    assert found == (
        Happened(ADDED, "added"),
        Happened(evening, "evening brief", Word.GO, sent[0]),
        Happened(later, "change notice", Word.NO_GO, sent[1]),
        Happened(AT, "begun: base"),
    )

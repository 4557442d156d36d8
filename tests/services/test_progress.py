"""How a job goes on: where the painter is, done, spoiled, and what is refused."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

import pytest
from booked import PLAIN
from days import catalogue

from sprayadvisor.adapters.store.bookings import SqlBookings
from sprayadvisor.adapters.store.engine import migrate, open_engine
from sprayadvisor.advice.model import JobState
from sprayadvisor.advice.said import Report
from sprayadvisor.errors import BookingError, InputError
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.ports import Event
from sprayadvisor.services.progress import Progress

DAY = datetime(2027, 5, 4, 9, 0, tzinfo=UTC)
JOB = replace(PLAIN, process="bumper-corner", arrive_from=time(9), arrive_to=time(10))


@pytest.fixture
def progress(tmp_path):
    """Progress over a database with one job, at nine o'clock on its day."""
    engine = open_engine(f"sqlite:///{tmp_path / 'jobs.db'}")
    migrate(engine)
    store = SqlBookings(engine)
    store.add(JOB, DAY - timedelta(days=1))
    moments = [DAY]
    bookings = Bookings(store, catalogue(), lambda: moments[-1])
    made = Progress(bookings, catalogue().processes, lambda: moments[-1])
    yield made, moments
    engine.dispose()


def test_a_stage_is_kept_in_the_history(progress):
    """Its id is the note; the job itself stays as it is."""
    made, _ = progress
    job, stage = made.at("J1", " Base ", by="command line")
    assert (job, stage.name) == (JOB, "base")
    last = made.bookings.history("J1")[-1]
    assert (last.event, last.note, last.by, last.at) == (Event.AT, "base", "command line", DAY)
    assert made.bookings.get("J1") == JOB


def test_the_same_stage_said_a_moment_later_was_said_once(progress):
    """A second tap moves no time; later it is begun anew, and another stage counts at once."""
    made, moments = progress
    for minutes, stage in ((0, "base"), (2, "base"), (3, "base"), (3, "clear"), (4, "base")):
        moments.append(DAY + timedelta(minutes=minutes))
        assert made.at("J1", stage)[1].id == stage
    said = [(one.note, one.at) for one in made.bookings.history("J1")[1:]]
    assert said == [
        (stage, DAY + timedelta(minutes=minutes))
        for minutes, stage in ((0, "base"), (3, "base"), (3, "clear"), (4, "base"))
    ]


def test_the_last_report_counts(progress):
    """With the stage and all that follow it."""
    made, moments = progress
    assert made.report(JOB) is None
    made.at("J1", "primer")
    moments.append(DAY + timedelta(hours=1))
    made.at("J1", "unmask")
    assert made.report(JOB) == Report(("unmask", "polish-cool", "polish", "show"), moments[-1])


def test_a_report_of_another_day_or_process_does_not_count(progress):
    """A job that was moved, or given another process, is nowhere yet."""
    made, _ = progress
    made.at("J1", "primer")
    assert made.report(replace(JOB, day=JOB.day + timedelta(days=1))) is None
    assert made.report(replace(JOB, process="gone")) is None


def test_an_unknown_stage_names_the_nearest(progress):
    """One sentence, nothing stored."""
    made, _ = progress
    with pytest.raises(InputError, match=r"stage 'bse' is not known; did you mean 'base'\?"):
        made.at("J1", "bse")
    assert len(made.bookings.history("J1")) == 1


def test_a_process_that_is_gone_is_told(progress):
    """There is no stage to be at."""
    made, _ = progress
    bare = Progress(made.bookings, {}, made.now)
    with pytest.raises(BookingError, match="no usable process 'bumper-corner' for job J1"):
        bare.at("J1", "base")


@pytest.mark.parametrize(
    ("end", "state", "note"),
    [
        (lambda p: p.done("J1", by="page"), JobState.DONE, ""),
        (lambda p: p.spoiled("J1", "a shower", by="page"), JobState.SPOILED, "a shower"),
    ],
)
def test_an_end_is_kept_with_the_history(progress, end, state, note):
    """The job is over, and how it came to that stays."""
    made, _ = progress
    made.at("J1", "base")
    assert end(made).state is state
    assert made.bookings.get("J1").state is state
    events = [(one.event.value, one.note) for one in made.bookings.history("J1")]
    assert events == [("added", ""), ("at", "base"), (state.value, note)]
    assert made.bookings.list(JOB.day, JOB.day) == ()
    with pytest.raises(BookingError, match=f"Job J1 is {state}"):
        made.at("J1", "clear")


@pytest.mark.parametrize("why", ["", "  "])
def test_spoiled_needs_a_reason(progress, why):
    """It is what one learns from."""
    with pytest.raises(InputError, match=r"^Say in a few words what spoiled it"):
        progress[0].spoiled("J1", why)


@pytest.mark.parametrize("act", ["done", "at"])
def test_a_job_still_to_come_can_have_neither(progress, act):
    """A wrong reference must not end another job's watch. The day is the site's: Berlin."""
    made, moments = progress
    moments.append(datetime(2027, 5, 3, 21, 59, tzinfo=UTC))
    with pytest.raises(BookingError, match="2027-05-04, which is still to come"):
        made.done("J1") if act == "done" else made.at("J1", "base")
    moments.append(datetime(2027, 5, 3, 22, 1, tzinfo=UTC))
    made.done("J1") if act == "done" else made.at("J1", "base")


def test_no_such_job(progress):
    """The sentence names the reference."""
    with pytest.raises(BookingError, match="There is no job J9"):
        progress[0].done("J9")

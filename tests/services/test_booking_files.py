"""Bookings from files: what is taken, what is passed over, and the sentence for what is refused."""

from dataclasses import replace
from datetime import date, timedelta
from types import MappingProxyType

import pytest
from bookable import bookable_jobs
from hypothesis import given, settings
from test_bookings import CATALOGUE, FORM, FULL, NOW, MemoryStore

from sprayadvisor.adapters.csv_bookings import CsvBookings
from sprayadvisor.advice.model import JobState
from sprayadvisor.errors import BookingFileError, InputError
from sprayadvisor.services.booking_files import BookingFiles
from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.ports import Event, JobEvent
from sprayadvisor.services.row_form import FIELDS, NUMBERS, filled_in, row_of

HEADER = "ref;process;day;arrive;site;latitude;longitude;zone;surroundings;panels;state;times_moved"
GOOD = "A1;wing;2027-05-04;9-10;Mill;48,1;11,5;Europe/Berlin;;bonnet:red;;"
NAMED = "A2;wing;2027-05-05;9-10;Mill;;;;;bonnet:red;;"


@pytest.fixture
def store():
    """Return an empty store."""
    return MemoryStore()


@pytest.fixture
def bookings(store):
    """Return bookings at a fixed moment: 3 May 2027 in Berlin."""
    return Bookings(store, CATALOGUE, lambda: NOW)


@pytest.fixture
def take(bookings, tmp_path):
    """Return what takes rows as a file called jobs.csv."""

    def take(*rows, keep_good=False):
        path = tmp_path / "jobs.csv"
        path.write_text("\n".join([HEADER, *rows]), encoding="utf-8")
        return BookingFiles(bookings, CsvBookings()).take(path, keep_good=keep_good)

    return take


def told(taken):
    """Return the sentences about a file's rows, without the folder."""
    return ["jobs.csv" + str(fault).partition("jobs.csv")[2] for fault in taken.faults]


@settings(max_examples=50)
@given(job=bookable_jobs())
def test_what_is_written_brings_about_the_same_job(tmp_path_factory, job):
    """A job on its way out and in again is equal to the last letter; a second time it is there."""
    bookings = Bookings(MemoryStore(), CATALOGUE, lambda: NOW)
    files = BookingFiles(bookings, CsvBookings(numbers=NUMBERS))
    path = tmp_path_factory.mktemp("csv") / "jobs.csv"
    path.write_bytes(files.text_of([job]).encode("utf-8-sig"))
    assert files.take(path).added == (job.ref,)
    assert bookings.get(job.ref) == job
    again = files.take(path)
    assert (again.added, again.there, again.faults) == ((), (job.ref,), ())


def test_jobs_of_a_file_have_a_history(take, store):
    """They are added through the door of files."""
    taken = take(GOOD, NAMED)
    assert (taken.added, taken.there, taken.faults) == (("A1", "A2"), (), ())
    assert store.history("A1") == (JobEvent(NOW, Event.ADDED, "file", ""),)
    assert store.get("A2").site == store.get("A1").site


def test_row_before_the_one_that_describes_its_site(take):
    """Rows stand in any order; a site is described once, wherever."""
    assert take(NAMED, GOOD).added == ("A2", "A1")


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ("A3;wing;4.5.2027;9-10;Mill;;;;;bonnet:red;;",
         ("jobs.csv, line 3: day is '4.5.2027'; write year-month-day such as 2027-05-04, the only "
         "form a file may have.")),
        ("A3;wing;tomorrow;9-10;Mill;;;;;bonnet:red;;",
         ("jobs.csv, line 3: day is 'tomorrow'; write year-month-day such as 2027-05-04, the only "
         "form a file may have.")),
        ("A3;wing;2027-02-30;9-10;Mill;;;;;bonnet:red;;",
         ("jobs.csv, line 3: day is '2027-02-30'; give year-month-day such as 2027-05-04, or "
         "today, or tomorrow.")),
        ("A3;wing;2027-05-02;9-10;Mill;;;;;bonnet:red;;",
         ("jobs.csv, line 3: day is 2027-05-02, which is over; it is 2027-05-03 in Europe/Berlin: "
         "give today or a later day.")),
        ("A3;wong;2027-05-04;9-10;Mill;;;;;bonnet:red;;",
         "jobs.csv, line 3: process 'wong' is not known; did you mean 'wing'?"),
        ("A3;wing;2027-05-04;9-10;Mull;;;;;bonnet:red;;",
         ("jobs.csv, line 3, site: Site 'Mull' is new; give its latitude and longitude and zone "
         "too, or did you mean 'Mill'?")),
        ("A3;wing;2027-05-04;9-10;Mull;x;1;Europe/Berlin;;bonnet:red;;",
         "jobs.csv, line 3: latitude is 'x'; give a plain number such as 12.5."),
        ("A3;wing;2027-05-04;9-10;Mull;11,5;48,1;Europe/Berlin;;bonnet:red;;",
         ("jobs.csv, line 3: latitude 11.5 and longitude 48.1 are 5297 km from every other site, "
         "but the other way round near 'Mill'; did you swap them?")),
        ("A3;wing;2027-05-04;9-10;Mill;;;Europe/Vienna;;bonnet:red;;",
         ("jobs.csv, line 3, zone: Site 'Mill' has another zone in the database or in "
         "another row; make them agree, or change the site through a job there first.")),
        ("A3;wing;2027-05-04;9-10;Mill;;;;;bonet:red;;",
         "jobs.csv, line 3, panels: part 'bonet' is not known; did you mean 'bonnet'?"),
        ("A3;wing;2027-05-04;10-9;Mill;;;;;bonnet:red;;",
         "jobs.csv, line 3: arrive ends before it begins: 10-9; give the earlier time first."),
        ("A3;wing;2027-05-04;9-10;;;;;;bonnet:red;;",
         "jobs.csv, line 3: site is empty; every row needs it."),
        (";wing;2027-05-04;9-10;Mill;;;;;bonnet:red;;",
         "jobs.csv, line 3: ref is empty; every row needs it."),
        ("A/3;wing;2027-05-04;9-10;Mill;;;;;bonnet:red;;",
         "jobs.csv, line 3: ref is 'A/3'; use up to 40 letters, digits, dots and hyphens."),
        ("A1;wing;2027-05-04;9-10;Mill;;;;;bonnet:red;;",
         ("jobs.csv, line 3: ref 'A1' stands on line 2 too; remove one row, or give it a reference "
         "of its own.")),
        ("A3;wing;2027-05-04;9-10;Mill;;;;;bonnet:red;later;",
         ("jobs.csv, line 3: state 'later' is not known; choose one of booked, cancelled, done, "
         "spoiled.")),
        ("A3;wing;2027-05-04;9-10;Mill;;;;;bonnet:red;;-1",
         "jobs.csv, line 3: times_moved is '-1'; give a whole number such as 0."),
        ("A3;wing;2027-05-04;9-10;Mill;;;;;bonnet:red;;;;7",
         ("jobs.csv, line 3: there are 14 cells for 12 columns; put a text that holds a ';' in "
         "quotation marks.")),
    ],
)  # fmt: skip
def test_bad_row_is_one_sentence(take, store, row, sentence):
    """Line, column, what was typed and the mend; nothing is stored, or only the good row."""
    taken = take(GOOD, row)
    (said,) = told(taken)
    assert said == sentence
    assert taken.added == ()
    assert (store.jobs, store.places, store.events) == ({}, {}, [])
    kept = take(GOOD, row, keep_good=True)
    assert (kept.added, told(kept)) == (("A1",), [said])
    assert list(store.jobs) == ["A1"]


def test_every_fault_at_once_in_the_order_of_lines(take):
    """Structure and content are told together."""
    rows = (
        NAMED.replace("red", "rad"),
        GOOD,
        "A5;x",
        NAMED.replace("A2", "A6").replace("wing", "w"),
    )
    assert [said.split(":")[0].split(", ")[1] for said in told(take(*rows))] == [
        "line 2",
        "line 4",
        "line 5",
    ]


def test_what_is_there_is_passed_over_or_refused(take, bookings, store):
    """A row that would change nothing is no fault; one that would is refused."""
    take(GOOD, NAMED)
    bookings.change("A2", replace(FORM, day="2027-05-07", site="Mill"))
    before = dict(store.jobs)
    taken = take(GOOD, NAMED, NAMED.replace("A2", "A3"), keep_good=True)
    assert (taken.there, taken.added) == (("A1",), ("A3",))
    assert told(taken) == [
        (
            "jobs.csv, line 3, ref: There is a job A2 already, with another day and arrive_to; "
            "change it with: job change A2; or give this row another reference."
        )
    ]
    assert {ref: store.jobs[ref] for ref in before} == before


def test_job_that_is_over_comes_again_unchanged(take, bookings, store):
    """A list kept for the season can be read each week; what is done stays done."""
    take(GOOD)
    store.jobs["A1"] = replace(store.jobs["A1"], state=JobState.DONE)
    later = Bookings(store, CATALOGUE, lambda: NOW + timedelta(days=30))
    files = BookingFiles(later, CsvBookings())
    assert take(GOOD).there == ("A1",)
    assert files.bookings is later


def test_past_jobs_come_along_once_they_are_over(take, store):
    """A day that is over is fine for a job that is over too."""
    assert take(GOOD.replace("2027-05-04", "2020-05-04")[:-2] + ";done;2").added == ("A1",)
    assert store.get("A1").day == date(2020, 5, 4)
    assert (store.get("A1").state, store.get("A1").times_moved) == (JobState.DONE, 2)


def test_file_without_rows_is_refused(take):
    """Columns alone are no bookings."""
    with pytest.raises(BookingFileError, match="no row below the columns; add a row for a job"):
        take()


def test_every_field_stands_in_a_row(bookings):
    """A full job fills every column, and the row says the same again."""
    row = row_of(bookings.add(FULL))
    assert list(row) == [field.name for field in FIELDS]
    assert row["downwind"] == "n=neighbour's cars | sw=pond"
    assert (row["kerb"], row["may_move"]) == ("yes", "no")
    assert filled_in(row).form.kerb is True


def test_bars_and_backslashes_in_a_text(bookings):
    """A bar within a text is told from one between two."""
    job = bookings.add(FULL)
    sides = {"n": "a | b\\", "e": "c\\d"}
    job = replace(job, site=replace(job.site, downwind=MappingProxyType(sides)))
    row = row_of(job)
    assert row["downwind"] == "n=a \\| b\\\\ | e=c\\\\d"
    assert filled_in(row).form.downwind == ("n=a | b\\", "e=c\\d")
    loose = {**row, "downwind": "n=C:\\x | | "}
    assert filled_in(loose).form.downwind == ("n=C:\\x",)


@pytest.mark.parametrize(("text", "said"), [("Yes", True), ("FALSE", False), (" no ", False)])
def test_yes_and_no(bookings, text, said):
    """Yes and no, and what spreadsheets make of them."""
    row = row_of(bookings.add(FULL))
    assert filled_in({**row, "kerb": text}).form.kerb is said
    with pytest.raises(InputError, match="kerb is 'perhaps'; write yes or no"):
        filled_in({**row, "kerb": "perhaps"})

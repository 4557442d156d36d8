"""The list of what can be said about a job: whole, and true to what a form says."""

from dataclasses import fields, replace

import pytest
from test_bookings import CATALOGUE, FULL, NOW, MemoryStore

from sprayadvisor.services.bookings import Bookings
from sprayadvisor.services.job_fields import FORM_FIELDS, RECORD_FIELDS, Kind, form_of
from sprayadvisor.services.ports import JobForm


def test_list_covers_the_form_in_its_own_order():
    """Every field of a form is in the list once; what is kept beside it has no option."""
    assert {field.name for field in FORM_FIELDS} == {field.name for field in fields(JobForm)}
    assert len({field.flag for field in FORM_FIELDS}) == len(FORM_FIELDS)
    assert not any(field.flag for field in RECORD_FIELDS)


def test_form_of_a_job_brings_about_the_same_job():
    """A job says what a form would have to say for it; said again, nothing differs."""
    bookings = Bookings(MemoryStore(), CATALOGUE, lambda: NOW)
    job = bookings.add(FULL)
    again = Bookings(MemoryStore(), CATALOGUE, lambda: NOW)
    assert again.add(form_of(job)) == job


@pytest.mark.parametrize(
    ("degrees", "text"), [(1e-7, "0.0000001"), (-8.92, "-8.92"), (53.0, "53.0")]
)
def test_numbers_have_no_exponent(degrees, text):
    """A number is written so that a form can read it, however small."""
    job = Bookings(MemoryStore(), CATALOGUE, lambda: NOW).add(FULL)
    job = replace(job, site=replace(job.site, latitude=degrees))
    assert form_of(job).latitude == text


@pytest.mark.parametrize("field", [*FORM_FIELDS, *RECORD_FIELDS], ids=lambda field: field.name)
def test_every_field_says_what_it_is(field):
    """Each has a meaning and an example, and a number has a unit or counts."""
    assert field.meaning
    assert field.example
    assert field.unit or field.kind is not Kind.NUMBER or field.name == "times_moved"

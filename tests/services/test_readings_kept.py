"""What was said at an earlier question: what still counts of it, and what was sent twice."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.verdict import Word
from sprayadvisor.services.ports.readings import KeptReading
from sprayadvisor.services.readings_kept import matt_since, same

NOON = datetime(2026, 4, 16, 11, tzinfo=UTC)


def min_(minutes):
    """Return a time so many minutes after noon."""
    return NOON + timedelta(minutes=minutes)


def kept(at=0, **changes):
    """Return a reading of a panel before the clear."""
    usual = KeptReading(Reading(min_(at), 14.5), min_(at), "clear", Word.GO, matt_at=min_(at - 5))
    return replace(usual, **changes)


@pytest.mark.parametrize(
    ("readings", "begun", "since"),
    [
        ([], None, None),
        ([kept()], None, -5),
        ([kept(), kept(9, matt_at=None)], None, -5),
        ([kept(), kept(9)], None, 4),
        ([kept(stage="blend")], None, None),
        ([kept(), kept(9, struck_at=min_(10))], None, -5),
        ([kept()], -6, -5),
        ([kept()], -5, None),
        ([kept(-800)], None, None),
    ],
)
def test_matt_counts_until_the_next_coat(readings, begun, since):
    """The last that was said for this stage and not struck out, of this day's work."""
    found = matt_since(readings, "clear", None if begun is None else min_(begun), min_(20))
    assert found == (None if since is None else min_(since))


@pytest.mark.parametrize(
    ("other", "is_same"),
    [
        (kept(2), True),
        (kept(3), False),
        (kept(1, stage="blend"), False),
        (kept(1, mist_s=4.0), False),
        (kept(1, matt_at=None), False),
        (kept(1, matt_at=min_(0)), False),
        (kept(1, reading=Reading(min_(1), 15.0)), False),
    ],
)
def test_the_same_sent_a_moment_later_is_the_same(other, is_same):
    """Whatever was measured, felt or said otherwise makes it another."""
    assert same(kept(), other) is is_same


def test_what_was_struck_out_is_not_the_same_as_what_is_sent_again():
    """Else a reading could not be put right."""
    assert not same(kept(struck_at=min_(1)), kept(1))

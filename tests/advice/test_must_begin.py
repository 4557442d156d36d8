"""By when a coat must follow the one before it, from what was said."""

from datetime import datetime, timedelta

import pytest
from at_car import NOON, asked, car, told
from days import EVENING, job, plan_for

from sprayadvisor.advice.caps import LATE
from sprayadvisor.advice.must_begin import must_begin_by
from sprayadvisor.advice.rest import stage_index
from sprayadvisor.advice.said import Report
from sprayadvisor.advice.verdict import Word

PLAN = plan_for(job())


def by(stage, **said):
    """Return how many minutes after the evening a stage must have begun; None where unbound."""
    if isinstance(said.get("noted"), str):
        said["noted"] = stage_index(PLAN, (said["noted"],))
    found: datetime | None = must_begin_by(PLAN, stage_index(PLAN, (stage,)), **said)
    return None if found is None else (found - EVENING).total_seconds() / 60


@pytest.mark.parametrize(
    ("stage", "said", "minutes"),
    [
        # Two minutes of promoter, then the 45 its sheet allows; matt is later than on.
        ("primer", {"noted": "promoter", "noted_at": EVENING}, 47.0),
        ("primer", {"matt_at": EVENING}, 45.0),
        (
            "primer",
            {
                "noted": "promoter",
                "noted_at": EVENING,
                "matt_at": EVENING + timedelta(minutes=9),
            },
            47.0,
        ),
        # The warming of the metal binds it by the process, where that is what was noted.
        ("primer", {"noted": "primer-warm", "noted_at": EVENING}, 38.0),
        ("primer", {"noted": "primer", "noted_at": EVENING}, None),
        ("primer", {}, None),
        ("clear", {"matt_at": EVENING}, 45.0),
        ("look", {"matt_at": EVENING}, None),
    ],
)
def test_the_tightest_of_what_was_said_counts(stage, said, minutes):
    """From the printed minutes in between; whoever noted nothing is not bound by a guess."""
    assert by(stage, **said) == minutes


def test_a_promoter_that_was_noted_too_long_ago_takes_no_primer():
    """Asked without a word of matt, and with a matt said just now: too late all the same."""
    ids = car("promoter").ids
    for said in ({}, {"matt_at": NOON}):
        for ago, word in ((30, Word.GO), (50, Word.NO_GO)):
            here = car("primer")
            noted = Report(ids, NOON - timedelta(minutes=ago))
            found = told(
                "primer",
                of=type(here)(here.setup, here.policy, here.members, None, here.ids, None, noted),
                asked=asked(panel_temp_c=17.0, **said),
            )
            assert found.word is word
            assert (found.why == LATE) is (word is Word.NO_GO)
            assert found.latest == NOON + timedelta(minutes=47 - ago)

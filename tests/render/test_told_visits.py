"""A repair in two visits, in words and for a machine."""

from dataclasses import replace
from datetime import UTC, datetime

from briefs import brief, entries

from sprayadvisor.advice.two_visits import TwoVisits, Visit
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.jsonable import brief_json
from sprayadvisor.render.told import tell
from sprayadvisor.units import Display

FIRST = Visit(
    datetime(2026, 4, 17, 9, 0, tzinfo=UTC), datetime(2026, 4, 17, 11, 30, tzinfo=UTC), Word.GO, 0.9
)
SECOND = Visit(
    datetime(2026, 4, 18, 9, 0, tzinfo=UTC), datetime(2026, 4, 18, 12, 0, tzinfo=UTC),
    Word.CARE, 0.7,
)  # fmt: skip


def facts(visits):
    """Return the facts of a no-go with what is offered, and its JSON."""
    entry = replace(entries()[2], two_visits=visits)
    made = brief(entry, clashes=(), ring=())
    shown = tell(made, Display()).jobs[0]
    return {f.label: f.text for f in shown.facts}, brief_json(made)["jobs"][0]["two_visits"]


def test_both_visits_are_told_with_their_likelihoods():
    """What is done today, what another day, how it is left between."""
    said, data = facts(TwoVisits("sand the primer", FIRST, SECOND))
    assert said["In two visits"] == (
        "Fri 17 Apr 10:00 to 12:30 up to “sand the primer” (go, about 9 in 10); the rest "
        "Sat 18 Apr 10:00 to 13:00 (care, about 7 in 10), if the customer agrees. Leave it dry and "
        "covered, key it again before the colour."
    )
    assert data["after"] == "sand the primer"
    assert (data["first"]["verdict"], data["second"]["likelihood"]) == ("go", 0.7)
    assert data["second"]["begin"] == "2026-04-18T10:00+01:00"
    assert data["rekey_after_h"] is None


def test_paint_that_waits_too_long_is_keyed_all_over():
    """The maker's hours are named."""
    said, data = facts(TwoVisits("sand the primer", FIRST, SECOND, 24.0))
    assert said["In two visits"].endswith("More than 24 h lie between: key all of it, edges too.")
    assert data["rekey_after_h"] == 24.0


def test_without_an_offer_nothing_is_said():
    """No empty line."""
    said, data = facts(None)
    assert "In two visits" not in said
    assert data is None

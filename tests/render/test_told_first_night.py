"""What rain and dew may do to fresh clear, in words."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from briefs import entries

from sprayadvisor.advice.first_night import FirstNight, Wetting
from sprayadvisor.render.told_first_night import first_night

GO = entries()[0]


def local(day, hour, minute=0):
    """Return a time in April as the bay's clocks show it: an hour ahead of UTC."""
    return datetime(2026, 4, day, hour - 1, minute, tzinfo=UTC)


DRY = Wetting(0.0, None)
DONE = local(17, 13, 10)


def told(rain=DRY, dew=DRY, hours=3):
    """Return what is said of a clear done at 13:10."""
    found = FirstNight(DONE + timedelta(hours=hours), rain, dew)
    return first_night(replace(GO, commitment=(local(17, 12), DONE), first_night=found))


def test_the_first_night_is_mentioned_with_what_the_customer_must_know():
    """To the next half hour, with the day where that is another one; never of a no-go."""
    assert told().startswith("Rain or dew before about 16:30 leaves spots. Tell the customer: no w")
    assert "before about Sat 18 Apr 01:30 leaves spots" in told(hours=12)
    assert first_night(replace(GO, commitment=None)).startswith("Keep the primer dry")
    assert first_night(replace(GO, commitment=None, coats=())) == ""
    assert first_night(entries()[2]) == ""


@pytest.mark.parametrize(
    ("rain", "dew", "said"),
    [
        (Wetting(0.3, local(17, 14)), DRY, "leaves spots. Tell"),
        (
            Wetting(0.9, local(17, 14)),
            DRY,
            "spots. Rain is likely from about 14:00 (about 9 in 10): have it under a roof by then",
        ),
        (DRY, Wetting(0.5, local(17, 15, 30)), "spots. Dew is likely from about 15:30 (about 5"),
        (
            Wetting(0.5, local(17, 14)),
            Wetting(0.5, local(17, 15)),
            "Rain is likely from about 14:00 (about 5 in 10) and dew is likely from about 15:00",
        ),
        (Wetting(1.0, None), DRY, "spots. Rain is likely (better than 9 in 10): have it"),
    ],
)
def test_what_will_wet_it_is_said_with_the_hour(rain, dew, said):
    """The fixed sentence alone would be read past on the day it matters."""
    assert said in told(rain, dew)

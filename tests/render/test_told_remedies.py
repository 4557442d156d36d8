"""What would change a verdict, in words and for machines."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from briefs import brief, told
from days import EVENING, SITE, job, outlook

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.remedies import Remedy
from sprayadvisor.advice.setups import Change
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.html import brief_html
from sprayadvisor.render.jsonable import brief_json
from sprayadvisor.render.text import brief_text
from sprayadvisor.render.told_remedies import SHOWN, remedies
from sprayadvisor.units import Display

MADE = EVENING
PLAIN = Display()
TODAY = datetime(2026, 4, 17, 7, 15, tzinfo=UTC)  # 08:15 on site


def helps(change=Change.CANOPY, **changed):
    """Return a remedy: a no-go that the canopy makes care, unless told otherwise."""
    usual = Remedy(
        change,
        "site.cover",
        "open_sky",
        "canopy",
        Level.STOP,
        0.26,
        0.71,
        Word.NO_GO,
        Word.CARE,
        TODAY,
        "",
    )
    return replace(usual, **changed)


def entry_with(*some, site=SITE):
    """Return an entry with remedies."""
    return replace(told(job(site=site), outlook(rh_pct=82.0)), remedies=some)


WORDS = [
    (
        helps(),
        "Under the canopy, two sides open and every leg weighted: care; done at all about 7 in 10",
    ),
    (helps(), "care; done at all about 7 in 10, as booked about 3 in 10."),
    (helps(Change.EARLIER), "Start at 08:15, if the customer agrees: care"),
    (helps(Change.LATER), "Start at 08:15, if the customer agrees: care"),
    (helps(Change.OTHER_DAY), "Friday 17 April at 08:15, if the customer agrees: care"),
    (
        helps(Change.OTHER_DAY, start=TODAY + timedelta(days=3)),
        "Monday 20 April in the morning, if the customer agrees: care",
    ),
    (
        helps(Change.OTHER_DAY, start=TODAY + timedelta(days=3, hours=6)),
        "Monday 20 April in the afternoon, if the customer agrees: care",
    ),
    (helps(Change.TURN), "The car the other way round on the drive: care"),
    (helps(Change.TURN, before=None, after=270.0), "The car with its nose to the west: care"),
    (
        helps(Change.WARM_FIRST, after=25.0, about="base"),
        "The lamp on the panel right before the base, to 25 °C: care",
    ),
    (
        helps(Change.OTHER_CLEAR, about="Standard 2K clear"),
        "Standard 2K clear instead, if it is in the van: care",
    ),
    (helps(Change.WIPE), "The dew wiped off as you arrive: care"),
    (helps(Change.SHADE), "The panel in the shade, of the house or of the van: care"),
    (helps(Change.WIND_BREAK), "The van 2 to 3 m off, on the side the wind comes from: care"),
    (helps(Change.LAMP), "A socket agreed for the lamp, so that it bakes instead of air-drying"),
    (helps(Change.HALF_AREA), "Half the area, so that the lamp stands in fewer places: care"),
    (
        helps(level=Level.INSIDE, word_before=Word.CARE, word_after=Word.GO),
        "go; inside the sheets about 7 in 10, as booked about 3 in 10.",
    ),
    (helps(word_before=Word.CARE), "still care; done at all about 7 in 10"),
]


@pytest.mark.parametrize(("remedy", "words"), WORDS)
def test_each_remedy_has_its_words(remedy, words):
    """What is done, what it leads to, and how likely that is with and without it."""
    assert words in remedies(entry_with(remedy), MADE, PLAIN)


def test_at_a_kerb_the_car_goes_to_the_other_side():
    """A parked car cannot be turned on the spot; it stands across the road."""
    kerb = replace(SITE, kerb=True)
    said = remedies(entry_with(helps(Change.TURN), site=kerb), MADE, PLAIN)
    assert said.startswith("The car on the other side of the road, facing the other way: care")


def test_three_at_most_are_told_and_none_where_none_helps():
    """The best three, in their order; without any the line is not there."""
    many = [helps(change) for change in (Change.WIPE, Change.SHADE, Change.CANOPY, Change.TURN)]
    said = remedies(entry_with(*many), MADE, PLAIN)
    assert said.count("as booked") == SHOWN
    assert said.index("dew") < said.index("shade") < said.index("canopy")
    assert "other way round" not in said
    assert remedies(entry_with(), MADE, PLAIN) == ""
    assert "What would change it" not in brief_text(brief(entry_with()), PLAIN)


def test_both_layouts_tell_what_would_change_it():
    """The line stands in the text and in the mail."""
    made = brief(entry_with(helps()))
    assert "What would change it: Under the canopy" in brief_text(made, PLAIN)
    assert "What would change it:" in brief_html(made, PLAIN, {})


def test_a_machine_reads_both_likelihoods_the_input_and_both_verdicts():
    """Every remedy is there, however many, with nothing rounded to words."""
    found = brief_json(brief(entry_with(helps(), *[helps(Change.WIPE)] * 4)))["jobs"][0]["remedies"]
    assert len(found) == 5
    assert found[0] == {
        "change": "canopy",
        "input": "site.cover",
        "before": "open_sky",
        "after": "canopy",
        "p_before": 0.26,
        "p_after": 0.71,
        "p_of": "stop",
        "verdict_before": "no-go",
        "verdict_after": "care",
        "best_start": "2026-04-17T08:15+01:00",
    }
    inside = replace(helps(), level=Level.INSIDE)
    assert brief_json(brief(entry_with(inside)))["jobs"][0]["remedies"][0]["p_of"] == "inside"

"""What is in the air, what stands downwind, van and air line: brief, with one thing to do."""

from dataclasses import replace
from datetime import time
from types import MappingProxyType

import numpy as np
import pytest
from briefs import brief, entries, told
from days import EVENING, SITE, job, outlook

from sprayadvisor.advice.air_levels import HAZARD_OF
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.brief import AirLevel, AirLine, Downwind, DownwindAnswer
from sprayadvisor.advice.checks import QUANTITY_WORDS, Check, Level
from sprayadvisor.advice.downwind import Side
from sprayadvisor.advice.limits import PRACTICE
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.sheet import Origin
from sprayadvisor.advice.van import VanTemps
from sprayadvisor.render.defects import defect
from sprayadvisor.render.jsonable import brief_json
from sprayadvisor.render.limits import limiting_words
from sprayadvisor.render.told import tell
from sprayadvisor.render.told_around import ask_at_the_car, downwind, in_the_air, van_and_air_line
from sprayadvisor.science.airborne import HAZARDS
from sprayadvisor.units import Display

DISPLAY = Display()
GATE = Side("north", "school gate", people=True)
CARS = Side("west", "neighbour's cars", people=False)
NAN = float("nan")


def with_air(*levels):
    """Return an entry with these levels in the air."""
    return replace(entries()[0], air=tuple(levels))


def test_low_levels_are_not_told_and_the_others_with_reason_and_action():
    """Some and high say why and what helps; what is not known is one short sentence."""
    text = in_the_air(
        with_air(
            AirLevel("insects", 2.0, EVENING, "clear, coat 2"),
            AirLevel("dust", 1.0, EVENING, "base, coat 1"),
            AirLevel("drips", 0.0, EVENING, "base, coat 1"),
            AirLevel("pollen", NAN, None, ""),
            AirLevel("pm10", NAN, None, ""),
        )
    )
    assert text.startswith("Insects: high at 18:00 during “clear, coat 2”; warm and still")
    for words in (HAZARDS["insects"].action, HAZARDS["dust"].some, HAZARDS["dust"].action):
        assert words in text
    assert "gaps" not in text
    assert text.endswith("Pollen and fine dust in the air not known.")
    assert in_the_air(with_air(AirLevel("dust", 0.0, EVENING, "base"))) == ""


SAID = [
    (Downwind(DownwindAnswer.CLEAR, EVENING, "base", "south", ()), "goes south, clear of what"),
    (Downwind(DownwindAnswer.LOOK, EVENING, "base", "", (GATE,)), "Feel the wind before each coat"),
    (Downwind(DownwindAnswer.MOVE_VAN, EVENING, "base", "west", (CARS,)), "Put the van on that si"),
    (
        Downwind(DownwindAnswer.OTHER_END, EVENING, "base", "west", (CARS,)),
        "other end of the drive",
    ),
    (
        Downwind(DownwindAnswer.NO, EVENING, "base", "north", (GATE,)),
        "No, not while anybody may be",
    ),
    (
        Downwind(DownwindAnswer.WAIT, EVENING, "base", "north", (GATE, CARS), EVENING),
        "Wait: it blows clear from 18:00",
    ),
]


@pytest.mark.parametrize(("found", "words"), SAID)
def test_downwind_says_where_what_when_and_what_to_do(found, words):
    """Each answer in plain words, naming side and what stands there; none without a site's word."""
    text = downwind(replace(entries()[0], downwind=found))
    assert words in text
    for side in found.sides:
        assert f"{side.what} ({side.name})" in text
    if found.answer in (DownwindAnswer.MOVE_VAN, DownwindAnswer.NO, DownwindAnswer.WAIT):
        assert text.startswith(f"At 18:00 during “base” your mist goes {found.towards}:")
    assert downwind(entries()[0]) == ""


@pytest.mark.parametrize(
    ("van", "words", "silent"),
    [
        (VanTemps(4.9, 20.0), ("water-borne first: the van falls to about 5 °C",), "in the sun"),
        (VanTemps(5.0, 35.0), (), "van"),
        (VanTemps(12.0, 41.2), ("The van gets to about 41 °C in the sun",), "indoors"),
        (VanTemps(), ("How cold the van gets tonight is not known",), "falls to"),
    ],
)
def test_the_van_is_told_when_paint_would_suffer(van, words, silent):
    """Below five degrees at night, above thirty-five by day, and where the night is not known."""
    text = " ".join(van_and_air_line(brief(van=van, air_line=None), DISPLAY))
    for each in words:
        assert each in text
    assert silent not in text


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (AirLine.USUAL, "Air line: drain tank and trap on arrival and before the clear"),
        (AirLine.STICKY, "drain tank and trap twice at each stop"),
        (AirLine.FROST, "traps and hoses freeze"),
    ],
)
def test_the_air_line_is_one_habit(line, words):
    """One line, stronger where the air asks for it."""
    said = van_and_air_line(brief(van=VanTemps(9.0, 9.0), air_line=line), DISPLAY)
    assert len(said) == 1
    assert words in said[0]


def test_air_that_could_not_be_had_is_told_with_the_forecast():
    """Which jobs it concerns and why; it is no fault of the forecast."""
    made = brief(air_problems=("GO1: the air-quality service is away.",))
    assert (
        "Pollen and fine dust, GO1: the air-quality service is away." in tell(made, DISPLAY).weather
    )
    assert brief_json(made)["air_problems"] == ["GO1: the air-quality service is away."]


def test_json_has_levels_and_downwind():
    """A machine gets the same: null for what is not known."""
    entry = replace(
        with_air(
            AirLevel("dust", 2.0, EVENING, "base"),
            AirLevel("pollen", NAN, None, ""),
        ),
        downwind=SAID[5][0],
    )
    found = brief_json(brief(entry, clashes=()))["jobs"][0]
    assert found["in_the_air"] == [
        {"hazard": "dust", "level": "high", "at": "2026-04-16T18:00+01:00", "stage": "base"},
        {"hazard": "pollen", "level": None, "at": None, "stage": None},
    ]
    assert found["downwind"]["answer"] == "wait"
    assert found["downwind"]["clear_from"] == "2026-04-16T18:00+01:00"
    assert found["downwind"]["reaches"][0] == {
        "side": "north",
        "what": "school gate",
        "people": True,
    }
    assert brief_json(brief())["jobs"][0]["downwind"] is None


def limit(quantity, value, margin, origin=PRACTICE, **bounds):
    """Return a limiting check at the first stage."""
    check = Check(quantity, origin, **bounds)
    return Limiting(check, 0, 0, value, margin, Level.INSIDE, 1.0, 0)


@pytest.mark.parametrize("quantity", sorted(HAZARD_OF))
def test_a_level_that_decides_is_said_with_its_reason_and_action(quantity):
    """High with the reason; what is seen afterwards and the one action."""
    plan = entries()[0].judgement.plan
    found = limit(quantity, 2.0, -0.5, inside_max=1.5)
    hazard = HAZARDS[HAZARD_OF[quantity]]
    words = limiting_words(found, plan, "11:40", DISPLAY)
    assert words.startswith(f"{QUANTITY_WORDS[quantity].label} high at 11:40")
    assert hazard.high in words
    assert "common practice" in words
    assert defect(found).action == hazard.action.rstrip(".")
    assert defect(found).seen
    low = limiting_words(limit(quantity, 0.0, 1.5, inside_max=1.5), plan, "1", DISPLAY)
    assert " low at" in low
    assert hazard.high not in low


def test_what_is_not_known_is_never_called_kept():
    """A yes or no that nobody knows is said as such."""
    plan = entries()[0].judgement.plan
    for quantity in ("low_sun", "downwind"):
        words = limiting_words(limit(quantity, NAN, NAN, inside_max=0.5), plan, "1", DISPLAY)
        assert "not known" in words
        assert "kept" not in words


def test_care_says_whose_call_it_is_about():
    """The sheet, what stands downwind, or common practice: never the maker where he has no part."""
    at = replace(SITE, downwind=MappingProxyType({"n": "cars"}))
    light = told(job(ref="DW", site=at), outlook(wind_from_deg=180.0))
    shown = tell(brief(light, clashes=()), DISPLAY).jobs[0]
    assert "Mind what stands downwind. Your call." in shown.short
    facts = {fact.label: fact.text for fact in shown.facts}
    assert "our mist may reach what stands downwind" in facts["Why"]
    assert facts["Downwind"].startswith("At ")
    dusty = told(job(ref="DU", process="door-scuff"), outlook(gust_10m_ms=9.5))
    shown = tell(brief(dusty, clashes=()), DISPLAY).jobs[0]
    assert "Beyond common practice. Your call." in shown.short
    assert "In the air" in {fact.label for fact in shown.facts}
    assert str(Origin("site")) == "what you said of the site"
    assert brief(dusty, moment=Moment.MORNING, clashes=()).air_line is AirLine.USUAL
    assert np.isnan([one.level for one in dusty.air if one.hazard == "pollen"]).all()


def test_in_the_morning_is_asked_what_nobody_said_of_the_car():
    """Of jobs that may be done, with neither drive nor wash stated; not in the evening."""
    said = told(job(ref="SA1", driven_until=time(8)))
    unsaid = told(job(ref="UN2"))
    (line,) = ask_at_the_car(brief(said, unsaid, moment=Moment.MORNING, clashes=()))
    assert line.startswith("Ask at the car (UN2): driven or washed within the hour?")
    assert ask_at_the_car(brief(said, moment=Moment.MORNING, clashes=())) == []
    assert ask_at_the_car(brief(unsaid, moment=Moment.EVENING, clashes=())) == []

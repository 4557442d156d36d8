"""Starts, commitments, coats and the first night in words."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from briefs import brief, entries
from days import EVENING, ZONE

from sprayadvisor.advice.brief import WindowBar
from sprayadvisor.advice.mixing import Mix
from sprayadvisor.advice.sheet_mixing import Choice
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render import told_times
from sprayadvisor.render.told import tell
from sprayadvisor.render.words import clock
from sprayadvisor.units import Display

DISPLAY = Display()
GO = entries()[0]


def local(day, hour, minute=0):
    """Return a time in April as the bay's clocks show it: an hour ahead of UTC."""
    return datetime(2026, 4, day, hour - 1, minute, tzinfo=UTC)


def window(day, first, latest, word=Word.GO):
    """Return a window by whole local hours, best at its beginning."""
    return WindowBar(local(day, first), local(day, first), local(day, latest), word)


@pytest.mark.parametrize(
    ("windows", "words"),
    [
        ([window(17, 8, 14)], "Between 09:30 and 11:00 best at 10:15, at the latest 11:00. Starts"),
        ([window(17, 8, 14)], "Starts fit that day from 08:00 to 14:00, best 08:00 (go)."),
        ([replace(window(17, 8, 10), latest=local(17, 10, 15))], "best at 10:15 and no later."),
        ([window(17, 12, 14)], "None between 09:30 and 11:00. Starts fit that day from 12:00"),
        ([window(18, 12, 14)], "No start fits on the agreed day."),
    ],
)
def test_the_start_is_told_of_what_is_agreed_and_of_the_day(windows, words):
    """Best and latest within the agreed time, then the whole day; a day without is told too."""
    assert words in told_times.start(replace(GO, windows=tuple(windows)))


def test_two_days_ahead_hours_are_no_longer_told():
    """By the clock within 48 hours of the brief, then by mornings and afternoons, each once."""
    windows = (
        window(17, 9, 11),
        window(18, 9, 11, Word.CARE),
        window(18, 19, 20),
        window(19, 8, 10),
        window(19, 11, 11),
        window(19, 13, 15, Word.CARE),
        window(20, 9, 14),
    )
    assert told_times.other_days(replace(GO, windows=windows), EVENING) == (
        "Sat 18 Apr from 09:00 to 11:00, best 09:00 (care); Sat 18 Apr, afternoon (go); "
        "Sun 19 Apr, morning (go); Sun 19 Apr, afternoon (care)."
    )
    assert told_times.other_days(replace(GO, windows=(window(20, 9, 14),)), EVENING) == (
        "Mon 20 Apr, morning or afternoon (go)."
    )
    assert told_times.other_days(replace(GO, windows=()), EVENING) == ""


CHOICES = [
    ([("hardener", "fast")], "Fast hardener;"),
    ([("hardener", "fast"), ("hardener", "standard")], "Fast or standard hardener;"),
    ([("hardener", "fast"), ("thinner", "slow")], "Fast hardener and slow thinner;"),
    ([], "Mix 50 ml; pot life about"),
]


@pytest.mark.parametrize(("choices", "words"), CHOICES)
def test_of_one_kind_either_is_mixed_in_and_of_each_kind_one(choices, words):
    """Two hardeners are a choice, a hardener and a thinner are both wanted."""
    made = tuple(Choice(what=what, name=name, page=1) for what, name in choices)
    said = told_times.coat(replace(GO.coats[1], choices=made), ZONE, DISPLAY)
    assert words in said
    assert said.endswith(" min.")


def test_a_coat_without_flash_or_pot_life_says_only_what_it_meets():
    """Nothing is printed where the sheet prints nothing."""
    bare = replace(GO.coats[0], flash_expected_min=None, choices=(), pot_life_min=None, mixes=())
    said = told_times.coat(bare, ZONE, DISPLAY)
    assert said.endswith(" in hand.")
    assert "between coats" not in said


def test_what_a_coat_meets_may_be_unknown():
    """No number is made up."""
    nan = float("nan")
    blind = replace(GO.coats[0], panel_temp_c=nan, dew_margin_k=nan)
    said = told_times.coat(blind, ZONE, DISPLAY)
    assert "panel unknown" in said
    assert "unknown in hand" in said


def test_the_commitment_counts_clean_minutes_and_those_under_the_lamp():
    """Clean minutes and lamp minutes add up to the time without return."""
    said = told_times.commitment(GO)
    begin, end = GO.commitment
    clean, lamp = (int(word) for word in said.split() if word.isdigit())
    assert clean + lamp == (end - begin).total_seconds() / 60
    dry = told_times.commitment(replace(GO, chart=None))
    assert "under the lamp" not in dry
    assert told_times.commitment(replace(GO, commitment=None)) == ""


def test_far_slots_are_offered_by_the_part_of_the_day():
    """Nobody is promised an hour that no forecast knows; the same part is offered once."""
    no = entries()[2]
    slots = (window(18, 10, 12), window(19, 9, 10), window(19, 11, 11))
    call = tell(
        brief(no, ring=(brief().ring[0].__class__("NO3", slots),), clashes=()), DISPLAY
    ).calls[0]
    assert call.line.endswith(
        "offer Saturday 18 April, arriving between 10:00 and 11:30; Sunday 19 April in the morning."
    )


def test_a_coat_on_warmed_metal_says_so():
    """What the lamp warms it to, beside what the panel has of itself."""
    line = GO.coats[0]
    assert "lamp" not in told_times.coat(replace(line, warmed_to_c=None), ZONE, DISPLAY)
    said = told_times.coat(replace(line, warmed_to_c=27.0), ZONE, DISPLAY)
    assert "in hand; right before it the lamp warms the panel to 27 °C." in said


def test_what_is_mixed_is_told_cup_by_cup_and_what_is_ready_is_taken():
    """Each cup fresh where a bake lies between; an edge with the minutes it has."""
    coats = {coat.role: coat for coat in GO.coats}
    assert "Take 30 ml." in told_times.coat(coats["promoter"], ZONE, DISPLAY)
    edge = told_times.coat(coats["blender"], ZONE, DISPLAY)
    assert "Begin within 3 min of the coat below." in edge
    twice = replace(coats["primer"], mixes=(Mix(1, 30.0, 4), Mix(1, 20.0, 4), Mix(1, None, 4)))
    assert "mix 30 and 20 ml, each fresh" in told_times.coat(twice, ZONE, DISPLAY)


def test_paint_that_gels_before_its_coats_are_on_is_warned_of():
    """Only where the coats take longer than the pot life."""
    clear = next(coat for coat in GO.coats if coat.role == "clear")
    assert "longer than it lasts" not in told_times.coat(clear, ZONE, DISPLAY)
    slow = replace(clear, mixes=(Mix(2, 125.0, 31),), pot_life_min=25.0)
    said = told_times.coat(slow, ZONE, DISPLAY)
    assert said.endswith("Its coats take 31 min, longer than it lasts: mix each coat fresh.")


def test_the_base_has_a_latest_opening():
    """Said where it lies later than the best one; never an earlier one."""
    begin = GO.commitment[0]
    later = replace(GO, latest_opening=begin + timedelta(minutes=75))
    words = f"Best begun then, at the latest at {clock(later.latest_opening, ZONE)}."
    assert words in told_times.commitment(later)
    for none in (None, begin):
        assert "at the latest" not in told_times.commitment(replace(GO, latest_opening=none))


@pytest.mark.parametrize(
    ("there", "words"),
    [
        (None, "at the latest 11:00. Starts fit"),
        (local(17, 10), "You can be there from 10:00. Starts"),
        (local(17, 11, 30), "You can be there from 11:30, too late for what was agreed: ring. St"),
    ],
)
def test_when_the_van_can_be_there_stands_with_the_starts(there, words):
    """The job before it may run too long for what was agreed."""
    entry = replace(GO, windows=(window(17, 8, 14),), there_from=there)
    assert words in told_times.start(entry)

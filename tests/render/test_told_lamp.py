"""What the lamp has to do, in words."""

from dataclasses import replace

import pytest
from briefs import told
from days import SITE, job, outlook

from sprayadvisor.advice.model import Colour, Panel, Part, Power
from sprayadvisor.render.told_lamp import lamp
from sprayadvisor.units import Display

DOOR = Panel(Part.LEFT_DOOR, Colour.WHITE)


@pytest.mark.parametrize(
    ("changes", "words", "absent"),
    [
        ({"panels": (DOOR,)}, "; clear 60 °C after about", "in turn"),
        ({"panels": (DOOR,)}, ", then 9 min. Read it with the lamp off.", "Plastic"),
        ({}, "clear 55 °C after about", "in turn"),
        ({}, ", then 14 min. Plastic takes no more. Read it", "60 °C"),
        ({"repair_area_m2": 0.6}, " Each in 2 places in turn.", "3 places"),
    ],
)
def test_heat_time_and_places_of_each_bake_are_told(changes, words, absent):
    """By the sheet, on metal or plastic, in as many places as the repair needs."""
    said = lamp(told(job(**changes)), Display())
    assert words in said
    assert absent not in said


def test_minutes_to_the_heat_are_those_of_one_place():
    """Two places take twice as long, and each of them as long as ever."""
    one, two = (
        lamp(told(job(panels=(DOOR,), repair_area_m2=area)), Display()) for area in (0.3, 0.6)
    )
    clears = [said.split("; clear")[1] for said in (one, two)]
    assert clears[1].replace(" Each in 2 places in turn.", "") == clears[0]


def test_without_a_lamp_or_a_bake_nothing_is_told():
    """No power, or rain before anything is sprayed."""
    dark = job(site=replace(SITE, power=Power.NONE))
    assert lamp(told(dark), Display()) == ""
    assert lamp(told(job(), outlook(wet_hour_mm=1.0)), Display()) == ""

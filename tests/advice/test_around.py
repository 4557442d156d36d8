"""What the best play meets in the air and downwind, and what is to be done about it."""

from dataclasses import replace
from datetime import UTC, datetime, time
from types import MappingProxyType

import numpy as np
import pytest
from days import EVENING, SITE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.around import air_met, downwind_met
from sprayadvisor.advice.brief import DownwindAnswer
from sprayadvisor.advice.case import Case
from sprayadvisor.advice.climate import climate
from sprayadvisor.advice.judge import Judgement, judge
from sprayadvisor.advice.members import draw
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.verdict import Word
from sprayadvisor.science.airborne import HAZARDS

POLICY = Policy()
NAN = float("nan")


def judged(booking=None, met=None, **weather):
    """Return the judgement on a job."""
    booking = booking or job()
    met = met or climate_for(booking, outlook(**weather))
    plan = plan_for(booking)
    return judge(booking, plan, met, POLICY, POLICY.thresholds[Moment.EVENING], EVENING)


def at_site(**sides):
    """Return a job where something stands on some sides."""
    return job(site=replace(SITE, downwind=MappingProxyType(sides)))


def until(hour, before, after):
    """Return a wind that turns at an hour UTC."""
    return lambda hours: np.where(hours < hour, before, after)


def test_each_hazard_is_told_where_it_is_worst():
    """Level, moment and stage, in the order of the hazards; unknown ones without a moment."""
    windy = judged(gust_10m_ms=6.0)
    found = {one.hazard: one for one in air_met(windy)}
    assert list(found) == list(HAZARDS)
    assert found["dust"].level == 1.0
    assert found["dust"].stage == "base, coat 1"
    base = int(windy.play.walk.begins[windy.plan.first_coat("base"), windy.play.row])
    assert found["dust"].at == windy.at(base)  # not the quarter hour it begins in
    assert found["drips"].level == 0.0
    assert np.isnan(found["pollen"].level)
    assert (found["pollen"].at, found["pollen"].stage) == (None, "")
    assert found["pollen"].words.action.startswith("Tack")


def test_the_first_of_the_worst_moments_counts():
    """Gusts that come up during the clear are told at the clear."""
    plain = judged()
    clear = plain.plan.first_coat("clear")
    minute = int(plain.play.walk.begins[clear, plain.play.row])
    step = minute // 15
    gusts = np.where(np.arange(480) >= step, 6.0, 3.0)
    found = {one.hazard: one for one in air_met(judged(gust_10m_ms=gusts))}
    assert found["dust"].level == 1.0
    assert found["dust"].at in (plain.at(minute), plain.at(step * 15))


def test_what_a_quarter_of_the_members_meet_is_told():
    """A level few members reach is left out, one that many reach is not."""
    booking = job()
    cases = [Case(booking.site, panel) for panel in booking.panels]
    met = climate(draw(outlook(), 8, seed=1, origin=EVENING), cases)
    for many, level in ((2, 1.0), (3, 2.0)):
        dust = np.ones_like(met["dust_level"])
        dust[:many] = 2.0
        changed = replace(met, values=met.values | {"dust_level": dust})
        found = {one.hazard: one for one in air_met(judged(booking, changed))}
        assert found["dust"].level == level


def test_where_nothing_is_sprayed_nothing_is_told():
    """Neither without a play nor where the play ends before the first coat."""
    nothing = Judgement(at_site(n="cars"), Word.UNKNOWN, "no forecast")
    assert air_met(nothing) == ()
    assert downwind_met(nothing, POLICY) is None
    rainy = judged(at_site(n="cars"), wet_hour_mm=1.0)
    assert air_met(rainy) == ()
    assert downwind_met(rainy, POLICY) is None
    assert downwind_met(judged(), POLICY) is None


# sides, where the wind comes from, its speed, answer, where to, whether it clears that day
DOWNWIND = [
    ({"n": "school gate"}, 0.0, 2.0, DownwindAnswer.CLEAR, "south", False),
    ({"n": "neighbour's cars"}, 180.0, 2.0, DownwindAnswer.MOVE_VAN, "north", False),
    ({"n": "neighbour's cars"}, 180.0, 4.0, DownwindAnswer.OTHER_END, "north", False),
    ({"n": "neighbour's cars"}, until(15.0, 180.0, 0.0), 4.0, DownwindAnswer.WAIT, "north", True),
    ({"n": "school gate"}, 180.0, 2.0, DownwindAnswer.NO, "north", False),
    ({"n": "school gate", "ne": "car"}, 200.0, 2.0, DownwindAnswer.NO, "north", False),
    ({"n": "school gate"}, until(15.0, 180.0, 0.0), 2.0, DownwindAnswer.WAIT, "north", True),
    ({"n": "school gate"}, until(17.25, 180.0, 0.0), 2.0, DownwindAnswer.NO, "north", False),
    ({"n": "school gate"}, NAN, 2.0, DownwindAnswer.LOOK, "", False),
    ({"n": "school gate"}, 0.0, 0.1, DownwindAnswer.LOOK, "", False),
]


@pytest.mark.parametrize(("sides", "wind_from", "wind", "answer", "towards", "clears"), DOWNWIND)
def test_the_answer_says_what_to_do(sides, wind_from, wind, answer, towards, clears):
    """Clear, feel the wind, move the van, other end of the drive, wait or no."""
    found = downwind_met(
        judged(at_site(**sides), wind_from_deg=wind_from, wind_10m_ms=wind), POLICY
    )
    assert (found.answer, found.towards) == (answer, towards)
    assert (found.clear_from is not None) is clears
    assert bool(found.sides) is (answer is not DownwindAnswer.CLEAR)
    assert found.stage.startswith(("adhesion", "primer", "base", "clear"))


def test_waiting_is_offered_only_where_the_coats_still_fit():
    """It clears when the wind has turned, and not if the car must be back before."""
    turning = {"wind_from_deg": until(14.0, 180.0, 0.0)}
    found = downwind_met(judged(at_site(n="school gate"), **turning), POLICY)
    turned = datetime(2026, 4, 17, 14, tzinfo=UTC)
    assert found.clear_from == turned
    hurried = replace(at_site(n="school gate"), back_by=time(15, 30))
    assert downwind_met(judged(hurried, **turning), POLICY).answer is DownwindAnswer.NO

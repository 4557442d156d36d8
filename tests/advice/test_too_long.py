"""A process longer than the day has its sentence, whatever the weather."""

from datetime import time

import pytest
from at_car import EASY, FAIR
from days import EVENING, climate_for, job, outlook, plan_for

from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.too_long import too_long
from sprayadvisor.advice.verdict import Word


def of_day(opens, closes, **changes):
    """Return what is said of a bumper corner within some working hours."""
    return too_long(plan_for(job()), job(**changes), Policy(work_from=opens, work_to=closes))


@pytest.mark.parametrize(
    ("opens", "closes", "changes", "hours"),
    [
        (time(8), time(18), {}, ""),
        (time(9), time(11), {}, "from 09:30 to 11:00 there are 1 h 30"),
        (time(9), time(11), {"arrive_from": time(8)}, "from 09:00 to 11:00 there are 2 h"),
        (time(8), time(18), {"back_by": time(10, 30)}, "from 09:30 to 10:30 there are 1 h"),
        (time(8), time(18), {"car_there_from": time(17, 15)}, "from 17:15 to 18:00 there are 45 m"),
        (time(8), time(9), {"car_there_from": time(10)}, "from 10:00 to 09:00 there are 0 min"),
        (time(8), time(18), {"back_by": time(12, 40)}, ""),
        (time(8), time(18), {"back_by": time(12, 39)}, "from 09:30 to 12:39 there are 3 h 09"),
    ],
)
def test_the_shortest_work_is_held_against_the_hours(opens, closes, changes, hours):
    """Every clock at its fastest; the remedy is part of the sentence."""
    said = of_day(opens, closes, **changes)
    assert hours in said
    assert said.endswith("agree on longer hours, or split the job") is bool(hours)
    assert ("at the least" in said) is bool(hours)


def test_the_verdict_says_so_in_fine_weather():
    """Not that the paint would not come out right."""
    policy = Policy(thresholds=EASY.thresholds, work_from=time(9), work_to=time(11))
    plan, met = plan_for(job(), policy), climate_for(job(), outlook(**FAIR))
    found = judge(job(), plan, met, policy, policy.thresholds[Moment.EVENING], EVENING)
    assert found.word is Word.NO_GO
    assert found.why.startswith("the work takes 3 h")
    fine = judge(job(), plan_for(job()), met, EASY, EASY.thresholds[Moment.EVENING], EVENING)
    assert (fine.word, fine.why) == (Word.GO, "")

"""Work behind the bake can wait: it is never the reason for a no-go."""

import numpy as np
import pytest
from at_car import EASY
from days import EVENING, climate_for, job, outlook, plan_for

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.leavable import first_leavable
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.verdict import Word


def judged(**weather):
    """Return the judgement on a bumper corner, of one member."""
    met = climate_for(job(), outlook(rain_probability_pct=0.0, **weather))
    thresholds = EASY.thresholds[Moment.EVENING]
    return judge(job(), plan_for(job(), EASY), met, EASY, thresholds, EVENING)


def rain_from(hour_utc):
    """Return (step,) rain from an hour of each day until midnight."""
    return np.where((np.arange(5 * 96) / 4) % 24 >= hour_utc, 2.0, 0.0)


def test_rain_on_the_polish_is_a_matter_of_care():
    """The bake is over by 12 UTC; rain at noon spoils no paint, rain before it does."""
    dry = judged()
    bake = dry.plan.commitment()[1]
    ends = dry.at(int(judged(wet_hour_mm=rain_from(12)).play.walk.ends[bake, 0]))
    assert ends.hour < 12
    late = judged(wet_hour_mm=rain_from(12))
    assert (dry.word, late.word) == (Word.GO, Word.CARE)
    assert late.limiting.stage >= first_leavable(late.plan)
    assert (late.limiting.level, late.limiting.check.quantity) == (Level.INSIDE, "wet_hour_mm")
    assert judged(wet_hour_mm=rain_from(10)).word is Word.NO_GO


def test_the_hours_agreed_bind_all_of_it():
    """Who is to be gone at six is to be gone with the polishing."""
    spans = plan_for(job()).spans
    hours = [span for span in spans if span.check.quantity == "off_hours"]
    assert [span.check.stop_max for span in hours] == [0.5]


@pytest.mark.parametrize(
    ("process", "first"),
    [("bumper-corner", "pack"), ("nib-polish", None), ("fill-and-prime", None)],
)
def test_it_begins_behind_the_safe_stop_after_the_bake(process, first):
    """Where nothing is without return there is nothing to be spared."""
    plan = plan_for(job(process=process))
    index = first_leavable(plan)
    assert (None if index is None else plan.stages[index].id) == first
    assert [
        span
        for span in plan.spans
        if index is not None
        and span.first >= index
        and span.check.quantity != "off_hours"
        and span.check.bounds(Level.STOP) != (None, None)
    ] == []

"""A repair split at sanded primer, where the whole of it does not fit."""

from __future__ import annotations

from dataclasses import replace
from datetime import time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from days import DAY, EVENING, KIT, ZONE, catalogue, climate_for, job, outlook

from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.fits import misfits
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.model import Kit
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.setups import Setup
from sprayadvisor.advice.two_visits import split, two_visits
from sprayadvisor.advice.verdict import Word

POLICY = Policy()
THRESHOLDS = POLICY.thresholds[Moment.EVENING]


def setup_of(booking, kit=KIT) -> Setup:
    """Return how a job is done as booked."""
    process = catalogue().processes[booking.process]
    return Setup(booking, kit, process, catalogue().sheets_of(process))


def rain_from(hour: int, days: int = 0, until: int = 24):
    """Return weather with rain from a UTC hour of the job's day, on so many days after it too."""
    weather = outlook(days=6)
    day = minute_of(weather.starts_utc, local_time(DAY, EVENING.time().replace(hour=1), ZONE)) // 15
    for later in range(days + 1):
        weather.wet_hour_mm[day + later * 96 + hour * 4 : day + later * 96 + until * 4] = 1.0
    return weather


def offered(booking, weather, kit=KIT, policy=POLICY, now=EVENING):
    """Return the word on the whole, and what is offered."""
    setup = setup_of(booking, kit)
    whole = judge(
        booking, setup.plan(policy), climate_for(booking, weather), policy, THRESHOLDS, now
    )
    return whole.word, two_visits(whole, setup, policy, THRESHOLDS, now)


@pytest.mark.parametrize("name", sorted(set(catalogue().processes) - {
    "fill-and-prime", "paint-primed", "nib-polish"
}))  # fmt: skip
def test_every_process_with_primer_and_colour_is_split_at_sanded_primer(name):
    """Both halves are whole processes that fit their sheets; nothing is lost and masks go up."""
    whole = catalogue().processes[name]
    early, late = split(whole)
    assert early.stages[-2].id == "sand"
    assert misfits(early, catalogue().sheets) == misfits(late, catalogue().sheets) == []
    first, second = ({s.id for s in half.stages} for half in (early, late))
    assert {s.id for s in whole.stages} <= first | second
    assert first & second == {"look", "wash"}
    assert any(stage.film_up for stage in late.stages)
    assert set(early.sheets) | set(late.sheets) == set(whole.sheets)
    assert "base" not in early.sheets


@pytest.mark.parametrize("name", ["fill-and-prime", "paint-primed", "nib-polish"])
def test_what_has_no_safe_stop_between_paint_and_paint_is_not_split(name):
    """Already one half, or nothing is sprayed."""
    assert split(catalogue().processes[name]) is None


def test_without_a_safe_stop_or_masking_the_halves_say_so():
    """No place to leave it: no split. Nothing masked: nothing is masked again."""
    whole = catalogue().processes["door-scuff"]
    never = tuple(
        stage.model_copy(update={"safe_stop": False}) if stage.kind == "hand" else stage
        for stage in whole.stages
    )
    assert split(whole.model_copy(update={"stages": never})) is None
    bare = tuple(
        stage.model_copy(update={"film_up": False, "film_down": False}) for stage in whole.stages
    )
    _, late = split(whole.model_copy(update={"stages": bare}))
    assert "mask-again" not in {stage.id for stage in late.stages}


def test_rain_in_the_afternoon_leaves_the_morning_for_the_primer():
    """Primed today, painted the next day; both were played, and the night asks for keying."""
    word, found = offered(job(), rain_from(11))
    assert word is Word.NO_GO
    assert found.after == "sand the primer"
    assert found.first.begin >= local_time(DAY, job().arrive_from, ZONE)
    assert found.first.end < local_time(DAY, EVENING.time().replace(hour=13), ZONE)
    assert found.second.begin.date() == DAY + timedelta(days=1)
    assert found.second.begin - found.first.end < timedelta(hours=24) or found.rekey_after_h == 24
    assert {found.first.word, found.second.word} <= {Word.GO, Word.CARE}
    assert 0.45 <= min(found.first.likelihood, found.second.likelihood) < 1.0


def test_the_hours_of_the_agreed_day_do_not_bind_the_second_visit():
    """The car is there for the morning; a second visit is agreed on anew."""
    morning = {"car_there_from": time(9, 30), "back_by": time(13)}
    word, found = offered(job(arrive_to=time(9, 45), **morning), rain_from(11))
    assert word is Word.NO_GO
    local = found.second.begin.astimezone(ZoneInfo(ZONE)).time()
    free = offered(job(), rain_from(11))[1]
    assert found.second == free.second
    assert local < time(9, 30) or found.second.end.astimezone(ZoneInfo(ZONE)).time() > time(13)


def test_each_half_is_what_the_same_chain_says_of_it_alone():
    """Judged by hand on its own process and day, the first visit comes to the same."""
    weather = rain_from(11)
    _, found = offered(job(), weather)
    early = split(catalogue().processes["bumper-corner"])[0]
    plan = compile_plan(early, catalogue().sheets_of(early), job(), KIT, POLICY)
    alone = judge(job(), plan, climate_for(job(), weather), POLICY, THRESHOLDS, EVENING)
    assert (alone.word, alone.best_start) == (found.first.word, found.first.begin)


def test_after_a_day_more_the_maker_wants_it_keyed():
    """A wet day between makes it more than 24 hours; a sheet that says nothing asks nothing."""
    weather = rain_from(11)
    weather.wet_hour_mm[3 * 96 : 4 * 96] = 1.0
    found = offered(job(), weather)[1]
    assert found.second.begin.date() == DAY + timedelta(days=2)
    assert found.rekey_after_h == 24.0
    setup = setup_of(job())
    silent = {r: s.model_copy(update={"recoat": None}) for r, s in setup.sheets.items()}
    whole = judge(
        job(), setup.plan(POLICY), climate_for(job(), weather), POLICY, THRESHOLDS, EVENING
    )
    bare = two_visits(whole, replace(setup, sheets=silent), POLICY, THRESHOLDS, EVENING)
    assert bare.rekey_after_h is None


@pytest.mark.parametrize(
    ("change", "weather"),
    [
        ({}, outlook),  # the whole fits
        ({"may_move": False}, lambda: rain_from(11)),  # no other day
        ({}, lambda: rain_from(6)),  # not even the primer fits
        ({}, lambda: rain_from(12, days=3, until=36)),  # no other day is dry
        ({"process": "nib-polish"}, lambda: rain_from(6)),  # nothing to split
    ],
)
def test_nothing_is_offered_that_was_not_computed_or_is_not_needed(change, weather):
    """None where the whole fits, and where either half fails."""
    assert offered(job(**change), weather())[1] is None


def test_a_day_that_is_only_care_is_offered_if_no_better_one_comes():
    """The first workable day, where none is inside the sheets."""
    weather = rain_from(11)
    damp = np.arange(weather.wet_hour_mm.size) >= 3 * 96
    weather.values["rh_pct"][damp] = 82.0
    found = offered(job(), weather)[1]
    assert found.second.word is Word.CARE
    assert found.second.begin.date() == DAY + timedelta(days=1)


def test_a_forecast_that_ends_offers_no_day_beyond():
    """What is not forecast is no day."""
    weather = rain_from(11)
    short = outlook(days=3)
    short.wet_hour_mm[:] = weather.wet_hour_mm[: short.wet_hour_mm.size]
    assert offered(job(), short)[1] is None


def test_without_a_lamp_the_primer_air_dries_before_it_is_left():
    """The same split; the first visit is an hour longer at least."""
    with_lamp = offered(job(), rain_from(11), KIT)[1]
    without = offered(job(), rain_from(12), Kit())[1]
    lasts = [one.first.end - one.first.begin for one in (with_lamp, without)]
    assert lasts[1] > lasts[0] + timedelta(hours=1)

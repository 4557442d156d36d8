"""What keeps a job from being a plain go in any weather."""

from dataclasses import replace
from datetime import time

import numpy as np
import pytest
from at_car import EASY, FAIR, NOON, car, told
from days import EVENING, KIT, SITE, catalogue, climate_for, job, outlook

from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.members import single
from sprayadvisor.advice.model import Power
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.remedies import World, remedies
from sprayadvisor.advice.reservations import NO_AIR
from sprayadvisor.advice.setups import Change, Setup, changes
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.told_verdict import against_it

QUICK = catalogue().sheets["clear-2k-quick"]
NO_POWER = replace(SITE, power=Power.NONE)
UNPLUGGED = replace(KIT, compressor_kw=0.0)


def of_process(booking):
    """Return a job's process and its sheets."""
    process = catalogue().processes[booking.process]
    return process, catalogue().sheets_of(process)


def planned(booking, kit=KIT, **sheets):
    """Return the plan of a job, some sheets replaced by role."""
    process = catalogue().processes[booking.process]
    return compile_plan(process, catalogue().sheets_of(process) | sheets, booking, kit, EASY)


def word_of(booking, plan):
    """Return the judgement in fair weather, one member."""
    met = climate_for(booking, outlook(**FAIR))
    return judge(booking, plan, met, EASY, EASY.thresholds[Moment.EVENING], EVENING)


@pytest.mark.parametrize(
    ("booking", "kit", "sheets", "reasons"),
    [
        (job(), KIT, {}, ()),
        (job(site=NO_POWER), KIT, {}, (NO_AIR,)),
        (job(site=NO_POWER), UNPLUGGED, {}, ()),
        (job(repair_area_m2=0.5), KIT, {"clear": QUICK}, ()),
        (
            job(repair_area_m2=0.9),
            KIT,
            {"clear": QUICK},
            ("“Quick 2K clear” is meant for 0.5 m² at most, this repair has 0.9 m²",),
        ),
    ],
)
def test_what_stands_against_a_job_makes_it_care_and_is_the_reason(booking, kit, sheets, reasons):
    """No air to spray with, or a clear for smaller repairs; the windows are care as well."""
    plan = planned(booking, kit, **sheets)
    found = word_of(booking, plan)
    assert plan.reservations == reasons
    assert found.reserved == reasons
    assert found.word is (Word.CARE if reasons else Word.GO)
    assert {window.word for window in found.windows} == {found.word}


def test_what_the_weather_spoils_is_told_of_the_weather():
    """Where it would be no go anyway, the weather is the reason."""
    booking = job(site=NO_POWER)
    met = climate_for(booking, outlook(**FAIR, wet_hour_mm=3.0))
    plan = planned(booking)
    found = judge(booking, plan, met, EASY, EASY.thresholds[Moment.EVENING], EVENING)
    assert (found.word, found.reserved) == (Word.NO_GO, ())


def test_nothing_is_sprayed_without_air_at_the_car_either():
    """As long as a coat is ahead; the bake and the polish need no compressor."""
    here = car("base", site=NO_POWER)
    found = told("base", of=here)
    assert found.word is Word.CARE
    assert found.judgement.reserved == (NO_AIR,)
    assert told("clear-lamp", of=car("clear-lamp", site=NO_POWER)).word is Word.GO


def test_no_way_out_and_no_remedy_lifts_what_the_weather_does_not():
    """A calmer hour is care as long as the compressor has no plug; a socket makes it go."""
    gusty = outlook(**FAIR)
    step = gusty.minute_of(NOON) // 15
    for name, speed_ms in (("wind_10m_ms", 14.0), ("gust_10m_ms", 20.0)):
        gusty.values[name][step : step + 3] = speed_ms
    here = told("base", of=car("base", gusty, site=NO_POWER))
    assert here.word is Word.NO_GO
    assert {way.word for way in here.ways} == {Word.CARE}
    assert Change.LAMP not in {way.change for way in here.ways}
    rain = {"wet_hour_mm": np.where((np.arange(480) / 4) % 24 < 9.0, 1.0, 0.0)}
    booking = job(site=NO_POWER, arrive_from=time(8), arrive_to=time(8, 30))
    setup = Setup(booking, KIT, *of_process(booking))
    weather = outlook(**FAIR, **rain)
    members = single(weather)
    thresholds = EASY.thresholds[Moment.EVENING]
    found = judge(
        booking, setup.plan(EASY), climate_for(booking, weather), EASY, thresholds, EVENING
    )
    assert found.word is Word.NO_GO
    helps = remedies(found, setup, World(members, None, (), EASY, thresholds, EVENING))
    assert {one.word_after for one in helps if one.change is not Change.LAMP} == {Word.CARE}
    fine, world = replace(found, word=Word.CARE, likelihood=(0.1, 0.75)), single(outlook(**FAIR))
    again = remedies(fine, setup, World(world, None, (), EASY, thresholds, EVENING))
    assert {one.word_after for one in again if one.change is not Change.LAMP} <= {Word.CARE}


def test_what_stands_against_it_is_told_beside_the_weather_too():
    """A repair too large for its clear is so in rain as well."""
    booking = job(repair_area_m2=0.9)
    plan = planned(booking, clear=QUICK)
    met = climate_for(booking, outlook(**FAIR, wet_hour_mm=3.0))
    found = judge(booking, plan, met, EASY, EASY.thresholds[Moment.EVENING], EVENING)
    assert (found.word, found.reserved) == (Word.NO_GO, ())
    assert against_it(found)[0].startswith("“Quick 2K clear” is meant for 0.5 m²")
    assert against_it(word_of(booking, plan)) == ()


def test_a_clear_for_smaller_repairs_is_not_offered():
    """Nor is it left out where half the area would do."""
    process = catalogue().processes["bumper-corner"]
    other = QUICK.model_copy(update={"id": "other-quick"})

    def tried(area_m2):
        setup = Setup(job(repair_area_m2=area_m2), KIT, process, catalogue().sheets_of(process))
        return [one.change for one in changes(setup, (other,), None)]

    assert Change.OTHER_CLEAR in tried(0.5)
    assert Change.OTHER_CLEAR not in tried(0.6)

"""Which checks a plan holds over which stages, seen in what they do to a verdict."""

from dataclasses import replace
from datetime import UTC, datetime
from types import MappingProxyType

import numpy as np
import pytest
from days import BUMPER, EVENING, KIT, SITE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.air_levels import HAZARD_OF
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.model import Cover, Job, Kit
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.verdict import Word

POLICY = Policy()
CARS, GATE = ({"n": "neighbour's cars"}, {"n": "school gate"})


def at_site(**changes) -> Job:
    """Return the usual job on a changed site."""
    if "downwind" in changes:
        changes["downwind"] = MappingProxyType(changes["downwind"])
    return job(site=replace(SITE, **changes))


def judged(booking: Job, climate: Climate | None = None, kit: Kit = KIT, **weather):
    """Return the judgement on a job in fair weather, changed as wanted."""
    met = climate or climate_for(booking, outlook(**weather))
    plan = plan_for(booking, POLICY, kit)
    return judge(booking, plan, met, POLICY, POLICY.thresholds[Moment.EVENING], EVENING)


def with_quantity(booking: Job, name: str, value: float, **weather) -> Climate:
    """Return the climate of a job with one quantity set throughout."""
    met = climate_for(booking, outlook(**weather))
    return replace(met, values=met.values | {name: np.full_like(met[name], value)})


@pytest.mark.parametrize(
    ("sides", "weather", "word"),
    [
        ({}, {"wind_from_deg": 180.0}, Word.GO),
        (GATE, {"wind_from_deg": 0.0}, Word.GO),
        (GATE, {"wind_from_deg": 180.0}, Word.NO_GO),
        (CARS, {"wind_from_deg": 180.0, "wind_10m_ms": 2.0}, Word.CARE),
        (CARS, {"wind_from_deg": 180.0, "wind_10m_ms": 4.0}, Word.NO_GO),
        (CARS, {"wind_from_deg": np.nan}, Word.CARE),
        (GATE, {"wind_from_deg": np.nan}, Word.CARE),
    ],
)
def test_what_stands_downwind_is_a_limit_with_its_own_stop(sides, weather, word):
    """People stop the job, things above a light breeze, an unknown direction asks for care."""
    found = judged(at_site(downwind=sides), **weather)
    assert found.word is word
    if word is not Word.GO:
        assert found.limiting.check.quantity == "downwind"
        assert str(found.limiting.check.origin) == "what you said of the site"
        assert found.plan.stages[found.limiting.stage].kind == "coat"
        assert found.limiting.level is (Level.STOP if word is Word.NO_GO else Level.INSIDE)


def test_windows_open_where_the_wind_turns_away():
    """The gate gets the mist until two: starts with a coat before that are gone."""
    turning = {"wind_from_deg": lambda hours: np.where(hours < 14.0, 180.0, 0.0)}
    free, bound = judged(at_site(), **turning), judged(at_site(downwind=GATE), **turning)
    two = minute_of(bound.climate.starts_utc, datetime(2026, 4, 17, 14, tzinfo=UTC))
    today = range(two - 14 * 60, two + 10 * 60)
    first = {
        name: min(w.first * 15 for w in found.windows if w.first * 15 in today)
        for name, found in (("free", free), ("bound", bound))
    }
    assert first["free"] < two - 6 * 60
    assert two - 150 < first["bound"] < two  # preparing, and two waits, come before the first coat


@pytest.mark.parametrize("quantity", sorted(set(HAZARD_OF) - {"insect_lamp_level"}))
def test_a_high_level_is_care_and_never_more(quantity):
    """Some is nothing yet, high is care, unknown is held against nobody."""
    booking = job()
    assert judged(booking, with_quantity(booking, quantity, 1.0)).word is Word.GO
    assert judged(booking, with_quantity(booking, quantity, np.nan)).word is Word.GO
    found = judged(booking, with_quantity(booking, quantity, 2.0))
    assert found.word is Word.CARE
    assert found.limiting.check.quantity == quantity
    assert str(found.limiting.check.origin) == "common practice"


def test_a_low_level_saves_no_job():
    """What is a no-go stays one, whatever is in the air."""
    booking = job()
    for level in (0.0, 2.0, np.nan):
        wet = with_quantity(booking, "dust_level", level, rh_pct=97.0)
        assert judged(booking, wet).word is Word.NO_GO


def test_flies_at_the_lamp_count_while_it_is_lit_over_wet_clear():
    """Only where a lamp bakes the paint, and only then."""
    booking = job()
    met = with_quantity(booking, "insect_lamp_level", 2.0)
    found = judged(booking, met)
    assert found.word is Word.CARE
    assert found.plan.stages[found.limiting.stage].kind == "lamp"
    plan = plan_for(booking, POLICY, Kit(work_light=True))
    assert all(span.check.quantity != "insect_lamp_level" for span in plan.spans)


def test_what_is_sanded_minds_water_and_no_specks():
    """Over the primer only drips are held, over base and clear all, to the end of the bake."""
    plan = plan_for(job())
    held = {
        role: {
            span.check.quantity
            for span in plan.spans
            if span.check.quantity in HAZARD_OF and plan.stages[span.first].role == role
        }
        for role in ("primer", "base", "clear")
    }
    assert held["primer"] == {"drip_level"}
    assert held["base"] == set(HAZARD_OF) - {"insect_lamp_level"}
    assert held["clear"] == set(HAZARD_OF)
    clear = [s for s in plan.spans if s.check.quantity == "dust_level"][-1]
    assert plan.stages[clear.last].kind == "lamp"


def test_a_canopy_comes_down_in_a_gust_though_the_film_would_hold():
    """Where one stands over the car its own bound holds from the first stage to the last."""
    policy = Policy(masking_gust_ms=20.0, lamp_gust_ms=20.0, canopy_gust_ms=4.9)
    for cover, held in ((Cover.CANOPY, True), (Cover.OPEN_SKY, False)):
        plan = plan_for(at_site(cover=cover), policy)
        spans = [s for s in plan.spans if s.check.stop_max == 4.9]
        assert [(s.check.quantity, s.first, s.last) for s in spans] == (
            [("gust_ms", 0, len(plan.stages) - 1)] if held else []
        )
    gusty = {"gust_10m_ms": 16.0, "wind_10m_ms": 2.0}  # 9.6 m/s at the gun
    found = judged(at_site(cover=Cover.CANOPY), **gusty)
    assert found.word is Word.NO_GO
    assert found.limiting.check.stop_max == POLICY.canopy_gust_ms
    assert found.limiting.stage == 0


def test_a_policy_tightens_what_a_sheet_allows():
    """The user's own wind holds over each coat beside the sheet's, as an inside bound."""
    own = [
        s
        for s in plan_for(job(), Policy(wind_ms=1.5)).spans
        if str(s.check.origin) == "your own policy"
    ]
    held = {(s.check.quantity, s.check.inside_max, s.check.stop_max) for s in own}
    assert ("wind_ms", 1.5, None) in held


def test_a_card_wants_soft_daylight_and_paint_any_light():
    """Strong sun with little sky is no light for a card; a work light makes that care."""
    glare = {
        "dhi_wm2": 10.0,
        "ghi_wm2": 400.0,
        "dni_wm2": 600.0,
        "cloud_fraction": 0.0,
        "air_temp_c": 13.0,
    }
    dark = judged(job(), kit=replace(KIT, work_light=False), **glare)
    assert (dark.word, dark.limiting.check.quantity) == (Word.NO_GO, "diffuse_lx")
    assert dark.plan.stages[dark.limiting.stage].kind == "check"
    lit = judged(job(), **glare)
    assert (lit.word, lit.limiting.check.quantity) == (Word.CARE, "diffuse_lx")
    held = {s.check.quantity for s in plan_for(job(panels=(BUMPER,)), kit=Kit()).spans}
    assert {"diffuse_lx", "light_lx", "low_sun"} <= held

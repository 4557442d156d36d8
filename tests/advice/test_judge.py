"""Judging one job: word, reason, windows, best play."""

from dataclasses import replace
from datetime import UTC, date, datetime, time

import numpy as np
import pytest
from days import BUMPER, DAY, EVENING, KIT, SITE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.model import Colour, Cover, Kit, Panel, Part
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.verdict import Word
from sprayadvisor.science.quantities import QUANTITIES

POLICY = Policy()
REQUIRED = [name for name, (_, needed) in QUANTITIES.items() if needed]


def judged(booking=None, weather=None, *, policy=POLICY, kit=KIT, now=EVENING, site=None):
    """Return the judgement on a job, the usual one in fair weather unless told otherwise."""
    booking = booking or job()
    plan = plan_for(booking, policy, kit)
    thresholds = policy.thresholds[Moment.EVENING]
    return judge(booking, plan, climate_for(booking, weather or outlook()), policy, thresholds, now)


def test_fair_weather_is_go():
    """A mild, still, dull day lets the bumper corner be done inside its sheets."""
    found = judged()
    assert found.word is Word.GO
    assert found.likelihood == (0.75, 0.75)
    assert found.limiting.margin > 0
    assert found.limiting.share == 0.0
    assert found.play.level is Level.INSIDE
    assert any(w.first <= found.play.start <= w.latest for w in found.windows)


# change to the weather, word, quantity that limits, level it limits at
WEATHERS = [
    ({"wet_hour_mm": 1.0}, Word.NO_GO, "wet_hour_mm", Level.STOP),
    ({"rh_pct": 97.0}, Word.NO_GO, "rh_pct", Level.STOP),
    ({"wind_10m_ms": 9.9, "gust_10m_ms": 10.0}, Word.NO_GO, "wind_ms", Level.STOP),
    ({"wind_10m_ms": 5.0, "gust_10m_ms": 7.0}, Word.CARE, "wind_ms", Level.INSIDE),
    ({"gust_10m_ms": 25.0}, Word.NO_GO, "gust_ms", Level.STOP),
    ({"air_temp_c": 6.0, "rh_pct": 60.0}, Word.CARE, "panel_temp_c", Level.INSIDE),
    ({"air_temp_c": 0.5, "rh_pct": 60.0}, Word.NO_GO, "air_temp_c", Level.STOP),
]


@pytest.mark.parametrize(("change", "word", "quantity", "level"), WEATHERS)
def test_what_limits_is_named(change, word, quantity, level):
    """Weather outside a bound gives the word and names the quantity, the bound and by how much."""
    found = judged(weather=outlook(**change))
    assert found.word is word
    assert found.limiting.check.quantity == quantity
    assert found.limiting.level is level
    assert found.limiting.margin < 0
    assert found.limiting.share == 1.0
    low, high = found.limiting.check.bounds(level)
    outside = [v for v in (low, high) if v is not None]
    assert min(abs(found.limiting.value - v) for v in outside) == pytest.approx(
        -found.limiting.margin
    )


def test_the_lamp_makes_a_cold_panel_fit_and_is_missed_where_there_is_none():
    """At 9 °C the primer goes on warmed metal inside its sheet; without a lamp it is care."""
    cold = outlook(air_temp_c=9.0, rh_pct=60.0)
    assert judged(weather=cold).word is Word.GO
    bare = judged(weather=cold, kit=replace(KIT, lamp_kw=0.0, lamp_area_m2=0.0))
    assert bare.word is not Word.GO
    assert bare.limiting.check.quantity == "panel_temp_c"


def test_wind_in_which_the_lamp_cannot_bake_is_named():
    """A weak lamp holds 55 °C on plastic in a calm and not in a light breeze."""
    weak = replace(KIT, lamp_kw=0.5)
    assert judged(weather=outlook(wind_10m_ms=0.5), kit=weak).word is Word.GO
    found = judged(weather=outlook(wind_10m_ms=4.5), kit=weak)
    assert found.word is Word.NO_GO
    assert found.limiting.check.quantity == "lamp_temp_c"
    assert found.limiting.value < found.limiting.check.stop_min == 55.0
    assert found.plan.stages[found.limiting.stage].kind == "lamp"


@pytest.mark.parametrize("name", [name for name in REQUIRED if name != "cloud_fraction"])
def test_a_missing_quantity_is_unknown(name):
    """A required quantity that is not there at all never gives go.

    Cloud is left out: by day it is read off the radiation. The service refuses it all the same.
    """
    assert judged(weather=outlook(**{name: np.nan})).word is Word.UNKNOWN


@pytest.mark.parametrize("name", REQUIRED)
@pytest.mark.parametrize("local_hour", range(9, 18))
def test_an_hour_without_a_value_never_helps(name, local_hour):
    """One unknown hour of the working day gives unknown, or go by a play that does not touch it."""

    def gone(values):
        broken = outlook()[name].copy()
        broken[(DAY - date(2026, 4, 15)).days * 96 + (local_hour - 1) * 4 :][:4] = np.nan
        return broken

    found = judged(weather=outlook(**{name: gone}))
    assert found.word in (Word.UNKNOWN, Word.GO)
    if found.word is Word.GO:
        climate, play = found.climate, found.play
        begin, end = play.walk.begins.min(), play.walk.ends.max()
        checked = {s.check.quantity for s in found.plan.spans}
        for quantity in checked & set(climate.values):
            touched = climate[quantity][0, begin // 15 : -(-end // 15)]
            shown = [r for r in play.readings if r.check.quantity == quantity]
            assert all(np.isfinite(r.value) for r in shown)
            assert touched.size


@pytest.mark.parametrize("weather", [{}, {"wet_hour_mm": 5.0}, {"air_temp_c": np.nan}])
def test_two_pack_indoors_is_not_judged(weather):
    """Indoors it is extraction that decides, whatever the weather."""
    found = judged(job(site=_site(cover=Cover.INDOORS)), outlook(**weather))
    assert found.word is Word.NOT_JUDGED
    assert "extraction" in found.why
    assert found.windows == ()
    with pytest.raises(ValueError, match="not played"):
        found.at(0)


def _site(**changes):
    return replace(SITE, **changes)


def test_an_arrival_that_is_past_is_unknown():
    """After the agreed window nothing can be said of it."""
    found = judged(now=datetime(2026, 4, 17, 12, tzinfo=UTC))
    assert (found.word, found.why) == (Word.UNKNOWN, "the agreed arrival time is past")


def test_a_day_beyond_the_forecast_is_unknown():
    """The forecast does not reach every booking."""
    found = judged(job(day=date(2026, 5, 2)))
    assert (found.word, found.why) == (
        Word.UNKNOWN,
        "the forecast does not reach that day yet",
    )


def test_policy_tightens_the_inside_and_leaves_the_stop():
    """The user's own dew margin turns go into care; it never makes a no-go."""
    strict = Policy(dew_margin_k=25.0)
    found = judged(policy=strict)
    assert found.word is Word.CARE
    assert (found.limiting.check.quantity, found.limiting.check.origin.kind) == (
        "dew_margin_k",
        "policy",
    )


def test_a_job_is_as_good_as_its_worst_panel():
    """A black roof in the sun spoils what the bumper alone would allow, and is named."""
    sunny = outlook(
        ghi_wm2=lambda h: 800 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
        dni_wm2=lambda h: 850.0 * ((h > 6) & (h < 20)),
        dhi_wm2=lambda h: 100 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
        cloud_fraction=0.0,
        air_temp_c=22.0,
        rh_pct=40.0,
    )
    roof = Panel(Part.ROOF, Colour.BLACK)
    both = judged(job(panels=(BUMPER, roof)), sunny)
    assert both.word is Word.NO_GO
    assert both.limiting.panel == 1
    assert judged(job(panels=(roof,)), sunny).word is Word.NO_GO


def test_the_play_of_a_care_goes_to_the_end():
    """Care is shown as the painter would do it: all stages, short of the stops."""
    found = judged(weather=outlook(air_temp_c=6.0, rh_pct=60.0))
    assert found.play.level is Level.STOP
    assert (found.play.walk.ends[:, found.play.row] >= 0).all()


def test_a_job_that_never_dries_is_named_so():
    """Cold from noon on, without a lamp: the clear never gets dust-free, which limits."""
    air = np.full(4 * 96, 14.0)
    air[2 * 96 + 11 * 4 :] = -4.0
    cold = outlook(days=4, air_temp_c=air, rh_pct=45.0, ghi_wm2=5.0, dhi_wm2=5.0)
    found = judged(job(arrive_to=time(9, 30)), cold, kit=Kit(work_light=True))
    assert found.word is Word.NO_GO
    assert found.limiting.check.quantity in ("drying", "panel_temp_c")
    warm_base = judged(job(panels=(Panel(Part.LEFT_DOOR, Colour.WHITE),)), cold, kit=Kit())
    assert warm_base.word is Word.NO_GO


def test_a_late_lamp_is_named_with_its_minutes():
    """Clear that flashes slower than it may stay open: the time elapsed is what limits."""
    slow = outlook(air_temp_c=8.7, rh_pct=55.0, ghi_wm2=5.0, dhi_wm2=5.0, gust_10m_ms=1.0)
    slow = replace(slow, values=slow.values | {"wind_10m_ms": slow["wind_10m_ms"] * 0.05})
    found = judged(weather=slow)
    assert found.word is Word.NO_GO
    assert found.limiting.check.quantity == "elapsed_min"
    assert found.limiting.value > found.limiting.check.stop_max == 12.0
    assert found.limiting.margin == 12.0 - found.limiting.value
    assert found.plan.stages[found.limiting.stage].id == "clear-lamp"


def test_an_unknown_wait_is_named_by_its_check():
    """A gap in the forecast on the way makes the job unknown and names what is not known."""
    wind = np.full(5 * 96, 2.0)
    wind[2 * 96 + 9 * 4 : 2 * 96 + 20 * 4] = np.nan
    found = judged(weather=outlook(wind_10m_ms=wind))
    assert found.word is Word.UNKNOWN
    assert np.isnan(found.limiting.value)


def test_nothing_before_now_is_offered():
    """Windows begin no earlier than now."""
    now = datetime(2026, 4, 17, 8, 20, tzinfo=UTC)
    found = judged(now=now)
    first = found.windows[0].first * 15
    assert first >= minute_of(found.climate.starts_utc, now)


def test_arrival_later_than_work_allows():
    """A repair that cannot end in working hours is a no-go that names the hours."""
    found = judged(job(arrive_from=time(17, 0), arrive_to=time(18, 0)))
    assert found.word is Word.NO_GO
    assert found.limiting.check.quantity == "off_hours"


def test_the_latest_opening_is_that_of_the_last_start_that_fits():
    """By a walk of its own from there; none where nothing fits or nothing is without return."""
    found = judged()
    last = next(w.latest for w in found.windows if w.first <= found.play.start <= w.latest)
    at = found.plan.commitment()[0]
    later_by = (last - found.play.start) * 15
    opened = int(found.play.walk.begins[at, found.play.row])
    assert later_by > 0
    assert found.latest_opening == pytest.approx(opened + later_by, abs=20)
    assert judged(weather=outlook(wet_hour_mm=1.0)).latest_opening is None
    assert judged(job(process="nib-polish")).latest_opening is None

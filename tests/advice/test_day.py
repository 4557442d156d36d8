"""The day as a whole."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

import pytest
from days import EVENING, KIT, SITE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.brief import AirLine, DayWeather, House, WindowBar
from sprayadvisor.advice.day import (
    air_line,
    clashes,
    heads_up,
    house,
    in_order,
    load,
    offers,
)
from sprayadvisor.advice.diary import lasts_min
from sprayadvisor.advice.drives import drive_min
from sprayadvisor.advice.entries import entry
from sprayadvisor.advice.judge import judge
from sprayadvisor.advice.model import Cover, Kit, Power
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.verdict import Word

POLICY = Policy()
FAR = replace(SITE, name="Far", latitude=53.6)  # 51 km to the north: 0.46° × 111.2 km


def told(booking, weather=None, kit=KIT):
    """Return the entry of a job."""
    weather = weather or outlook()
    thresholds = POLICY.thresholds[Moment.EVENING]
    plan = plan_for(booking, POLICY, kit)
    found = judge(booking, plan, climate_for(booking, weather), POLICY, thresholds, EVENING)
    return entry(found, weather, POLICY)


def test_order_is_that_of_arrival():
    """Jobs stand in the order they are agreed in."""
    late = told(job(ref="L", arrive_from=time(14), arrive_to=time(15)))
    early = told(job(ref="E"))
    assert [e.judgement.job.ref for e in in_order([late, early])] == ["E", "L"]


def test_driving_takes_the_way_and_ten_minutes():
    """51.2 km as the crow flies, a third more by road, 35 km/h, and ten minutes to get going."""
    assert drive_min(SITE, SITE) == 10.0
    assert drive_min(SITE, FAR) == pytest.approx(10 + 60 * 1.3 * 51.15 / 35, abs=0.5)


def test_jobs_that_run_into_each_other_are_named():
    """A second job half an hour after the first cannot be kept; one in the afternoon can."""
    first = told(job(ref="A"))
    soon = told(job(ref="B", arrive_from=time(11, 30), arrive_to=time(11, 45)))
    later = told(job(ref="C", arrive_from=time(14), arrive_to=time(15)))
    found = clashes([first, soon])
    assert [(c.first_ref, c.second_ref) for c in found] == [("A", "B")]
    assert 15 < found[0].late_min < 240
    assert clashes([first, later]) == ()
    assert clashes([first, replace(soon, judgement=replace(soon.judgement, word=Word.NO_GO))]) == ()


def test_only_a_no_go_is_rung_about():
    """Go is left alone; a no-go is offered the next windows, the likelier word first."""
    rainy = told(job(), outlook(wet_hour_mm=1.0))
    fine = told(job())
    assert offers([fine]) == ()
    assert [(o.ref, o.slots) for o in offers([rainy])] == [("T1", ())]


def test_two_customers_are_not_asked_about_the_same_hours():
    """What one of them is offered is taken for the next, the drive and the work included."""
    rainy = outlook()
    rainy.wet_hour_mm[2 * 96 : 3 * 96] = 2.0
    one, other = (told(job(ref=ref), rainy) for ref in ("A1", "A2"))
    first, second = offers([one, other])
    assert first.slots
    lasts = timedelta(minutes=lasts_min(one))
    for mine in first.slots:
        for its in second.slots:
            assert its.best >= mine.best + lasts or its.best + lasts <= mine.best


def test_slots_lie_behind_the_agreed_day_and_are_few():
    """At most three, in order of time, go before care where there are more."""
    rainy = told(job(), outlook(wet_hour_mm=1.0))
    day = datetime(2026, 4, 17, 9, tzinfo=UTC)
    words = [Word.GO, Word.CARE, Word.GO, Word.CARE, Word.GO]
    bars = [
        WindowBar(at, at, at, word)
        for at, word in zip((day + timedelta(days=n) for n in range(5)), words, strict=True)
    ]
    some = replace(rainy, windows=tuple(bars))
    chosen = [slot.first for slot in offers([some])[0].slots]
    assert chosen == [bars[1].first, bars[2].first, bars[4].first]
    fixed = replace(some, judgement=replace(some.judgement, job=job(may_move=False)))
    assert offers([fixed])[0].slots == ()


def test_load_names_lamp_light_paint_and_choice():
    """What the doable jobs need goes into the van once."""
    items = load([told(job()), told(job(ref="T2"))], KIT)
    assert items[0] == "lamp and its stand"
    assert "work light" in items
    assert len(items) == len(set(items))
    assert any(item.startswith("Quick 2K clear with cool-weather hardener") for item in items)


def test_load_sums_what_is_mixed_for_all_jobs():
    """Two clears of 125 ml are 250; where a sheet says no amount none is told."""
    one, two = told(job()), told(job(ref="T2"))
    assert "Quick 2K clear with cool-weather hardener, 125 ml" in load([one], KIT)
    assert "Quick 2K clear with cool-weather hardener, 250 ml" in load([one, two], KIT)
    bare = replace(one, coats=tuple(replace(coat, mixes=()) for coat in one.coats))
    assert "Quick 2K clear with cool-weather hardener" in load([bare], KIT)
    assert "air-fed mask with its hose, gloves" in load([one], KIT)


def test_water_borne_paint_and_hardeners_spend_the_night_in_the_house():
    """With the blower for the one; a warm box on a cold day; nothing of a no-go."""
    blower = replace(KIT, blower=True)
    wet = told(job(process="paint-primed"), kit=blower)
    assert "blower" in load([wet], blower)
    assert "blower" not in load([wet], KIT)
    assert "blower" not in load([told(job())], blower)
    warm = house([told(job())])
    assert (warm.water_borne, warm.hardeners, warm.warm_box) == ((), True, False)
    frosty = replace(wet, weather=DayWeather(1.0, 15, 2, 4, (), 0.0, 0.5))
    kept = house([frosty])
    assert (kept.water_borne, kept.warm_box) == (("Water-borne base",), True)
    assert house([told(job(), outlook(wet_hour_mm=1.0))]) == House()
    assert house([replace(wet, weather=None)]).warm_box is False


def test_load_leaves_out_what_no_job_needs():
    """No lamp where there is no power; nothing at all for a no-go."""
    no_power = job(site=replace(SITE, power=Power.NONE))
    assert "lamp and its stand" not in load([told(no_power)], KIT)
    assert load([told(job(), outlook(wet_hour_mm=1.0))], KIT) == ()
    assert load([told(job(), kit=Kit())], Kit()) != ()


@pytest.mark.parametrize(
    ("hours", "chance", "needed"),
    [((), 0.0, False), ((), 10.0, True), ((EVENING,), 0.0, True), ((), float("nan"), False)],
)
def test_canopy_goes_along_when_rain_is_about(hours, chance, needed):
    """Rain in the hours, or a chance of one in ten, brings the canopy along."""
    weather = DayWeather(5, 15, 2, 4, hours, chance, 0.5)
    some = replace(told(job()), weather=weather)
    assert ("canopy with weights" in load([some], KIT)) is needed
    assert "canopy with weights" not in load([replace(some, weather=None)], KIT)


@pytest.mark.parametrize(
    ("air_low_c", "dew_high_c", "line"),
    [
        (5.0, 9.0, AirLine.USUAL),
        (5.0, 14.1, AirLine.STICKY),
        (-0.1, 3.0, AirLine.FROST),
        (-0.1, 14.1, AirLine.FROST),
        (float("nan"), float("nan"), AirLine.USUAL),
    ],
)
def test_the_air_line_is_drained_more_in_sticky_air_and_kept_from_frost(
    air_low_c, dew_high_c, line
):
    """One habit, stronger where the day asks for it."""
    weather = DayWeather(air_low_c, 15, 2, 4, (), 0.0, 0.5, dew_high_c)
    some = replace(told(job()), weather=weather)
    assert air_line([some]) is line


def test_where_nothing_is_sprayed_no_air_line_is_drained():
    """A day of no-go needs no habit."""
    assert air_line([told(job(), outlook(wet_hour_mm=1.0))]) is None
    assert air_line([]) is None


def test_a_job_that_may_not_hold_is_a_heads_up_and_one_outside_its_sheet_is_not():
    """Care of .45 to .70 is told beforehand; care as sure as a go, go and no-go are not."""
    care = told(job(ref="C"), outlook(rh_pct=82.0))
    assert care.judgement.likelihood == (0.25, 0.75)
    likely = {0.45: ("C",), 0.69: ("C",), 0.70: (), 0.75: ()}
    for chance, refs in likely.items():
        unsure = replace(care, judgement=replace(care.judgement, likelihood=(0.2, chance)))
        thresholds = POLICY.thresholds[Moment.EVENING]
        others = [told(job(ref="G")), told(job(ref="N"), outlook(wet_hour_mm=1.0))]
        assert heads_up([unsure, *others], thresholds) == refs


def test_load_names_what_every_job_needs():
    """Water, wipes and instruments for any job; masking where paint is sprayed; power and roof."""
    plain = told(job())
    items = load([plain], KIT)
    for item in ("water, degreaser and clean wipes", "panel thermometer and hygrometer",
                 "masking paper, film and tape, ground sheet"):  # fmt: skip
        assert item in items
    assert "masking paper, film and tape, ground sheet" not in load([replace(plain, coats=())], KIT)
    assert "generator and fuel" not in items
    away = told(job(site=replace(SITE, power=Power.GENERATOR)))
    assert "generator and fuel" in load([away], KIT)
    roofed = replace(told(job(site=replace(SITE, cover=Cover.CANOPY))), weather=None)
    assert "canopy with weights" in load([roofed], replace(KIT, canopy=True))
    assert load([], KIT) == ()

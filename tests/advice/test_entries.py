"""One judgement made ready for a brief."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from days import BUMPER, DAY, EVENING, KIT, ZONE, climate_for, job, outlook, plan_for

from sprayadvisor.advice.entries import day_weather, entry
from sprayadvisor.advice.judge import Judgement, judge
from sprayadvisor.advice.mixing import pot_life_min
from sprayadvisor.advice.model import Colour, Panel, Part
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.sheet_mixing import PotLife
from sprayadvisor.advice.verdict import Word

POLICY = Policy()


def told(booking=None, weather=None, kit=KIT):
    """Return the entry of a job."""
    booking, weather = booking or job(), weather or outlook()
    thresholds = POLICY.thresholds[Moment.EVENING]
    plan = plan_for(booking, POLICY, kit)
    found = judge(booking, plan, climate_for(booking, weather), POLICY, thresholds, EVENING)
    return entry(found, weather, POLICY)


def local(when: datetime) -> time:
    """Return the local clock time of an instant."""
    return when.astimezone(ZoneInfo(ZONE)).time()


def test_coats_are_told_in_order_with_what_they_meet():
    """Each product has its time, panel, dew point, flash and choice."""
    made = told()
    order = ["promoter", "primer", "base", "clear", "blender"]
    assert [line.role for line in made.coats] == order
    assert [line.single for line in made.coats] == [True, False, False, False, False]
    assert [line.at for line in made.coats] == sorted(line.at for line in made.coats)
    for line in made.coats:
        assert line.panel_temp_c - line.dew_point_c == pytest.approx(line.dew_margin_k, abs=1e-6)
        assert line.flash_expected_min is not None
        met = line.panel_temp_c if line.met_temp_c is None else line.met_temp_c
        assert all(choice.suits(met) for choice in line.choices)
    base = made.coats[2]
    assert (base.flash_printed_min, base.pot_life_min) == (4.0, None)
    assert made.coats[1].flash_expected_min >= made.coats[1].flash_printed_min  # a floor for primer


def test_commitment_runs_from_the_first_base_coat_to_the_end_of_the_bake():
    """The time without return is that of the chart's own stages."""
    made = told()
    bars = {bar.name: bar for bar in made.chart.stages}
    assert made.commitment == (bars["base, coat 1"].begin, bars["lamp on the clear"].end)
    assert made.coats[2].at == made.commitment[0]


def test_a_play_that_breaks_off_tells_what_it_reached():
    """With rain from the start nothing is coated, so no coat and no commitment is told."""
    made = told(weather=outlook(wet_hour_mm=1.0))
    assert made.judgement.word is Word.NO_GO
    assert made.coats == ()
    assert made.commitment is None
    assert made.windows == ()


def test_pot_life_is_that_of_a_cup_in_the_shade_kept_warm():
    """Neither of metal in the sun nor of a cold yard: in the cold the cup is kept at 20 °C."""
    for air_temp_c, expected in ((4.0, 25.0), (20.0, 25.0), (30.0, 12.0)):
        made = told(weather=outlook(air_temp_c=air_temp_c, rh_pct=50.0))
        clear = {line.role: line for line in made.coats}["clear"]
        assert clear.pot_life_min == pytest.approx(expected), air_temp_c


def test_a_coat_on_cold_metal_is_told_with_what_the_lamp_warms_it_to():
    """Right before promoter and primer; hands come between lamp and base; a mild one is left."""
    cold = told(weather=outlook(air_temp_c=6.0, rh_pct=60.0))
    warmed = {line.role: line.warmed_to_c for line in cold.coats}
    assert warmed == {
        "promoter": 28.0, "primer": 28.0, "base": 24.0, "clear": None, "blender": None
    }  # fmt: skip
    met = {line.role: line.met_temp_c for line in cold.coats}
    assert (met["promoter"], met["primer"], met["clear"]) == (28.0, 28.0, None)
    panel = {line.role: line.panel_temp_c for line in cold.coats}["base"]
    assert panel + 5.0 < met["base"] < 24.0
    assert {line.warmed_to_c for line in told().coats} == {None}


def test_of_a_panel_too_large_for_the_lamp_no_warmth_is_counted_on():
    """By the time the last place is warm the first is cold again."""
    large = told(job(repair_area_m2=1.4), outlook(air_temp_c=6.0, rh_pct=60.0)).coats[0]
    assert large.warmed_to_c == 28.0
    assert large.met_temp_c == large.panel_temp_c


def test_two_pack_indoors_is_told_without_times():
    """A job that is not judged has neither coats nor chart, but its source."""
    weather = outlook()
    made = entry(Judgement(job(), Word.NOT_JUDGED, "why"), weather, POLICY)
    assert (made.coats, made.chart, made.weather) == ((), None, None)
    assert made.provenance is weather.provenance


def test_dew_on_a_clear_morning_is_told_with_its_end():
    """After a clear, damp, still night panels are wet at six, and dry as the sun climbs."""
    dewy = outlook(
        air_temp_c=lambda h: 6.0 + 9.0 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
        rh_pct=lambda h: 97.0 - 40.0 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
        wind_10m_ms=1.0,
        gust_10m_ms=2.0,
        cloud_fraction=0.0,
        ghi_wm2=lambda h: 600 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
        dni_wm2=lambda h: 600.0 * ((h > 6) & (h < 20)),
        dhi_wm2=lambda h: 100 * np.clip(np.sin(np.pi * (h - 6) / 14), 0, None),
    )
    panels = (Panel(Part.LEFT_DOOR, Colour.WHITE), Panel(Part.ROOF, Colour.WHITE))
    made = told(job(panels=panels), dewy)
    assert made.wet.panel == 0  # the door faces west
    assert time(6, 15) < local(made.wet.until) < time(13)
    assert told().wet is None


def test_chart_covers_the_working_day_with_a_margin():
    """Two hours before work to two hours after it, one value a quarter hour, in one row."""
    chart = told().chart
    assert local(chart.times[0]) == time(6)
    assert local(chart.times[-1]) == time(20, 15)
    for series in (chart.panel_temp_c, chart.dew_point_c, chart.wind_ms, chart.rain_mm):
        assert series.shape == (len(chart.times),)
    assert all(chart.times[0] <= w.first <= chart.times[-1] for w in chart.windows)
    assert chart.windows


def test_windows_are_told_in_time():
    """Each window's first, best and latest start are quarter hours in order."""
    for window in told().windows:
        assert window.first <= window.best <= window.latest
        assert window.first.minute % 15 == 0


def test_day_weather_speaks_of_working_hours_only():
    """Rain at night is not told; rain at noon is, hour by hour."""
    rain = np.zeros(5 * 96)
    noon = 2 * 96 + 11 * 4  # 12:00 to 13:00 local
    rain[noon : noon + 4] = 0.4
    rain[2 * 96 : 2 * 96 + 8] = 3.0
    made = day_weather(outlook(wet_hour_mm=rain), DAY, ZONE, POLICY)
    assert made.rain_hours == (datetime(2026, 4, 17, 11, tzinfo=UTC),)
    assert made.air_high_c == pytest.approx(17.0, abs=0.1)
    assert made.air_low_c < made.air_high_c
    assert (made.wind_high_ms, made.gust_high_ms) == (2.0, 4.0)
    assert made.rain_chance_pct == 5.0


def test_day_weather_of_nothing_is_nan():
    """Where nothing is known nothing is made up."""
    made = day_weather(outlook(air_temp_c=np.nan, cloud_fraction=np.nan), DAY, ZONE, POLICY)
    assert np.isnan([made.air_low_c, made.air_high_c, made.cloud_fraction]).all()
    assert np.isnan(made.dew_point_high_c)


POT_LIVES = [(20.0, 25.0), (30.0, 12.0), (25.0, (25.0 * 12.0) ** 0.5), (50.0, None), (-5.0, None)]


@pytest.mark.parametrize(("temp_c", "minutes"), POT_LIVES)
def test_pot_life_runs_through_the_printed_values(temp_c, minutes):
    """The printed values are met, the middle is their geometric mean, and far out it stops."""
    printed = PotLife(page=1, at_20_c_min=25.0, at_30_c_min=12.0)
    found = pot_life_min(printed, temp_c)
    edge = pot_life_min(printed, 40.0 if temp_c > 0 else 5.0)
    assert found == pytest.approx(edge if minutes is None else minutes)


def test_no_pot_life_without_print_or_temperature():
    """Nothing printed, or a temperature that is not known, gives nothing."""
    assert pot_life_min(None, 20.0) is None
    assert pot_life_min(PotLife(page=1, at_20_c_min=25.0, at_30_c_min=12.0), float("nan")) is None


def test_an_entry_survives_a_judgement_without_play():
    """A job past its arrival window has a source and nothing else."""
    booking = job()
    late = EVENING + timedelta(days=1)
    plan = plan_for(booking)
    thresholds = POLICY.thresholds[Moment.EVENING]
    found = judge(booking, plan, climate_for(booking, outlook()), POLICY, thresholds, late)
    made = entry(found, outlook(), POLICY)
    assert (made.coats, made.windows, made.commitment) == ((), (), None)


def test_coats_of_a_climate_without_play_are_none():
    """Parts of a judgement that is not whole are left out rather than guessed."""
    whole = told().judgement
    hollow = replace(whole, play=None)
    made = entry(hollow, outlook(), POLICY)
    assert (made.coats, made.commitment, made.chart) == ((), None, None)
    assert BUMPER in whole.job.panels


def test_a_coat_without_a_flash_behind_it_tells_none():
    """A process may go on at once; then there is no flash to expect."""
    whole = told().judgement
    first = whole.plan.first_coat("primer")
    stages = list(whole.plan.stages)
    stages[first + 1] = replace(stages[first + 1], kind="hand")
    bare = replace(whole, plan=replace(whole.plan, stages=tuple(stages)))
    line = entry(bare, outlook(), POLICY).coats[1]
    assert (line.flash_expected_min, line.flash_printed_min, line.single) == (None, 5.0, False)


def test_the_hardener_is_for_the_metal_the_coat_meets():
    """Cold metal under the lamp first takes the standard hardener, not the one for the cold."""
    primer = told(weather=outlook(air_temp_c=9.0, rh_pct=60.0)).coats[1]
    assert primer.panel_temp_c < 15.0 <= primer.warmed_to_c
    assert [choice.name for choice in primer.choices] == ["standard"]


def test_an_edge_has_fewer_minutes_on_hot_metal():
    """Three as a rule, two from 28 °C on; no sheet, no minutes."""
    assert {line.role: line.edge_min for line in told().coats}["blender"] == 3.0
    hot = told(weather=outlook(air_temp_c=29.0, rh_pct=45.0))
    assert {line.role: line.edge_min for line in hot.coats}["blender"] == 2.0
    assert {line.edge_min for line in hot.coats if line.role != "blender"} == {None}

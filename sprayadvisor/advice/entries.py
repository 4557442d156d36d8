"""One judgement made ready for a brief: coats, commitment, wet panel, weather, chart."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta

import numpy as np

from sprayadvisor.advice.around import air_met, downwind_met
from sprayadvisor.advice.best import BestPlay
from sprayadvisor.advice.brief import (
    ChartData,
    DayWeather,
    Entry,
    StageBar,
    WindowBar,
)
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.coat_line import CoatLine
from sprayadvisor.advice.first_night import first_night
from sprayadvisor.advice.hours import day_bounds, local_time
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.mixing import mixes, pot_life_min
from sprayadvisor.advice.outlook import Floats, Outlook, minute_of, time_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.play import FIT
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.sheet import Edge
from sprayadvisor.advice.wet_morning import wet_morning
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.lamp import lift_left_k
from sprayadvisor.science.quantities import STEP_MIN

CUP_KEPT_C = 20.0  # in the cold mixed paint is kept at 18 to 22 °C: common practice
CHART_MARGIN = timedelta(hours=2)  # shown before and after the working day: the dew of the morning


def entry(
    judgement: Judgement, outlook: Outlook, policy: Policy, wiped: Climate | None = None
) -> Entry:
    """Return the entry of a job that was judged on ``outlook``.

    Args:
        judgement: the verdict with all it rests on.
        outlook: the forecast.
        policy: working hours.
        wiped: the climate of the panels wiped dry on arrival, where one of them is wet then.
    """
    if judgement.climate is None:
        return Entry(judgement, provenance=outlook.provenance)
    commitment = _commitment(judgement)
    return Entry(
        judgement,
        windows=_window_bars(judgement),
        coats=_coats(judgement),
        commitment=commitment,
        latest_opening=None if (at := judgement.latest_opening) is None else judgement.at(at),
        wet=wet_morning(judgement.job, judgement.climate, wiped),
        weather=day_weather(outlook, judgement.job.day, judgement.job.site.zone, policy),
        air=air_met(judgement),
        downwind=downwind_met(judgement, policy),
        first_night=first_night(judgement, commitment[1] if commitment else None),
        chart=_chart(judgement, policy),
        provenance=outlook.provenance,
    )


def _window_bars(judgement: Judgement) -> tuple[WindowBar, ...]:
    def at(step: int) -> datetime:
        return judgement.at(step * STEP_MIN)

    return tuple(
        WindowBar(at(w.first), at(w.best), at(w.latest), w.word) for w in judgement.windows
    )


def _coats(judgement: Judgement) -> tuple[CoatLine, ...]:
    """Return a line for the first coat of each product that the best play reaches."""
    plan, play, climate = judgement.plan, judgement.play, judgement.climate
    if plan is None or play is None or climate is None:
        return ()
    roles = dict.fromkeys(s.role for s in plan.stages if s.kind == "coat" and s.role)
    area_m2 = judgement.job.repair_area_m2
    lines = [_coat(plan, play, climate, role, area_m2) for role in roles]
    return tuple(line for line in lines if line is not None)


def _coat(
    plan: Plan, play: BestPlay, climate: Climate, role: str, area_m2: float
) -> CoatLine | None:
    """Return the line of one product, None where its first coat is not reached."""
    stage = plan.first_coat(role)
    if stage is None or play.walk.begins[stage, play.row] < 0:
        return None
    begin = int(play.walk.begins[stage, play.row])
    step = min(begin // STEP_MIN, climate["panel_temp_c"].shape[1] - 1)
    sheet = plan.sheets[role]
    here = {name: float(array[play.row, step]) for name, array in climate.values.items()}
    panel_temp_c = here["panel_temp_c"]
    warmed_to_c = _warmed_to_c(plan, play, stage)
    # Hardener and thinner are for the metal the coat lands on; the cup is neither under the lamp
    # nor in the sun.
    met_temp_c = panel_temp_c
    if warmed_to_c is not None:
        met_temp_c = _met_temp_c(plan, play, stage, warmed_to_c, here)
    printed_min, expected_min, single = _flash_behind(plan, play, stage)
    return CoatLine(
        role=role,
        sheet_name=sheet.name,
        at=time_of(climate.starts_utc, begin),
        panel_temp_c=panel_temp_c,
        dew_point_c=here["dew_point_c"],
        dew_margin_k=here["dew_margin_k"],
        flash_printed_min=printed_min or sheet.flash.between_min,
        flash_expected_min=expected_min,
        choices=tuple(c for c in sheet.choices if c.suits(met_temp_c, here["rh_pct"])),
        pot_life_min=pot_life_min(sheet.pot_life, np.maximum(here["air_temp_c"], CUP_KEPT_C)),
        warmed_to_c=warmed_to_c,
        met_temp_c=None if warmed_to_c is None else met_temp_c,
        single=single,
        mixes=mixes(plan, play, role, area_m2),
        two_pack=sheet.two_pack,
        water_borne=sheet.carrier == "water",
        edge_min=_edge_min(sheet.edge, met_temp_c),
    )


def _warmed_to_c(plan: Plan, play: BestPlay, coat: int) -> float | None:
    """Return what the lamp warms the panel to right before a coat in this play, if it does."""
    warm = plan.warmed_for(coat)
    if warm is None or play.walk.ends[warm, play.row] <= play.walk.begins[warm, play.row]:
        return None
    pace = plan.stages[warm].pace
    return pace.goal_temp_c if pace else None


def _edge_min(edge: Edge | None, panel_temp_c: float) -> float | None:
    """Return how soon an edge is to be blended on metal of this temperature."""
    if edge is None or edge.hot_within_min is None or edge.hot_from_c is None:
        return edge.within_min if edge else None
    cool = panel_temp_c < edge.hot_from_c
    return edge.within_min if cool else edge.hot_within_min


def _met_temp_c(
    plan: Plan, play: BestPlay, coat: int, warmed_to_c: float, here: Mapping[str, float]
) -> float:
    """Return what a coat meets of a warmed panel: some is gone where hands came between."""
    warm = plan.warmed_for(coat)
    heat = next((w.heat_j_m2k for w in plan.warmths if w.coat == plan.stages[coat].id), None)
    if warm is None or heat is None:  # so late that nothing of it is counted on
        return here["panel_temp_c"]
    since_min = float(play.walk.begins[coat, play.row] - play.walk.ends[warm, play.row])
    lift_k = max(warmed_to_c - here["panel_temp_c"], 0.0)
    left_k = lift_left_k(lift_k, since_min, here["air_temp_c"], here["wind_ms"], heat)
    return here["panel_temp_c"] + left_k


def _flash_behind(plan: Plan, play: BestPlay, coat: int) -> tuple[float | None, float | None, bool]:
    """Return the flash-off after a first coat: printed, in this play, and whether no more follow.

    Printed is with the blower where one runs; both None where no flash-off follows.
    """
    after = coat + 1
    clock = plan.stages[after].clock if after < len(plan.stages) else None
    if clock is None or plan.stages[after].kind != "flash":
        return None, None, False
    role = plan.stages[coat].role
    single = not any(s.kind == "coat" and s.role == role for s in plan.stages[after:])
    begin, end = play.walk.begins[after, play.row], play.walk.ends[after, play.row]
    known = end >= 0 and not _runs_off(plan, play, after)
    return clock.need_min / clock.boost, float(end - begin) if known else None, single


def _runs_off(plan: Plan, play: BestPlay, stage: int) -> bool:
    """Return whether the play stopped in this stage, so that its end says nothing."""
    return int(play.walk.stage[play.row]) == stage and plan.stages[stage].clock is not None


def _commitment(judgement: Judgement) -> tuple[datetime, datetime] | None:
    """Return from when to when there is no way back in the best play."""
    plan, play = judgement.plan, judgement.play
    bounds = plan.commitment() if plan else None
    if bounds is None or play is None:
        return None
    begin = int(play.walk.begins[bounds[0], play.row])
    end = int(play.walk.ends[bounds[1], play.row])
    return (judgement.at(begin), judgement.at(end)) if min(begin, end) >= 0 else None


def day_weather(outlook: Outlook, day: date, zone: str, policy: Policy) -> DayWeather:
    """Return the working hours of a local day in a few numbers; NaN where nothing is known."""
    begin = outlook.minute_of(local_time(day, policy.work_from, zone)) // STEP_MIN
    end = outlook.minute_of(local_time(day, policy.work_to, zone)) // STEP_MIN
    hours = slice(max(begin, 0), max(end, 0))
    raining = np.flatnonzero(outlook.wet_hour_mm[hours] > policy.rain_hour_mm) + hours.start
    full = [s for s in raining if outlook.time_of(int(s) * STEP_MIN).minute == 0]
    return DayWeather(
        air_low_c=_extreme(outlook["air_temp_c"][hours], low=True),
        air_high_c=_extreme(outlook["air_temp_c"][hours]),
        wind_high_ms=_extreme(outlook["wind_10m_ms"][hours]),
        gust_high_ms=_extreme(outlook["gust_10m_ms"][hours]),
        rain_hours=tuple(outlook.time_of(int(s) * STEP_MIN) for s in full),
        rain_chance_pct=_extreme(outlook["rain_probability_pct"][hours]),
        cloud_fraction=_extreme(outlook["cloud_fraction"][hours], mean=True),
        dew_point_high_c=_extreme(
            dew_point_c(outlook["air_temp_c"][hours], outlook["rh_pct"][hours])
        ),
    )


def _extreme(values: Floats, *, low: bool = False, mean: bool = False) -> float:
    """Return the highest, lowest or mean known value, NaN where none is."""
    known = values[np.isfinite(values)]
    if not known.size:
        return float("nan")
    if mean:
        return float(known.mean())
    return float(known.min() if low else known.max())


def _chart(judgement: Judgement, policy: Policy) -> ChartData | None:
    """Return what the chart of a job shows: its day, as its best play was read."""
    plan, play, climate = judgement.plan, judgement.play, judgement.climate
    if plan is None or play is None or climate is None:
        return None
    job = judgement.job
    begin = local_time(job.day, policy.work_from, job.site.zone) - CHART_MARGIN
    end = local_time(job.day, policy.work_to, job.site.zone) + CHART_MARGIN
    steps = slice(
        max(minute_of(climate.starts_utc, begin) // STEP_MIN, 0),
        max(minute_of(climate.starts_utc, end) // STEP_MIN, 0),
    )
    shown = range(steps.start, min(steps.stop, len(climate.starts_utc)))
    today = day_bounds(job.day, job.site.zone)
    return ChartData(
        zone=job.site.zone,
        times=tuple(judgement.at(step * STEP_MIN) for step in shown),
        panel_temp_c=climate["panel_temp_c"][play.row, steps],
        dew_point_c=climate["dew_point_c"][play.row, steps],
        wind_ms=climate["wind_ms"][play.row, steps],
        rain_mm=climate["wet_hour_mm"][play.row, steps],
        stages=_stage_bars(judgement, plan, play),
        windows=tuple(w for w in _window_bars(judgement) if today[0] <= w.first < today[1]),
        whole=int(play.walk.status[play.row]) == FIT,
    )


def _stage_bars(judgement: Judgement, plan: Plan, play: BestPlay) -> tuple[StageBar, ...]:
    bars = []
    for index, stage in enumerate(plan.stages):
        begin, end = int(play.walk.begins[index, play.row]), int(play.walk.ends[index, play.row])
        if begin >= 0 and end > begin:
            bars.append(StageBar(stage.name, stage.kind, judgement.at(begin), judgement.at(end)))
    return tuple(bars)

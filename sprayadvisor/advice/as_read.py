"""What was read at the car, against the sheet of the next coat, and how long the lamp lasts."""

from __future__ import annotations

import math
from datetime import datetime
from itertools import takewhile

import numpy as np

from sprayadvisor.advice.best import BestPlay
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.from_now import Rest
from sprayadvisor.advice.model import Job, Material
from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.onsite_facts import AsRead, ReadValue, StageNow
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.play import FIT
from sprayadvisor.advice.sheet import PLASTIC_MOST_C, Sheet
from sprayadvisor.science.humidity import dew_point_c


def as_read(
    plan: Plan, first: int, reading: Reading, forecast_panel_c: float = math.nan
) -> AsRead | None:
    """Return what was read against the sheet of the next coat; None where none is ahead.

    Args:
        plan: the compiled plan.
        first: the stage that comes next; a coat behind hand work, warming or a flash-off counts,
            one behind a bake does not: the panel is another one by then.
        reading: what was measured.
        forecast_panel_c: the panel as expected, °C; it stands in where none was read and the coat
            is the very next stage.
    """
    ahead = takewhile(lambda one: one.kind not in ("lamp", "cool"), plan.stages[first:])
    stage = next((one for one in ahead if one.kind == "coat"), None)
    if stage is None:
        return None
    sheet = plan.sheets[stage.role or ""]
    found = [_against(sheet, name, value) for name, value in _values(reading).items()]
    if reading.panel_temp_c is None and plan.stages[first] is stage:
        expected = _against(sheet, "panel_temp_c", forecast_panel_c, read=False)
        # What is expected inside the sheet is no news.
        found.append(expected if expected and expected.inside_margin < 0.0 else None)
    known = tuple(one for one in found if one is not None)
    return AsRead(stage.name, known) if known else None


def _against(sheet: Sheet, quantity: str, value: float, *, read: bool = True) -> ReadValue | None:
    """Return a value against a sheet's limit; None where either is missing."""
    limit = sheet.limits.get(quantity)
    if limit is None or not math.isfinite(value):
        return None
    bounds = (limit.inside_min, limit.inside_max, limit.stop_min, limit.stop_max)
    check = Check(quantity, sheet.origin(limit), *bounds)
    inside, stop = (float(check.margin(np.array(value), level)) for level in Level)
    return ReadValue(check, value, inside, stop, read)


def _values(reading: Reading) -> dict[str, float]:
    """Return what was read, and the dew margin where all three of it were; NaN for what was not."""
    nan = float("nan")
    panel, air, rh, wind = (
        nan if value is None else value
        for value in (reading.panel_temp_c, reading.air_temp_c, reading.rh_pct, reading.wind_ms)
    )
    dew_margin_k = panel - float(dew_point_c(np.array([air]), np.array([rh]))[0])
    return {"panel_temp_c": panel, "rh_pct": rh, "dew_margin_k": dew_margin_k, "wind_ms": wind}


def stage_now(rest: Rest, play: BestPlay, job: Job, reading: Reading) -> StageNow | None:
    """Return how long the stage of the lamp lasts with which a rest begins, if it is one."""
    stage = rest.plan.stages[0]
    if stage.pace is None:
        return None
    plastic = any(panel.material is Material.PLASTIC for panel in job.panels)
    sheet = rest.plan.sheets.get(stage.role or "")
    by_sheet = sheet.lamp.most_temp_c if sheet and sheet.lamp else math.inf
    most = min(by_sheet, PLASTIC_MOST_C if plastic else math.inf)
    return StageNow(
        stage.pace.kind,
        stage.pace.goal_temp_c,
        stage.pace.hold_min,
        _ends_at(rest, play),
        most,
        plastic,
        float("nan") if reading.panel_temp_c is None else reading.panel_temp_c,
        stage.pace.from_temp_c,
    )


def _ends_at(rest: Rest, play: BestPlay) -> datetime | None:
    """Return when the first stage is over in the middle of the members that end it."""
    walk = play.walk
    over = (walk.ends[0] >= 0) & ((walk.status == FIT) | (walk.stage > 0))
    if not over.any():
        return None
    return rest.at(float(np.median(walk.ends[0][over])))

"""What was read at the car against the sheet, and the lamp's own times, in words."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.downwind import side_at
from sprayadvisor.advice.onsite import Conditions, OnSiteAnswer
from sprayadvisor.advice.onsite_facts import ReadValue, StageNow
from sprayadvisor.advice.policy import Moment
from sprayadvisor.render.limits import bounds_words, value_words
from sprayadvisor.render.words import clock, listed, sentence
from sprayadvisor.units import Display

AT_ONCE, THIS_QUARTER = timedelta(minutes=1), timedelta(minutes=15)
OVER_K = 2.0  # an infrared thermometer is off by as much
_READ = {
    "panel_temp_c": "panel",
    "air_temp_c": "air",
    "rh_pct": "humidity",
    "wind_ms": "wind",
}


def value_read(answer: OnSiteAnswer, limiting: Limiting) -> float | None:
    """Return what was read of the very quantity that decides at this minute, None if nothing."""
    found, reading = answer.judgement, answer.asked.reading
    name = limiting.check.quantity
    if found is None or limiting.check.array or name not in reading.measured:
        return None
    if (
        name == "panel_temp_c"
        and found.job.panel_of(limiting.panel) != found.job.panels[reading.panel]
    ):
        return None
    stages = found.plan.stages[: limiting.stage + 1] if found.plan else ()
    if name == "panel_temp_c" and any(stage.pace for stage in stages):
        return None
    soon = found.at(limiting.minute) - reading.taken_at < THIS_QUARTER
    value: float | None = getattr(reading, name)
    return value if soon else None


def margin_of(limiting: Limiting, value: float) -> float:
    """Return the margin that another value would have to the bound that decides."""
    return float(limiting.check.margin(np.array(value), limiting.level))


def as_read_words(answer: OnSiteAnswer, display: Display) -> str:
    """Return what of the readings lies outside the sheet of the next coat, else that none does."""
    found = answer.as_read
    if found is None or answer.doubts:
        return ""
    outside = [value for value in found.values if value.inside_margin < 0.0]
    if outside:
        return " ".join(sentence(_outside(value, display)) for value in outside)
    labels = listed([value.check.words.label for value in found.values])
    return f"{labels} inside the sheet of “{found.coat}”."


def _outside(found: ReadValue, display: Display) -> str:
    value = value_words(found.check, found.value, display, finer=abs(found.inside_margin) < 1.0)
    beyond = ", beyond the stop" if found.stop_margin < 0.0 else ""
    bounds = bounds_words(found.check, found.value, display)
    by = "" if found.read else ", by the forecast"
    return f"{found.check.words.label} {value}{by}{beyond}: {bounds}"


def lamp_words(answer: OnSiteAnswer, display: Display) -> str:
    """Return until when lamp or cooling take, and that the panel is hotter than it may be."""
    found = answer.stage_now
    if found is None or answer.doubts:
        return ""
    return f"{_too_hot(found, display)}{_lasts(found, answer.job.site.zone, display)}"


def _lasts(found: StageNow, zone: str, display: Display) -> str:
    goal = display.temp(found.goal_temp_c)
    if found.ends_at is None:
        return f"the panel does not get to {goal} in this weather."
    at = clock(found.ends_at, zone)
    match found.kind:
        case "bake":
            return (
                f"{goal} at the panel for {found.hold_min:.0f} min each place, over by about {at}."
            )
        case "cool" if found.read_temp_c > found.from_temp_c + OVER_K:
            return f"down to {goal}, longer than planned: it is hotter; read it again."
        case "cool":
            return f"down to {goal} by about {at}."
        case _:
            return f"to {goal}, by about {at}; read it then."


def _too_hot(found: StageNow, display: Display) -> str:
    """Return that the lamp must go back; plastic takes no more than its bake."""
    if found.kind == "cool" or math.isnan(found.read_temp_c):
        return ""
    if found.kind == "warm" and found.read_temp_c - found.goal_temp_c > OVER_K:
        return f"{display.temp(found.read_temp_c)} read: warm enough, lamp off. "
    most = found.goal_temp_c if found.plastic else found.most_temp_c
    if found.read_temp_c <= most + OVER_K:
        return ""
    why = "plastic takes no more" if found.plastic else "the paint takes no more"
    read = display.temp(found.read_temp_c)
    return f"{read} read, {display.temp(most)} is the most: lamp back, {why}. "


def flash_off_words(answer: OnSiteAnswer) -> str:
    """Return how long the flash-off takes that counts anew."""
    flash = answer.flash_off
    if flash is None:
        if answer.asked.matt_at is None or answer.conditions is None or answer.latest:
            return ""
        return "none comes right before this stage, so “matt” changes nothing."
    if flash.at is None:
        return f"printed {flash.printed_min:.0f} min; it does not run to its end in this weather."
    at = clock(flash.at, answer.job.site.zone)
    if flash.at - answer.made_at < AT_ONCE:
        return (
            f"over by the clock, printed {flash.printed_min:.0f} min. One even matt is what counts."
        )
    printed = f"printed {flash.printed_min:.0f} min, expect about {flash.expected_min:.0f}"
    if answer.asked.matt_at is not None and _feel_it(answer) == _MATT:
        return f"{printed}, counted from matt, so until {at}."
    return f"{printed}, so until {at}. {_feel_it(answer)}, whatever the clock says."


_MATT = "Wait for one even matt"


def _feel_it(answer: OnSiteAnswer) -> str:
    """Return what shows that a coat has flashed off; clear stays bright."""
    plan = answer.judgement.plan if answer.judgement else None
    role = plan.stages[0].role if plan else None
    if plan and role and plan.sheets[role].kind in ("clear", "blender"):
        return "Touch it on the tape beside: it no longer strings"
    return _MATT


def felt_words(answer: OnSiteAnswer) -> str:
    """Return what breath mist and damp stripe say."""
    told = {
        "fine": "the panel is dry enough by breath mist or stripe.",
        "between": "the breath mist goes slowly: close to damp.",
        "damp": "too damp by breath mist or stripe; warm it and try again.",
    }
    if answer.moment is Moment.BEFORE_CLEAR:
        told["damp"] = "too damp by breath mist or stripe; lay nothing on it until it is dry."
    return told.get(answer.felt.value, "")


def filled_words(answer: OnSiteAnswer, display: Display) -> str:
    """Return what was not read, with the forecast's values."""
    here = answer.conditions
    if here is None or not answer.filled:
        return ""
    values = [f"{_READ[name]} {_value(name, here, display)}" for name in answer.filled]
    return f"{listed(values)}; read it to be surer."


def _value(name: str, here: Conditions, display: Display) -> str:
    value = getattr(here, name)
    if math.isnan(value):
        return "not known"
    if name == "rh_pct":
        return f"{value:.0f} %"
    return display.speed(value, 1) if name == "wind_ms" else display.temp(value, 1)


def said_words(answer: OnSiteAnswer) -> str:
    """Return what the painter said that no instrument shows."""
    said = []
    if answer.said_at is not None:
        said.append(f"this stage at {clock(answer.said_at, answer.job.site.zone)}")
    if answer.asked.all_clear:
        said.append("nobody is downwind, and what stands there is covered")
    if answer.asked.reading.wind_from_deg is not None:
        side = side_at(answer.asked.reading.wind_from_deg)
        said.append(f"the wind comes from the {side}")
    return sentence("; ".join(said))

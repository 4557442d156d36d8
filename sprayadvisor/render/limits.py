"""The limiting check in words: value, both bounds, margin, unit, and where the bound comes from."""

from __future__ import annotations

import math

from sprayadvisor.advice.air_levels import hazard_of, level_word
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.downwind import STOP
from sprayadvisor.advice.plan import Plan
from sprayadvisor.render.words import sentence
from sprayadvisor.units import Display

_TEMPERATURES = {"panel_temp_c", "air_temp_c", "lamp_temp_c"}
_SPEEDS = {"wind_ms", "gust_ms", "gust_sustained_ms"}
YES_OR_NO = {
    "off_hours": "the work does not fit into the hours agreed",
    "low_sun": "the sun stands low and straight in the eye",
    "panel_wet": "water stands on the panel",
    "downwind": "the wind takes your mist onto what stands downwind",
}
# The same where all is well.
_KEPT = {
    "off_hours": "within the hours agreed",
    "low_sun": "no low sun in the eye",
    "panel_wet": "no water on the panel",
    "downwind": "nothing named stands downwind",
}
_WITHOUT_VALUE = {
    "drying": "“{stage}” is not over within a day: too cold or too damp to dry",
    "heating": "in this wind the lamp never gets the metal warm enough at {at} during “{stage}”",
    "forecast": "the forecast does not reach to the end of “{stage}”, begun at {at}",
}
_NEXT_TO_NOTHING = 0.05  # would be told as 0.0


def value_words(check: Check, value: float, display: Display, *, finer: bool = False) -> str:
    """Return a value of a check's quantity with its unit, ``not known`` for NaN.

    Args:
        check: for quantity and unit.
        value: in the unit used inside.
        display: units.
        finer: with a digit more, for a value that would else look like its bound.
    """
    if math.isnan(value):
        return "not known"
    quantity = check.quantity
    if quantity in _TEMPERATURES:
        return display.temp(value, 1)
    if quantity in _SPEEDS:
        return display.speed(value, 1)
    if quantity == "dew_margin_k":
        return display.difference(value)
    digits = 1 if finer or quantity == "wet_hour_mm" else 0
    return f"{value:.{digits}f} {check.words.unit}"


def bounds_words(check: Check, value: float, display: Display) -> str:
    """Return both bounds of a check on the side its value is nearer to."""
    sides = [
        ("at least", check.inside_min, check.stop_min),
        ("at most", check.inside_max, check.stop_max),
    ]
    given = [side for side in sides if side[1] is not None or side[2] is not None]
    if math.isnan(value):
        return "; ".join(_side(*side, check, display) for side in given)
    return _side(*min(given, key=lambda side: _distance(value, *side[1:])), check, display)


def _distance(value: float, inside: float | None, stop: float | None) -> float:
    return min(abs(value - bound) for bound in (inside, stop) if bound is not None)


def _side(
    word: str, inside: float | None, stop: float | None, check: Check, display: Display
) -> str:
    """Return one side's bounds: what is wanted, and where to stop."""
    wanted, last = (
        value_words(check, bound, display) if bound is not None else "" for bound in (inside, stop)
    )
    from_sheet = check.origin.kind == "sheet"
    if wanted and last and wanted != last:
        care = "" if from_sheet else ", with care beyond"
        return f"{'the sheet wants ' if from_sheet else ''}{word} {wanted}{care}, stop at {last}"
    return f"{word} {last}, then stop" if last else f"{word} {wanted}, with care beyond"


def limiting_words(
    limiting: Limiting, plan: Plan, at: str, display: Display, *, in_stage: bool = True
) -> str:
    """Return what decides a verdict as a sentence or two, without the last full stop.

    Args:
        limiting: the check with its value.
        plan: for the name of the stage.
        at: local clock time of the worst value.
        display: units.
        in_stage: whether the stage is named; where it stands above anyway, it is not.
    """
    check = limiting.check
    stage = plan.stages[limiting.stage].name
    if check.quantity in _WITHOUT_VALUE:
        return _WITHOUT_VALUE[check.quantity].format(stage=stage, at=at)
    where = f"at {at} during “{stage}”" if in_stage else f"at {at}"
    hazard = hazard_of(check.quantity)
    if hazard is not None:
        reason = f": {hazard.high}" if limiting.margin < 0 else ""
        level = level_word(limiting.value)
        return f"{check.words.label} {level} {where}{reason} ({check.origin})"
    if check.quantity in YES_OR_NO:
        return _yes_or_no(limiting, where)
    close = abs(limiting.margin) < 1.0
    value = value_words(check, limiting.value, display, finer=close)
    bounds = bounds_words(check, limiting.value, display)
    margin = _margin(limiting, display)
    told = f"{check.words.label} {value} {where}{_after_lamp(limiting)}{margin}"
    return f"{told}. {sentence(bounds)[:-1]} ({check.origin})"


def _yes_or_no(limiting: Limiting, where: str) -> str:
    """Return what is either so or not so, or not known."""
    check = limiting.check
    if math.isnan(limiting.value):
        return f"{check.words.label} not known {where} ({check.origin})"
    if limiting.margin >= 0:
        return f"{_KEPT[check.quantity]} throughout"
    told = YES_OR_NO[check.quantity]
    if check.quantity == "downwind" and limiting.value < STOP:
        told = "your mist may reach what stands downwind"
    return f"{told} {where} ({check.origin})"


def _after_lamp(limiting: Limiting) -> str:
    """Return when after the lamp a warmed panel is read: at its hottest, or when it flashes."""
    if not limiting.lamp_lit:
        return ""
    low, _ = limiting.check.bounds(Level.INSIDE)
    return " as the lamp goes off" if low is None else ", what the lamp has left once it flashes"


def _margin(limiting: Limiting, display: Display) -> str:
    """Return the margin: how much is in hand, or how far beyond."""
    margin, check = limiting.margin, limiting.check
    if not math.isfinite(margin):
        return ""
    if check.quantity == "wet_hour_mm":
        return "" if margin >= 0 else "; any rain is too much"
    inside = "the sheet" if check.origin.kind == "sheet" else "the bound"
    bound = inside if limiting.level is Level.INSIDE else "the stop"
    size = _difference(check, abs(margin), display)
    if margin >= 0:
        return f"; {size} in hand to {bound}"
    return f"; {size} {_beyond(limiting, bound)}"


def _beyond(limiting: Limiting, bound: str) -> str:
    """Return on which side of a bound a value lies; of temperatures as a painter says it."""
    check = limiting.check
    low, high = check.bounds(limiting.level)
    below = low is not None and limiting.value < low
    if check.quantity not in _TEMPERATURES or not (below or high is not None):
        return f"beyond {bound}"
    if bound == "the sheet":
        return "colder than the sheet wants" if below else "hotter than the sheet wants"
    return f"{'below' if below else 'above'} {bound}"


def _difference(check: Check, size: float, display: Display) -> str:
    """Return the size of a margin with its unit; of temperatures without their offset."""
    if size < _NEXT_TO_NOTHING:
        return "next to nothing"
    if check.quantity in _TEMPERATURES or check.quantity == "dew_margin_k":
        return display.difference(size)
    return value_words(check, size, display, finer=size < 1.0)

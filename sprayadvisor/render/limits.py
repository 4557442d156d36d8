"""The limiting check in words: value, both bounds, margin, unit, and where the bound comes from."""

from __future__ import annotations

import math

from sprayadvisor.advice.air_levels import hazard_of, level_word
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.plan import Plan
from sprayadvisor.units import Display

_TEMPERATURES = {"panel_temp_c", "air_temp_c", "lamp_temp_c"}
_SPEEDS = {"wind_ms", "gust_ms", "gust_sustained_ms"}
_YES_OR_NO = {
    "off_hours": "the work does not fit into the hours agreed",
    "low_sun": "the sun stands low and straight in the eye",
    "panel_wet": "water stands on the panel",
    "downwind": "the wind takes your mist onto what stands downwind",
}


def value_words(check: Check, value: float, display: Display) -> str:
    """Return a value of a check's quantity with its unit, ``not known`` for NaN."""
    if math.isnan(value):
        return "not known"
    quantity = check.quantity
    if quantity in _TEMPERATURES:
        return display.temp(value, 1)
    if quantity in _SPEEDS:
        return display.speed(value, 1)
    if quantity == "dew_margin_k":
        return display.difference(value)
    digits = 1 if quantity == "wet_hour_mm" else 0
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
    """Return one side's bounds: what the sheet wants, and where to stop."""
    if inside is not None and stop is not None and inside != stop:
        return (
            f"{word} {value_words(check, inside, display)} inside the sheet, "
            f"stop at {value_words(check, stop, display)}"
        )
    if stop is not None:
        return f"{word} {value_words(check, stop, display)}, then stop"
    return f"{word} {value_words(check, inside or 0.0, display)}, with care beyond"


def limiting_words(limiting: Limiting, plan: Plan, at: str, display: Display) -> str:
    """Return what decides a verdict as a sentence without its full stop.

    Args:
        limiting: the check with its value.
        plan: for the name of the stage.
        at: local clock time of the worst value.
        display: units.
    """
    stage = plan.stages[limiting.stage].name
    check = limiting.check
    hazard = hazard_of(check.quantity)
    if hazard is not None:
        reason = f": {hazard.high}" if limiting.margin < 0 else ""
        level = level_word(limiting.value)
        return f"{check.words.label} {level} at {at}, {stage}{reason} ({check.origin})"
    if check.quantity in _YES_OR_NO and math.isnan(limiting.value):
        return f"{check.words.label} not known at {at}, {stage} ({check.origin})"
    if check.quantity in _YES_OR_NO and limiting.margin < 0:
        return f"{_YES_OR_NO[check.quantity]} at {at}, {stage} ({check.origin})"
    if check.quantity == "drying":
        return f"{stage} never comes to an end: too cold or too damp to dry"
    if check.quantity == "heating":
        return f"in this wind the lamp never gets the metal warm enough at {at}, {stage}"
    if check.quantity == "forecast":
        return f"the forecast does not cover {stage}, from {at} on"
    if check.quantity in _YES_OR_NO:
        return f"{check.words.label} kept throughout, closest at {at}"
    value = value_words(check, limiting.value, display)
    where = f"{check.words.label} {value} at {at}, {stage}"
    bounds = bounds_words(check, limiting.value, display)
    return f"{where}; {bounds} ({check.origin}){_margin(limiting, display)}"


def _margin(limiting: Limiting, display: Display) -> str:
    """Return the margin: how much is in hand, or how far beyond."""
    margin = limiting.margin
    if not math.isfinite(margin):
        return ""
    bound = "the sheet" if limiting.level is Level.INSIDE else "the stop"
    if limiting.check.quantity == "wet_hour_mm":
        return "" if margin >= 0 else "; any rain is too much"
    size = _difference(limiting.check, abs(margin), display)
    return f"; {size} in hand to {bound}" if margin >= 0 else f"; {size} beyond {bound}"


def _difference(check: Check, size: float, display: Display) -> str:
    """Return the size of a margin with its unit; of temperatures without their offset."""
    if check.quantity in _TEMPERATURES or check.quantity == "dew_margin_k":
        return display.difference(size)
    return value_words(check, size, display)

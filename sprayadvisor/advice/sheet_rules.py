"""What the tables of a product data sheet must say, and may not say, of each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from sprayadvisor.advice.flaw import Flaw, mend_name

if TYPE_CHECKING:
    from sprayadvisor.advice.sheet import Limit, Sheet

# Quantities a sheet may set limits on, with the range a bound can sensibly lie in.
LIMIT_RANGES: dict[str, tuple[float, float, str]] = {
    "panel_temp_c": (-40.0, 120.0, "°C"),
    "air_temp_c": (-40.0, 60.0, "°C"),
    "rh_pct": (0.0, 100.0, "%"),
    "dew_margin_k": (0.0, 20.0, "K"),
    "wind_ms": (0.0, 30.0, "m/s"),
    "gust_ms": (0.0, 40.0, "m/s"),
}
# What every sheet limits, and the side on which that quantity does harm.
_HARMFUL_SIDE = {
    "panel_temp_c": "min",
    "rh_pct": "max",
    "dew_margin_k": "min",
    "wind_ms": "max",
    "gust_ms": "max",
}
_ALWAYS = ("panel_temp_c", "rh_pct", "dew_margin_k")


def limit_flaws(limits: Mapping[str, Limit]) -> Iterator[Flaw]:
    """Yield what is missing among the limits, unknown, or bounded where no weather comes."""
    for quantity in _ALWAYS:
        if quantity not in limits:
            yield Flaw(("limits", quantity), "is missing", "add it; no verdict without it")
    for quantity, limit in limits.items():
        if quantity in LIMIT_RANGES:
            yield from _bound_flaws(quantity, limit)
        else:
            remedy = mend_name(quantity, LIMIT_RANGES, f"use one of {', '.join(LIMIT_RANGES)}")
            yield Flaw(("limits", quantity), "is not known", remedy)


def _bound_flaws(quantity: str, limit: Limit) -> Iterator[Flaw]:
    """Yield bounds out of range, and the absence of one on the side that does harm."""
    low, high, unit = LIMIT_RANGES[quantity]
    for name in ("inside_min", "inside_max", "stop_min", "stop_max"):
        bound = limit.bound(name)
        if bound is not None and not low <= bound <= high:
            place = ("limits", quantity, name)
            remedy = f"it must lie between {low:g} and {high:g} {unit}"
            yield Flaw(place, f"is {bound:g}", remedy)
    side = _HARMFUL_SIDE.get(quantity)
    if side and limit.bound(f"inside_{side}") is None and limit.bound(f"stop_{side}") is None:
        problem = f"has neither inside_{side} nor stop_{side}"
        yield Flaw(("limits", quantity), problem, "add one; without it this limit guards nothing")


def table_flaws(sheet: Sheet) -> Iterator[Flaw]:
    """Yield what contradicts itself between two tables."""
    if sheet.kind == "clear" and sheet.cure is None:
        yield Flaw(("cure",), "is missing", "add it; without it a clear never gets dust-free")
    if sheet.edge is not None and sheet.kind != "blender":
        yield Flaw(("edge",), f"does not go with a {sheet.kind}", "remove it")
    if sheet.carrier != "water":
        for name in ("blower_between_min", "blower_before_next_min"):
            if getattr(sheet.flash, name) is not None:
                problem = "does not go with a solvent-borne product"
                yield Flaw(("flash", name), problem, "remove it; a blower only dries water")
    latest = sheet.flash.latest_min
    if sheet.lamp and latest is not None and sheet.lamp.flash_first_min >= latest:
        problem = "is not shorter than flash.latest_min"
        yield Flaw(("lamp", "flash_first_min"), problem, "nothing could be under the lamp in time")

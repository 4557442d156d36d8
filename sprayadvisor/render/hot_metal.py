"""Metal hotter than a sheet wants: which coat, what it does to it, what to do, in words.

Common practice, no source.
"""

from __future__ import annotations

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.coat_line import CoatLine
from sprayadvisor.advice.plan import Plan
from sprayadvisor.render.defects import HOT
from sprayadvisor.render.words import clock
from sprayadvisor.units import Display

TOLD_FROM_K = 0.5  # less would read as the same figure twice
_COOL_IT = (
    "Shade it 20 to 30 minutes, wipe it damp, dry it, read it again; slowest hardener or thinner, "
    "half the area; or wait until the sun is off it."
)
_LAMP = "Lamp no sooner than {minutes} min after the last coat, half power first; else it boils."


def hot_metal(entry: Entry, display: Display) -> str:
    """Return what each coat on metal hotter than its sheet wants suffers, and what to do."""
    plan, zone = entry.judgement.plan, entry.judgement.job.site.zone
    if plan is None:
        return ""
    hot = [line for line in entry.coats if _beyond(line, plan) is not None]
    if not hot:
        return ""
    told = [
        f"{line.role.capitalize()} at {clock(line.at, zone)} on {display.temp(_met(line))}, the "
        f"sheet wants {display.temp(_beyond(line, plan) or 0.0)} at most: "
        f"{HOT[plan.sheets[line.role].kind]}."
        for line in hot
    ]
    return " ".join([*told, _COOL_IT, _no_sooner(hot, plan)]).rstrip()


def _met(line: CoatLine) -> float:
    return line.panel_temp_c if line.met_temp_c is None else line.met_temp_c


def _beyond(line: CoatLine, plan: Plan) -> float | None:
    """Return the highest the sheet wants where a coat meets clearly more, else None."""
    most = plan.sheets[line.role].limits["panel_temp_c"].inside_max
    return most if most is not None and _met(line) >= most + TOLD_FROM_K else None


def _no_sooner(hot: list[CoatLine], plan: Plan) -> str:
    """Return how long the last of the hot products flashes off before a lamp, if one bakes it."""
    lamp = plan.sheets[hot[-1].role].lamp
    if lamp is None or not any(s.kind == "lamp" and s.role == hot[-1].role for s in plan.stages):
        return ""
    return _LAMP.format(minutes=f"{lamp.flash_first_min:.0f}")

"""A plan by its printed minutes alone: no weather, no waiting, one stage behind the other."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, time

from sprayadvisor.advice.compile import compile_plan
from sprayadvisor.advice.model import Colour, Job, Kit, Material, Panel, Part, Power, Site
from sprayadvisor.advice.plan import Clock, Plan
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.sheet import Sheet

# Where the lamp covers the repair in one place and the blower is at hand.
_WITH_LAMP = Kit(lamp_kw=1.0, lamp_area_m2=1.0, blower=True)
_WITHOUT = Kit(blower=True)


def example_plan(
    process: Process, sheets: Mapping[str, Sheet], *, lamp: bool = True, plastic: bool = False
) -> Plan:
    """Return the plan of a process for a job anywhere, on one panel that one lamp covers.

    Args:
        process: the stages.
        sheets: every sheet the process names, by role.
        lamp: whether there is a lamp.
        plastic: whether the panel is plastic and not steel.
    """
    site = Site("", 0.0, 0.0, "UTC", power=Power.SOCKET)
    panel = Panel(Part.LEFT_DOOR, Colour.SILVER, Material.PLASTIC if plastic else Material.STEEL)
    job = Job("", site, (panel,), process.id, date(2000, 1, 1), time(), time())
    return compile_plan(process, sheets, job, _WITH_LAMP if lamp else _WITHOUT, Policy())


def in_a_row(plan: Plan, rate: float = 1.0) -> tuple[tuple[int, int], ...]:
    """Return begin and end of each stage in minutes after the first, every clock at one rate.

    Args:
        plan: the plan; nothing in it waits.
        rate: of every drying clock, blower apart, up to its cap; 1 for the printed minutes.
            Infinite for the best there can be, on metal that needs no warming.
    """
    times: list[tuple[int, int]] = []
    for index, stage in enumerate(plan.stages):
        hands = [i for i in range(index) if plan.stages[i].alongside is None]
        after = stage.after if stage.after is not None else (hands[-1] if hands else None)
        if stage.alongside is not None and stage.after is None:
            begin = times[stage.alongside][0]
        else:
            begin = 0 if after is None else times[after][1]
        end = begin + max(stage.minutes or 0, stage.least_min)
        if stage.pace is not None and math.isfinite(rate):
            end = max(end, begin + math.ceil(stage.pace.places * stage.pace.hold_min))
        if stage.clock is not None:
            since = begin if stage.clock.since is None else times[stage.clock.since][1]
            end = max(end, since + _whole(stage.clock, rate))
        times.append((begin, end))
    return tuple(times)


def _whole(clock: Clock, rate: float) -> int:
    """Return how long a clock runs at a rate, whole minutes rounded up."""
    return math.ceil(round(clock.need_min / min(rate * clock.boost, clock.cap), 9))

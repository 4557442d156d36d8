"""What the lamp has to do in the best play, in words."""

from __future__ import annotations

import math

from sprayadvisor.advice.best import BestPlay
from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.model import Material
from sprayadvisor.advice.plan import Pace, PlanStage
from sprayadvisor.render.words import sentence
from sprayadvisor.units import Display


def lamp(entry: Entry, display: Display) -> str:
    """Return how hot, how soon and how long each bake is, and in how many places in turn."""
    plan, play = entry.judgement.plan, entry.judgement.play
    if plan is None or play is None:
        return ""
    baked = [
        (index, stage, stage.pace)
        for index, stage in enumerate(plan.stages)
        if stage.kind == "lamp"
        and stage.pace
        and 0 <= play.walk.begins[index, play.row] < _end(play, index)
    ]
    if not baked:
        return ""
    told = sentence("; ".join(_bake(*bake, play, display) for bake in baked))
    places = max(pace.places for _, _, pace in baked)
    if places > 1:
        told += f" Each in {places} places in turn."
    if any(panel.material is Material.PLASTIC for panel in entry.judgement.job.panels):
        told += " Plastic takes no more."
    return f"{told} Read it with the lamp off."


def _end(play: BestPlay, index: int) -> int:
    return int(play.walk.ends[index, play.row])


def _bake(index: int, stage: PlanStage, pace: Pace, play: BestPlay, display: Display) -> str:
    """Return one bake; nobody counts the minutes to the heat where hand work takes longer."""
    hold = math.ceil(pace.hold_min)
    lasts = _end(play, index) - int(play.walk.begins[index, play.row])
    told = f"{stage.role} {display.temp(pace.goal_temp_c)}"
    if lasts > stage.least_min:
        told += f" after about {max(lasts // pace.places - hold, 1)} min"
    return f"{told}, then {hold} min"

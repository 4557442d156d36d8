"""Compile a process into a plan for one job: its sheets, its lamp or none, its policy.

A coat stage becomes its coats with a flash between each; a lamp stage becomes its bake, or, where
no lamp can run, air-drying: to dust-free, to where rain does no harm, and on until it can be worked
on if that is soon or something is sprayed over it. Else what needs the paint hard is left for
another day, and a note says so.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from sprayadvisor.advice.air_drying import air_drying
from sprayadvisor.advice.joints import cut, deadlines
from sprayadvisor.advice.lamp_work import bake, cooling, skin_heat_j_m2k, warming
from sprayadvisor.advice.leavable import spare_what_can_wait
from sprayadvisor.advice.limits import all_spans
from sprayadvisor.advice.model import Job, Kit, Material
from sprayadvisor.advice.plan import Clock, Plan, PlanStage
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.power import power_notes
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.reservations import reservations
from sprayadvisor.advice.sheet import Flash, Lamp, Sheet
from sprayadvisor.advice.warmth import Warmed, warmed_stages

# Air-drying longer than this is not waited for on site: the rest is another visit. Trade judgement.
LONGEST_AIR_DRY_MIN = 180.0
STAYS_COLD = "no lamp runs here to warm cold metal before a coat; it stays cold"


@dataclass(slots=True)
class Draft:
    """A plan while it is being put together.

    ``source`` is, for each compiled stage, the stage of the process it came from.
    """

    job: Job
    kit: Kit
    policy: Policy
    process: Process
    sheets: Mapping[str, Sheet]
    stages: list[PlanStage] = field(default_factory=list)
    source: list[Stage] = field(default_factory=list)
    hosts: dict[str, int] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    soft: bool = False

    @property
    def plastic(self) -> bool:
        """Whether any panel is plastic."""
        return any(panel.material is Material.PLASTIC for panel in self.job.panels)

    def lamp_for(self, role: str) -> Lamp | None:
        """Return the bake of a sheet, None where no lamp can run or a panel does not bear it."""
        lamp = self.sheets[role].lamp
        if lamp is None or not self.lamp_runs or (self.plastic and not lamp.bakes_plastic()):
            return None
        return lamp

    @property
    def lamp_runs(self) -> bool:
        """Whether there is a lamp, an area it lights, and power for it."""
        return self.job.lamp_usable(self.kit) and self.kit.lamp_area_m2 > 0

    def hands(self) -> list[int]:
        """Return the stages that are not done alongside another."""
        return [i for i, stage in enumerate(self.stages) if stage.alongside is None]

    def add(self, source: Stage, stage: PlanStage) -> int:
        """Append a stage behind the last one that has the hands and return its index."""
        behind = self.hands()
        self.stages.append(replace(stage, after=behind[-1] if behind else None))
        self.source.append(source)
        return len(self.stages) - 1


def compile_plan(
    process: Process, sheets: Mapping[str, Sheet], job: Job, kit: Kit, policy: Policy
) -> Plan:
    """Return the plan of ``process`` for ``job``.

    Args:
        process: the stages.
        sheets: every sheet the process names, by role.
        job: panels, site, area.
        kit: what is in the van.
        policy: the user's own bounds.
    """
    draft = Draft(job, kit, policy, process, sheets)
    for stage in process.stages:
        _add_stage(draft, stage)
    warmed = warmed_stages(draft.stages, skin_heat_j_m2k(job))
    _run_on_warm_metal(draft, warmed)
    blocks = cut(draft.stages, draft.source, sheets)
    firsts = {block.first for block in blocks}
    stages = tuple(
        replace(stage, after=None) if index in firsts else stage
        for index, stage in enumerate(draft.stages)
    )
    plan = Plan(
        process=process.name,
        stages=stages,
        blocks=blocks,
        spans=all_spans(draft.stages, draft.source, job, kit, policy, process, sheets, warmed),
        deadlines=deadlines(stages, draft.source, blocks, process, sheets),
        sheets=dict(sheets),
        notes=tuple(draft.notes),
        power=tuple(power_notes(process, job, kit)),
        reserved=tuple(reservations(process, sheets, job, kit)),
        uses_lamp=any(stage.kind in ("warm", "lamp") for stage in stages),
        warmths=tuple(one.warmth for one in warmed),
    )
    return spare_what_can_wait(plan)


def _add_stage(draft: Draft, stage: Stage) -> None:
    """Add one stage of the process in the form it takes for this job."""
    if stage.hard and draft.soft:
        draft.notes.append(f"{stage.name}: another day, the paint only air-dries here")
        return
    match stage.kind:
        case "coat":
            _add_coats(draft, stage)
        case "flash":
            _add_flash(draft, stage)
        case "lamp":
            (_add_bake if stage.bakes else _add_warming)(draft, stage)
        case "cool":
            _add_cool(draft, stage)
        case _:
            _add_hand(draft, stage)


def _plain(stage: Stage) -> PlanStage:
    """Return a stage of fixed length."""
    return PlanStage(
        stage.id,
        stage.name,
        stage.kind,
        None,
        minutes=stage.minutes,
        safe_stop=stage.safe_stop,
        no_return=stage.no_return,
    )


def _add_hand(draft: Draft, stage: Stage) -> None:
    """Add hand work, alongside its host where the host runs at this job."""
    host = draft.hosts.get(stage.alongside or "")
    if host is None:
        draft.add(stage, _plain(stage))
        return
    beside = [i for i, other in enumerate(draft.stages) if other.alongside == host]
    after = beside[-1] if beside else None
    draft.stages.append(replace(_plain(stage), after=after, alongside=host))
    draft.source.append(stage)
    longer = draft.stages[host].least_min + (stage.minutes or 0)
    draft.stages[host] = replace(draft.stages[host], least_min=longer)


def _add_cool(draft: Draft, stage: Stage) -> None:
    """Add cooling behind a lamp; what only air-dried is cool, and may be left all the same."""
    hands = draft.hands()
    hot = next(i for i in reversed(hands) if draft.stages[i].kind not in ("hand", "check"))
    heated = draft.stages[hot].pace
    if heated is not None:
        pace = cooling(stage, heated)
        draft.hosts[stage.id] = draft.add(stage, replace(_plain(stage), pace=pace))
    elif stage.safe_stop:
        draft.stages[hands[-1]] = replace(draft.stages[hands[-1]], safe_stop=True)


def _add_coats(draft: Draft, stage: Stage) -> None:
    """Add each coat, with the printed flash between two."""
    role, coats = stage.sheet or "", stage.coats or 1
    sheet = draft.sheets[role]
    for number in range(1, coats + 1):
        name = f"{stage.name}, coat {number}" if coats > 1 else stage.name
        coat = PlanStage(
            stage.coat_id(number),
            name,
            "coat",
            None,
            minutes=stage.minutes_each,
            role=role,
            no_return=stage.no_return and number == 1,
            area_share=stage.area_share or 1.0,
        )
        draft.add(stage, coat)
        if number < coats:
            flash = _flash_stage(draft, stage, sheet, role, *_between(sheet.flash))
            draft.add(stage, replace(flash, id=f"{coat.id}-flash"))


def _add_flash(draft: Draft, stage: Stage) -> None:
    """Add a flash-off; the one before a lamp only where a lamp runs."""
    role = stage.sheet or ""
    sheet = draft.sheets[role]
    printed = sheet.flash.before_next_min, sheet.flash.blower_before_next_min
    if stage.until == "coat":
        printed = _between(sheet.flash)
    elif stage.until == "lamp":
        lamp = draft.lamp_for(role)
        if lamp is None:
            return
        printed = lamp.flash_first_min, None
    draft.hosts[stage.id] = draft.add(stage, _flash_stage(draft, stage, sheet, role, *printed))


def _between(flash: Flash) -> tuple[float, float | None]:
    """Return the printed minutes between two coats, and those under a blower if any."""
    return flash.between_min, flash.blower_between_min


def _flash_stage(
    draft: Draft, stage: Stage, sheet: Sheet, role: str, need_min: float, blown_min: float | None
) -> PlanStage:
    """Return a flash-off that runs on its clock, faster under a blower."""
    boost = 1.0
    if draft.kit.blower and sheet.carrier == "water":
        boost = need_min / blown_min if blown_min is not None else draft.kit.blower_factor
    clock = Clock(
        "flash",
        need_min,
        cap=boost / sheet.flash.quickest_share,
        carrier=sheet.carrier,
        reference_temp_c=sheet.flash.reference_temp_c,
        reference_rh_pct=sheet.flash.reference_rh_pct,
        boost=boost,
    )
    name = stage.name if stage.kind == "flash" else f"{stage.name}, flash between coats"
    return PlanStage(stage.id, name, "flash", None, clock=clock, role=role)


def _add_warming(draft: Draft, stage: Stage) -> None:
    """Add warming of the panel, or a note where no lamp can run."""
    if not draft.lamp_runs:
        if STAYS_COLD not in draft.notes:
            draft.notes.append(STAYS_COLD)
        return
    pace = warming(stage, draft.job, draft.kit)
    warm = PlanStage(stage.id, stage.name, "warm", None, pace=pace, safe_stop=stage.safe_stop)
    draft.hosts[stage.id] = draft.add(stage, warm)


def _run_on_warm_metal(draft: Draft, warmed: Sequence[Warmed]) -> None:
    """Let the flash-offs that count on a warmed panel run at its temperature."""
    for one in warmed:
        for index in range(one.first, one.last + 1):
            clock = draft.stages[index].clock
            if clock is not None:
                warm = replace(clock, panel=one.warmth.panel)
                draft.stages[index] = replace(draft.stages[index], clock=warm)


def _add_bake(draft: Draft, stage: Stage) -> None:
    """Add the lamp's minutes, or air-drying where no lamp can run."""
    role = stage.sheet or ""
    lamp = draft.lamp_for(role)
    if lamp is None:
        _add_air_dry(draft, stage, role)
        return
    pace = bake(lamp, draft.job, draft.kit)
    minutes = pace.places * math.ceil(pace.hold_min)
    baked = PlanStage(stage.id, stage.name, "lamp", None, minutes=minutes, pace=pace, role=role)
    draft.hosts[stage.id] = draft.add(stage, replace(baked, safe_stop=stage.safe_stop))
    draft.soft = False


def _add_air_dry(draft: Draft, stage: Stage, role: str) -> None:
    """Add air-drying, counted from the last coat, to the point that is waited for.

    Raises:
        ValueError: the sheet does not say how the paint dries; ``fits.misfits`` refuses this.
    """
    cure = draft.sheets[role].cure
    if cure is None:
        raise ValueError(f"the sheet of {role!r} has no [cure]")
    behind = draft.process.stages[draft.process.stages.index(stage) + 1 :]
    painted_over = any(other.kind == "coat" for other in behind)
    draft.soft = not painted_over and cure.workable_min > LONGEST_AIR_DRY_MIN
    since = max(i for i, other in enumerate(draft.stages) if other.kind == "coat")
    parts = air_drying(stage, role, cure, since, to_workable=not draft.soft)
    added = [draft.add(stage, part) for part in parts]
    draft.hosts[stage.id] = added[0]
    draft.stages[added[-1]] = replace(draft.stages[added[-1]], safe_stop=stage.safe_stop)

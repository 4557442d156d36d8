"""Which checks hold over which stages: sheets, process, kit and policy turned into spans."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from sprayadvisor.advice.checks import Check, Level
from sprayadvisor.advice.model import Cover, Job, Kit, Material
from sprayadvisor.advice.plan import PlanStage, Span
from sprayadvisor.advice.policy import Policy
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.sheet import Limit, Origin, Sheet
from sprayadvisor.advice.warmth import Warmed

# What each need asks of daylight: quantity and floor, lx. Card: ISO 3668:1998 asks for 2000 of
# diffuse daylight (value from memory); paint and a last look: common practice, no source.
LIGHT_FLOOR_LX = {
    "card_light": ("diffuse_lx", 2000.0),
    "paint_light": ("light_lx", 500.0),
    "soft_light": ("light_lx", 500.0),
}
# A work light does for a last look, and for paint while the sky still helps to see metallic lie. A
# card under it alone is held against nothing: trade judgement.
DUSK_LX = 100.0
STATIC_RH_PCT = 35.0  # below it plastics and water-borne paint draw dust: common practice
PRACTICE = Origin("practice")
ONLY_HIGH = 1.5  # of a level from 0 to 2: care at high, and no stop
# What is sanded flat before the next coat does not mind a fly or a speck.
SANDED_KINDS = ("filler", "promoter", "primer")
AIRBORNE = ("insect_level", "dust_level", "pollen_level", "pm10_level")


def all_spans(
    stages: Sequence[PlanStage],
    source: Sequence[Stage],
    job: Job,
    kit: Kit,
    policy: Policy,
    process: Process,
    sheets: Mapping[str, Sheet],
    warmed: Sequence[Warmed] = (),
) -> tuple[Span, ...]:
    """Return every span of a plan.

    Args:
        stages: the compiled stages.
        source: for each of them, the stage of the process it came from.
        job: panels and site.
        kit: a work light replaces daylight where one counts.
        policy: tightens inside bounds, sets the gusts that tear film or fell a lamp.
        process: for the origin of its own limits.
        sheets: by role.
        warmed: the coats before which the panel is warmed.
    """
    last = len(stages) - 1
    spans = [Span(Check("off_hours", Origin("booking"), stop_max=0.5), 0, last)]
    for first, final in _runs(source):
        of_stage = _stage_spans(source[first], first, final, kit, policy, process)
        spans += (part for span in of_stage for part in _as_warmed(span, stages, warmed))
        if source[first].kind == "coat":
            of_sheet = _sheet_spans(stages, first, final, job, policy, sheets)
            spans += (part for span in of_sheet for part in _as_warmed(span, stages, warmed))
            spans += _air_spans(stages, first, final, sheets)
            spans += _edge_spans(stages, first, sheets)
            if job.site.downwind:
                check = Check("downwind", Origin("site"), inside_max=0.5, stop_max=1.5)
                spans.append(Span(check, first, final))
        if stages[first].kind in ("warm", "lamp"):
            check = Check("gust_ms", Origin("policy"), stop_max=policy.lamp_gust_ms)
            spans.append(Span(check, first, final))
        if stages[first].kind == "warm":  # a bake has the rain check of its paint
            check = Check("wet_hour_mm", PRACTICE, stop_max=policy.rain_hour_mm)
            spans.append(Span(check, first, final))
        spans += _heat_spans(stages[first], first, sheets)
    film = _film(source)
    if film is not None:
        check = Check("gust_ms", Origin("policy"), stop_max=policy.masking_gust_ms)
        spans.append(Span(check, *film))
    if job.site.cover is Cover.CANOPY:
        check = Check("gust_ms", Origin("policy"), stop_max=policy.canopy_gust_ms)
        spans.append(Span(check, 0, last))
    return tuple(spans)


def _runs(source: Sequence[Stage]) -> Iterator[tuple[int, int]]:
    """Yield first and last compiled index of each stage of the process."""
    first = 0
    for index in range(1, len(source) + 1):
        if index == len(source) or source[index] is not source[first]:
            yield first, index - 1
            first = index


def _stage_spans(
    stage: Stage, first: int, last: int, kit: Kit, policy: Policy, process: Process
) -> Iterator[Span]:
    """Yield the spans that a stage of the process asks for itself."""
    origin = Origin("process", process.name)
    if {"no_rain", "dry"} & set(stage.needs):
        yield Span(Check("wet_hour_mm", origin, stop_max=policy.rain_hour_mm), first, last)
    if "dry" in stage.needs:
        yield Span(Check("dew_margin_k", origin, stop_min=0.0), first, last)
    if stage.least_air_c is not None:
        yield Span(Check("air_temp_c", origin, stop_min=stage.least_air_c), first, last)
    if stage.panel_c is not None:
        check = Check(
            "panel_temp_c", origin, stop_min=stage.panel_c.least, stop_max=stage.panel_c.most
        )
        yield Span(check, first, last)
    for need in stage.needs:
        yield from _light_spans(need, first, last, kit, origin)


def _light_spans(need: str, first: int, last: int, kit: Kit, origin: Origin) -> Iterator[Span]:
    """Yield what a stage needs of the light, and how far a work light stands in for it."""
    if need not in LIGHT_FLOOR_LX:
        return
    quantity, floor = LIGHT_FLOOR_LX[need]
    if not kit.work_light:
        yield Span(Check(quantity, origin, stop_min=floor), first, last)
    elif need == "card_light":
        yield Span(Check(quantity, origin, inside_min=floor, stop_min=DUSK_LX), first, last)
    elif need == "paint_light":
        yield Span(Check(quantity, PRACTICE, inside_min=DUSK_LX), first, last)
    if need != "soft_light":
        yield Span(Check("low_sun", PRACTICE, inside_max=0.5), first, last)


def _film(source: Sequence[Stage]) -> tuple[int, int] | None:
    """Return from where to where masking film hangs; to the end where it is never taken off."""
    up = [index for index, stage in enumerate(source) if stage.film_up]
    down = [index for index, stage in enumerate(source) if stage.film_down]
    return (up[0], down[-1] if down else len(source) - 1) if up else None


def _sheet_spans(
    stages: Sequence[PlanStage],
    first: int,
    last: int,
    job: Job,
    policy: Policy,
    sheets: Mapping[str, Sheet],
) -> Iterator[Span]:
    """Yield the spans that a sheet sets from its first coat on."""
    role = stages[first].role or ""
    sheet = sheets[role]
    flashed = _last_flash(stages, last, sheets)
    dry = _last_wet(stages, last, sheets, to_dust_free=True)
    ends = {"wind_ms": last, "gust_ms": last, "dew_margin_k": dry}
    for quantity, limit in sheet.limits.items():
        check = _as_check(quantity, limit, sheet)
        final = ends.get(quantity, flashed)
        yield Span(check, first, final)
        for own in _own_bounds(quantity, sheet, job, policy):
            yield Span(own, first, final)
        if quantity == "gust_ms" and limit.stop_max is None:
            # One puff can be waited out; a gust that comes back for two hours cannot.
            lasting = Check("gust_sustained_ms", check.origin, stop_max=limit.inside_max)
            yield Span(lasting, first, last)
    rain = Check("wet_hour_mm", sheet.origin(sheet.flash), stop_max=policy.rain_hour_mm)
    yield Span(rain, first, _last_wet(stages, last, sheets, to_dust_free=False))


def _heat_spans(stage: PlanStage, index: int, sheets: Mapping[str, Sheet]) -> Iterator[Span]:
    """Yield what the lamp must be able to hold in the wind, all through a bake."""
    sheet = sheets.get(stage.role or "")
    if stage.kind == "lamp" and stage.pace is not None and sheet is not None and sheet.lamp:
        origin = sheet.origin(sheet.lamp)
        check = Check("lamp_temp_c", origin, stop_min=stage.pace.goal_temp_c)
        yield Span(check, index, index)


def _as_warmed(span: Span, stages: Sequence[PlanStage], warmed: Sequence[Warmed]) -> Iterator[Span]:
    """Yield a span in parts: each coat on what the lamp has left it, then the plain panel.

    An upper bound is held against the panel as the lamp goes off.
    """
    check = span.check
    mine = [one for one in warmed if span.first <= one.first <= span.last]
    if not mine or check.quantity not in ("panel_temp_c", "dew_margin_k"):
        yield span
        return
    until = min(span.last, mine[-1].last)
    low = replace(check, inside_max=None, stop_max=None)
    for one in mine:
        warmth = one.warmth
        array = warmth.panel if check.quantity == "panel_temp_c" else warmth.dew_margin
        yield from _if_bound(replace(low, array=array), one.first, min(until, one.last))
    high = replace(check, inside_min=None, stop_min=None, array=mine[0].warmth.hottest)
    yield from _if_bound(high, span.first, until)
    rest = [j for j in range(until + 1, span.last + 1) if stages[j].alongside is None]
    if rest:
        yield Span(check, rest[0], span.last)


def _if_bound(check: Check, first: int, last: int) -> Iterator[Span]:
    """Yield a span if its check has a bound left."""
    if check.bounds(Level.INSIDE) != (None, None):
        yield Span(check, first, last)


def _air_spans(
    stages: Sequence[PlanStage], first: int, last: int, sheets: Mapping[str, Sheet]
) -> Iterator[Span]:
    """Yield what must not land in a coat before it is dust-free or baked."""
    dry = _last_wet(stages, last, sheets, to_dust_free=True)
    yield Span(Check("drip_level", PRACTICE, inside_max=ONLY_HIGH), first, dry)
    if sheets[stages[first].role or ""].kind in SANDED_KINDS:
        return
    for quantity in AIRBORNE:
        yield Span(Check(quantity, PRACTICE, inside_max=ONLY_HIGH), first, dry)
    if stages[dry].kind == "lamp":
        yield Span(Check("insect_lamp_level", PRACTICE, inside_max=ONLY_HIGH), dry, dry)


def _edge_spans(
    stages: Sequence[PlanStage], first: int, sheets: Mapping[str, Sheet]
) -> Iterator[Span]:
    """Yield that the metal is not hot where an edge is blended too late for hot metal."""
    sheet = sheets[stages[first].role or ""]
    edge = sheet.edge
    if edge is None or edge.hot_within_min is None:
        return
    behind = [stage for stage in stages[:first] if stage.alongside is None]
    below = max((i for i, stage in enumerate(behind) if stage.kind == "coat"), default=-1)
    gap = sum(
        math.inf if stage.clock or stage.pace else stage.minutes or 0
        for stage in behind[below + 1 :]
    )
    if gap > edge.hot_within_min:
        check = Check("panel_temp_c", sheet.origin(edge), stop_max=edge.hot_from_c)
        yield Span(check, first, first)


def _as_check(quantity: str, limit: Limit, sheet: Sheet) -> Check:
    """Return a sheet's limit as a check."""
    bounds = (limit.inside_min, limit.inside_max, limit.stop_min, limit.stop_max)
    return Check(quantity, sheet.origin(limit), *bounds)


def _last_flash(stages: Sequence[PlanStage], last_coat: int, sheets: Mapping[str, Sheet]) -> int:
    """Return the last stage in which a coat flashes off or dries up to dust-free.

    That is where a sheet's temperatures and humidity stop to count: what follows only hardens. An
    edge blended into a coat flashes off with it.
    """
    final = last_coat
    role = stages[last_coat].role
    for index in range(last_coat + 1, len(stages)):
        stage = stages[index]
        same = stage.role == role or _blends(stages[last_coat], sheets)
        goes_on = (stage.kind == "flash" and same) or _blends(stage, sheets)
        if not goes_on and stage.alongside is None:
            break
        final = index
        if stage.dust_free:
            break
    return final


def _blends(stage: PlanStage, sheets: Mapping[str, Sheet]) -> bool:
    """Return whether a stage sprays what blends an edge, or lets it flash: it covers nothing."""
    return stage.role is not None and sheets[stage.role].kind == "blender"


def _last_wet(
    stages: Sequence[PlanStage],
    last_coat: int,
    sheets: Mapping[str, Sheet],
    *,
    to_dust_free: bool,
) -> int:
    """Return the last stage in which the paint of a coat is still open to dew or rain.

    It is open until the next coat covers it (a blended edge does not) or a bake ends; without a
    lamp until it is dust-free, or for rain until it is rain-safe. Hand work in between does not
    close it. Where nothing of this follows it is open while it flashes off.
    """
    for index in range(last_coat + 1, len(stages)):
        stage = stages[index]
        if stage.kind == "coat" and not _blends(stage, sheets):
            return index - 1
        dries = stage.clock is not None and stage.clock.kind == "cure"
        if stage.kind == "lamp" or (dries and stage.dust_free is to_dust_free):
            return index
    return _last_flash(stages, last_coat, sheets)


def _own_bounds(quantity: str, sheet: Sheet, job: Job, policy: Policy) -> Iterator[Check]:
    """Yield inside bounds that practice or the user's policy adds to a sheet's own."""
    plastic = any(panel.material is Material.PLASTIC for panel in job.panels)
    if quantity == "rh_pct" and (plastic or sheet.carrier == "water"):
        yield Check(quantity, PRACTICE, inside_min=STATIC_RH_PCT)
    if quantity == "dew_margin_k" and policy.dew_margin_k is not None:
        yield Check(quantity, Origin("policy"), inside_min=policy.dew_margin_k)
    if quantity == "wind_ms" and policy.wind_ms is not None:
        yield Check(quantity, Origin("policy"), inside_max=policy.wind_ms)

"""The best play in words: what is done when, what each check came to, and where one may stop."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.explain import Explained, ExplainedStage, explain
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.readings import Reading, lamp_lit
from sprayadvisor.render.cautions import WEATHER_ONLY, cautions
from sprayadvisor.render.jsonable import finite, iso_time
from sprayadvisor.render.limits import YES_OR_NO, limiting_words
from sprayadvisor.render.told_verdict import short, why
from sprayadvisor.render.words import LABELS, SHAPES, clock, panel_words, sentence
from sprayadvisor.units import Display


@dataclass(frozen=True, slots=True)
class ToldStage:
    """One stage in words.

    Attributes:
        times: ``10:40 to 10:52``.
        name: of the stage.
        marks: what is special about it: point of no return, safe to stop.
        checks: a sentence or two for each check, the scarcest first.
    """

    times: str
    name: str
    marks: str
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToldPlay:
    """The best play in words.

    Attributes:
        head: which play this is.
        stages: in the order of the plan.
        stops: when it was last safe to stop, and when it is again.
    """

    head: str
    stages: tuple[ToldStage, ...]
    stops: str


def tell_play(judgement: Judgement, display: Display) -> ToldPlay | None:
    """Return the best play of a judgement in words, None where nothing was played."""
    explained, plan = explain(judgement), judgement.plan
    if explained is None or plan is None:
        return None
    stages = tuple(_stage(one, judgement, plan, display) for one in explained.stages)
    return ToldPlay(_head(judgement), stages, _stops(explained, judgement.job.site.zone))


def explained_lines(entry: Entry, display: Display) -> tuple[str, ...]:
    """Return verdict, best play and cautions of one job as lines of text."""
    found = entry.judgement
    moment = Moment.MORNING  # of a job still to come nothing is said here that tells the two apart
    verdict = f"{SHAPES[found.word]} {LABELS[found.word]}: {short(entry, moment)}"
    told = tell_play(found, display)
    reason = why(entry, display)
    return (
        verdict,
        *((reason,) if reason else ()),
        "",
        *(_play_lines(told) if told else ()),
        *(("",) if told else ()),
        *cautions([entry]),
    )


def explained_json(entry: Entry) -> dict[str, Any]:
    """Return verdict and best play of one job as what JSON can hold."""
    found = entry.judgement
    return {
        "verdict": found.word.value,
        "why": found.why,
        "likelihood_inside": finite(found.likelihood[Level.INSIDE]),
        "likelihood_stop": finite(found.likelihood[Level.STOP]),
        "best_play": _play_json(found),
        "notice": WEATHER_ONLY,
    }


def _play_lines(told: ToldPlay) -> list[str]:
    """Return a play as lines of text."""
    lines = [told.head]
    for stage in told.stages:
        marks = f" ({stage.marks})" if stage.marks else ""
        lines += [f"{stage.times}  {stage.name}{marks}", *(f"    {one}" for one in stage.checks)]
    return [*lines, told.stops] if told.stops else lines


def _play_json(judgement: Judgement) -> dict[str, Any] | None:
    """Return the best play as what JSON can hold; null for what is not known or has no bound."""
    explained = explain(judgement)
    if explained is None or judgement.play is None:
        return None
    return {
        "level": judgement.play.level.name.lower(),
        "panel": judgement.job.panel_of(judgement.play.panel).part.value,
        "stages": [_stage_json(one, judgement) for one in explained.stages],
        "last_safe_stop": _at(explained.last_safe, judgement),
        "safe_again": _at(explained.safe_again, judgement),
    }


def _head(judgement: Judgement) -> str:
    """Return which play is laid open."""
    play, job = judgement.play, judgement.job
    assert play is not None  # noqa: S101 - explain would have returned nothing
    bounds = "what the sheets want" if play.level is Level.INSIDE else "the sheets' stops"
    panel = ""
    if len(job.panels) > 1:
        panel = f", on the {panel_words(job.panel_of(play.panel))}, which is the tightest"
    return sentence(
        f"the plan from the best start, in middling weather, held against {bounds}{panel}"
    )


def _stage(one: ExplainedStage, judgement: Judgement, plan: Plan, display: Display) -> ToldStage:
    zone = judgement.job.site.zone
    marks = [
        "no way back from here" if one.stage.no_return else "",
        "safe to stop after it" if one.stage.safe_stop else "",
    ]
    return ToldStage(
        f"{clock(one.begin, zone)} to {clock(one.end, zone)}",
        one.stage.name,
        ", ".join(filter(None, marks)),
        tuple(_check(reading, one, judgement, plan, display) for reading in one.readings),
    )


def _check(
    reading: Reading, one: ExplainedStage, judgement: Judgement, plan: Plan, display: Display
) -> str:
    """Return what a check came to, by its inside bound and, where that is broken, its stop."""
    # The quarter hour it falls into may have begun before the stage did.
    at = clock(max(judgement.at(reading.minute), one.begin), judgement.job.site.zone)
    level = Level.INSIDE
    has_two_bounds = reading.check.quantity not in YES_OR_NO and math.isfinite(reading.stop_margin)
    if reading.inside_margin < 0 and has_two_bounds:
        level = Level.STOP
    play = judgement.play
    lit = play is not None and lamp_lit(plan, reading.check, play.walk, play.row)
    limiting = Limiting(
        reading.check, reading.stage, reading.minute, reading.value, reading.margin(level), level,
        0.0, 0, lit,
    )  # fmt: skip
    beyond = " Outside the sheet, short of the stop." if _between(reading) else ""
    return sentence(limiting_words(limiting, plan, at, display, in_stage=False)) + beyond


def _between(reading: Reading) -> bool:
    """Return whether a value lies between a sheet's two bounds."""
    from_sheet = reading.check.origin.kind == "sheet"
    return from_sheet and reading.inside_margin < 0 <= reading.stop_margin


def _stops(explained: Explained, zone: str) -> str:
    """Return where work may be left, in a sentence or two."""
    told = []
    if one := explained.last_safe:
        told.append(f"last safe to stop at {clock(one.end, zone)}, after “{one.stage.name}”")
    if one := explained.safe_again:
        told.append(f"safe again at {clock(one.end, zone)}, after “{one.stage.name}”")
    return " ".join(sentence(part) for part in told)


def _at(one: ExplainedStage | None, judgement: Judgement) -> dict[str, str | None] | None:
    zone = judgement.job.site.zone
    return {"stage": one.stage.id, "at": iso_time(one.end, zone)} if one else None


def _stage_json(one: ExplainedStage, judgement: Judgement) -> dict[str, Any]:
    return {
        "stage": one.stage.id,
        "name": one.stage.name,
        "kind": one.stage.kind,
        "begin": iso_time(one.begin, judgement.job.site.zone),
        "end": iso_time(one.end, judgement.job.site.zone),
        "no_return": one.stage.no_return,
        "safe_stop": one.stage.safe_stop,
        "checks": [_check_json(reading, judgement) for reading in one.readings],
    }


def _check_json(reading: Reading, judgement: Judgement) -> dict[str, Any]:
    check = reading.check
    return {
        "quantity": check.quantity,
        "unit": check.words.unit,
        "at": iso_time(judgement.at(reading.minute), judgement.job.site.zone),
        "value": finite(reading.value),
        "inside_min": check.inside_min,
        "inside_max": check.inside_max,
        "stop_min": check.stop_min,
        "stop_max": check.stop_max,
        "inside_margin": finite(reading.inside_margin),
        "stop_margin": finite(reading.stop_margin),
        "origin": str(check.origin),
    }

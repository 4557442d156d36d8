"""What would make it safe at the car, each thing computed, and where the job can be left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

import numpy as np

from sprayadvisor.advice.car import Standing, judged_until, moment_of
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.from_now import (
    Rest,
    chain_from,
    chances_at,
    judge_from,
    level_of,
    odds_from,
    quarters_after,
    rest_of,
)
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.model import Cover
from sprayadvisor.advice.onsite import Change, SafeStop, Step
from sprayadvisor.advice.outlook import minute_of, time_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.rest import stage_index
from sprayadvisor.advice.verdict import RANKED, Word, ranks

# Trade judgements.
LEAST_GAIN = 0.05  # smaller ones lie within what drawn members can tell
LONGEST_WAIT_MIN = 6 * 60
WET_WAIT_MIN = 30  # with the base on, where nobody said since when
WARM_TO_C, WARM_SOAK_MIN = 30.0, 8
OPEN = (Cover.OPEN_SKY, Cover.SHADE, Cover.TREES)


def safe_stop(whole: Rest, first: int) -> SafeStop | None:
    """Return the farthest place short of the base where the job can be left in safety."""
    plan = whole.plan
    bounds = plan.commitment()
    before = bounds[0] if bounds else len(plan.stages)
    if first > before:
        return None
    for index in reversed(range(first, before)):
        if plan.stages[index].safe_stop:
            part = rest_of(whole, first, index + 1)
            word, likelihood = odds_from(part)
            if word in (Word.GO, Word.CARE):
                found = judge_from(part)
                ends = int(np.median(found.play.walk.ends[-1])) if found.play else whole.now_min
                return SafeStop(plan.stages[index].name, found.at(ends), word, likelihood)
    hands = [i for i in range(first) if plan.stages[i].alongside is None]
    if hands and plan.stages[hands[-1]].safe_stop:
        return SafeStop(plan.stages[hands[-1]].name, None, Word.GO, float("nan"))
    return None


def changes(
    here: Standing,
    whole: Rest,
    found: Judgement,
    first: int,
    latest: datetime | None,
) -> tuple[Change, ...]:
    """Return what would make it better, as computed, the best first."""
    if found.word is Word.UNKNOWN:
        return ()
    tried = [*_wait(whole, first, latest), *_other_ways(here, whole)]
    better = [one for one in tried if _helps(one, found)]
    better = [replace(one, before=found.likelihood[level_of(one.word)]) for one in better]
    return tuple(
        sorted(better, key=lambda one: (RANKED.index(one.word), one.likelihood), reverse=True)
    )


def _helps(change: Change, found: Judgement) -> bool:
    """Return whether a change gives a better word, or the same one more surely."""
    if change.word not in (Word.GO, Word.CARE):
        return False
    was, is_ = RANKED.index(found.word), RANKED.index(change.word)
    gain = change.likelihood - found.likelihood[level_of(change.word)]
    return is_ > was or (is_ == was and gain >= LEAST_GAIN)


def _wait(whole: Rest, first: int, latest: datetime | None) -> Iterator[Change]:
    """Yield the first quarter hour with the best word, as far as waiting is possible."""
    rest = rest_of(whole, first, judged_until(whole.plan, first))
    until = whole.now_min + LONGEST_WAIT_MIN
    if moment_of(whole.plan, first) is Moment.BEFORE_CLEAR:
        until = whole.now_min + WET_WAIT_MIN
        if latest is not None:
            until = minute_of(whole.climate.starts_utc, latest)
    minutes = quarters_after(whole.now_min, until)
    if not minutes.size:
        return
    chances = chances_at(rest, chain_from(rest), list(map(int, minutes)))
    rank = ranks(chances, whole.thresholds)
    best = int(np.argmax(rank))
    word = RANKED[rank[best]]
    at = time_of(whole.climate.starts_utc, int(minutes[best]))
    yield Change(Step.WAIT, word, float(chances.sure[level_of(word), best]), 0.0, at=at)


def _other_ways(here: Standing, whole: Rest) -> Iterator[Change]:
    """Yield what canopy and lamp would do, where they are at hand and not in use."""
    job, kit = here.job, here.car.kit
    if kit.canopy and job.site.cover in OPEN:
        under = replace(job, site=replace(job.site, cover=Cover.CANOPY))
        stood = here.as_it_stood or whole.climate
        yield _tried(Step.CANOPY, replace(here, job=under, as_it_stood=stood))
    if not job.lamp_usable(kit):
        return
    if not whole.plan.uses_lamp and here.asked.lamp is False:
        yield _tried(Step.LAMP, replace(here, kit=kit), whole.climate)
    warm = _warming(here, whole.plan)
    if warm is not None:
        process, to_c = warm
        ids = (process.stages[_stage_at(process, here)].id, *here.car.ids)
        warmed = replace(here, kit=kit, process=process, car=replace(here.car, ids=ids))
        yield replace(_tried(Step.WARM, warmed, whole.climate), to_c=to_c)


def _tried(step: Step, here: Standing, met: Climate | None = None) -> Change:
    """Return what one other way comes to."""
    plan = here.plan()
    first = stage_index(plan, here.car.ids)
    coat = stage_index(plan, here.car.ids[1:]) if step is Step.WARM else first
    thresholds = here.car.policy.thresholds[moment_of(plan, coat)]
    whole = Rest(
        here.job, plan, met or here.climate(), here.car.policy, thresholds, 0, here.now_min
    )
    word, likelihood = odds_from(rest_of(whole, first, judged_until(plan, first)))
    return Change(step, word, likelihood, 0.0)


def _stage_at(process: Process, here: Standing) -> int:
    """Return the index of the stage put in before the one that comes next."""
    return [stage.id for stage in process.stages].index(here.car.ids[0]) - 1


def _warming(here: Standing, plan: Plan) -> tuple[Process, float] | None:
    """Return the process with the metal warmed before the coat that comes next, and to what.

    None where no coat comes next, it is warmed already, or it is warm enough.
    """
    stages = here.process.stages
    at = next((i for i, stage in enumerate(stages) if stage.id == here.car.ids[0]), None)
    if at is None or stages[at].kind != "coat":
        return None
    first = stage_index(plan, here.car.ids)
    if plan.warmed_for(first) is not None:
        return None
    sheet = here.car.sheets[stages[at].sheet or ""]
    limit = sheet.limits.get("panel_temp_c")
    to_c = min(WARM_TO_C, (limit.inside_max if limit else None) or WARM_TO_C)
    warm = Stage(
        id="warm-now",
        name="lamp on the metal",
        kind="lamp",
        warm_to_c=to_c,
        soak_min=WARM_SOAK_MIN,
    )
    process = here.process.model_copy(update={"stages": (*stages[:at], warm, *stages[at:])})
    return process, to_c

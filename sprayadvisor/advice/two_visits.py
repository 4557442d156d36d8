"""A repair in two visits: up to sanded primer on the agreed day, colour and clear on another.

Only where the whole does not fit on the agreed day. Each visit is a process of its own, compiled
and played like any other, so that what is offered has been computed and not guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.judge import Judgement, judge, judge_starts
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.policy import Policy, Thresholds
from sprayadvisor.advice.process import Process, Stage
from sprayadvisor.advice.setups import Setup
from sprayadvisor.advice.verdict import Word
from sprayadvisor.science.quantities import STEP_MIN

LATEST_DAYS = 3  # beyond them no forecast bears an offer by the hour
_DOABLE = (Word.GO, Word.CARE)
# What a second visit costs beside the rest, minutes: common practice, no source.
_LEAVE = Stage(
    id="leave-primed", name="cover the primer, photos", kind="hand", minutes=8, safe_stop=True
)
_KEY = Stage(id="key-again", name="key the primer again", kind="hand", minutes=5, needs=("dry",))


@dataclass(frozen=True, slots=True)
class Visit:
    """One of the two visits, in its best play, UTC.

    ``likelihood`` is that of its word: inside the sheets for *go*, short of their stops for *care*.
    """

    begin: datetime
    end: datetime
    word: Word
    likelihood: float


@dataclass(frozen=True, slots=True)
class TwoVisits:
    """A repair left at a safe stop and gone on with another day.

    Attributes:
        after: name of the stage after which it is left.
        first: on the agreed day.
        second: the first day after it that fits, *go* before *care*.
        rekey_after_h: hours after which the maker wants the paint below keyed again, where the
            second visit comes later than that; None where it does not, or no sheet says so.
    """

    after: str
    first: Visit
    second: Visit
    rekey_after_h: float | None = None


def split(process: Process) -> tuple[Process, Process] | None:
    """Return the two halves of a process, None where it has no safe stop between paint and paint.

    The first ends with hand work behind the last bake before the point of no return. The second
    begins as the whole does, keys and masks again, and goes on from there.
    """
    stages = process.stages
    committed = next((i for i, stage in enumerate(stages) if stage.no_return), 0)
    baked = [i for i, stage in enumerate(stages[:committed]) if stage.bakes]
    if not baked:
        return None
    at = next((i for i in range(baked[-1], committed) if _may_be_left(stages[i])), None)
    if at is None:
        return None
    arriving = stages[: next(i for i, stage in enumerate(stages) if stage.kind != "hand")]
    again = (*arriving, _KEY, *_masks_again(stages[: at + 1]))
    return (
        _part(process, "first visit", (*stages[: at + 1], _LEAVE)),
        _part(process, "second visit", (*again, *stages[at + 1 :])),
    )


def _may_be_left(stage: Stage) -> bool:
    return stage.kind == "hand" and stage.safe_stop


def _masks_again(before: Sequence[Stage]) -> tuple[Stage, ...]:
    """Return the masking that a night does not outlast, as one stage; none where none hung."""
    minutes = sum(stage.minutes or 0 for stage in before if stage.film_up or stage.alongside)
    if not any(stage.film_up for stage in before):
        return ()
    name = "mask again for paint"
    mask = Stage(
        id="mask-again", name=name, kind="hand", minutes=minutes, needs=("dry",), film_up=True
    )
    return (mask,)


def _part(process: Process, which: str, stages: tuple[Stage, ...]) -> Process:
    """Return some stages as a process of their own."""
    used = {stage.sheet for stage in stages}
    roles = {role: name for role, name in process.sheets.items() if role in used}
    return Process(id=process.id, name=f"{process.name}, {which}", sheets=roles, stages=stages)


def two_visits(
    whole: Judgement, setup: Setup, policy: Policy, thresholds: Thresholds, now: datetime
) -> TwoVisits | None:
    """Return how a job that does not fit could be done in two visits, None where that fails too.

    Args:
        whole: the judgement on the job as booked.
        setup: how it is done as booked.
        policy: working hours and the rule of rain.
        thresholds: how sure is sure enough.
        now: aware.
    """
    halves = split(setup.process)
    met = whole.climate
    if whole.word is not Word.NO_GO or met is None or halves is None or not whole.job.may_move:
        return None
    early, late = (_as_setup(setup, half) for half in halves)
    first = judge(whole.job, early.plan(policy), met, policy, thresholds, now)
    second = _on_a_later_day(late, met, policy, thresholds) if first.word in _DOABLE else None
    if second is None:
        return None
    visits = _visit(first), _visit(second)
    return TwoVisits(early.process.stages[-2].name, *visits, _rekey_h(setup, early, *visits))


def _as_setup(setup: Setup, half: Process) -> Setup:
    return replace(setup, process=half, sheets={role: setup.sheets[role] for role in half.sheets})


def _on_a_later_day(
    setup: Setup, met: Climate, policy: Policy, thresholds: Thresholds
) -> Judgement | None:
    """Return the judgement on the first day that is *go*, else on the first that is *care*."""
    plan, workable = setup.plan(policy), None
    for days in range(1, LATEST_DAYS + 1):
        job = replace(setup.job, day=setup.job.day + timedelta(days=days))
        steps = np.arange(
            *(
                minute_of(met.starts_utc, local_time(job.day, clock, job.site.zone)) // STEP_MIN
                for clock in (policy.work_from, policy.work_to)
            )
        )
        steps = steps[(steps >= 0) & (steps < len(met.starts_utc))]
        if not steps.size:
            break
        there = replace(job, car_there_from=None, back_by=None)
        found = judge_starts(there, plan, met, policy, thresholds, steps, steps)
        if found.word is Word.GO:
            return found
        workable = workable or (found if found.word is Word.CARE else None)
    return workable


def _visit(found: Judgement) -> Visit:
    play = found.play
    assert play is not None  # noqa: S101 - a go or a care was played
    level = 0 if found.word is Word.GO else 1
    begin, end = play.start * STEP_MIN, int(play.walk.ends[:, play.row].max())
    return Visit(found.at(begin), found.at(end), found.word, found.likelihood[level])


def _rekey_h(setup: Setup, early: Setup, first: Visit, second: Visit) -> float | None:
    """Return after how many hours paint must be keyed again, where the second visit is later."""
    role = [stage.sheet for stage in early.process.stages if stage.kind == "coat"][-1]
    recoat = setup.sheets[role or ""].recoat
    if recoat is None:
        return None
    late = second.begin - first.end > timedelta(hours=recoat.rekey_after_h)
    return recoat.rekey_after_h if late else None

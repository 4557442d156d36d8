"""A job under way: what is left of it, from the stage the painter said he begins.

    plan, noted stage, its time ─ played without checks ─ where he is by now ─┐
    climate ─────────────────────────────────────────────── the rest, judged ◂┘

He is where he said he is, or as much further on as the plan goes by itself; but never past the
first coat of another product, which he would have noted: it is the next thing to do. A coat that
must follow at once, such as the edge blended into wet clear, leaves no hand free to note it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from sprayadvisor.advice.at_the_car import INDOORS
from sprayadvisor.advice.caps import LATE
from sprayadvisor.advice.car import judged_until, moment_of
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.from_now import Rest, chain_from, judge_from, past_as_now
from sprayadvisor.advice.judge import Judgement, chain_of
from sprayadvisor.advice.model import Cover, Job
from sprayadvisor.advice.must_begin import must_begin_by
from sprayadvisor.advice.outlook import minute_of, time_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.rest import Place, part_of, stage_index
from sprayadvisor.advice.said import CAN, Report
from sprayadvisor.advice.verdict import Word
from sprayadvisor.science.quantities import STEP_MIN

ALL_DONE = "by what was noted nothing of the work is left to judge"
AT_ONCE_MIN = 5.0  # trade judgement: gloves on and gun in hand
UNREAD = "nothing was read at the panel for the coats that are still to come"


@dataclass(frozen=True, slots=True)
class UnderWay:
    """Where a job is.

    Attributes:
        noted: name of the stage that was noted.
        noted_at: when, UTC.
        stage: name of the stage he is in by now, or that is due.
        since: when it began by the plan; now for a coat that is due and was not noted; UTC.
        due: whether it is such a coat.
        by: when that must have begun, UTC; None where nothing binds it.
    """

    noted: str
    noted_at: datetime
    stage: str
    since: datetime
    due: bool
    by: datetime | None = None


def go_on(
    job: Job, plan: Plan, climate: Climate, report: Report, policy: Policy, now: datetime
) -> tuple[Judgement, UnderWay | None]:
    """Return the judgement on the rest of a job, and where it is; None where there is no rest.

    What is wet must come through; what comes after the bake is shown with it where it fits too.

    Args:
        job: the booking.
        plan: the whole plan.
        climate: one case for each panel of the job, in their order.
        report: the stage that was noted, and when.
        policy: the user's bounds.
        now: aware, UTC.
    """
    if job.site.cover is Cover.INDOORS and any(s.two_pack for s in plan.sheets.values()):
        return Judgement(job, Word.NOT_JUDGED, INDOORS, plan=plan), None
    first = stage_index(plan, report.ids)
    if first == len(plan.stages):
        return Judgement(job, Word.UNKNOWN, ALL_DONE, plan=plan, climate=climate), None
    host = plan.stages[first].alongside
    first = first if host is None else host
    place = _place(job, plan, climate, Place(first, min(report.at, now)), policy, now)
    stop = judged_until(plan, place.stage)
    found = _judged(job, plan, climate, place, policy, now, stop)
    if found.word in CAN and stop < len(plan.stages):
        whole = _judged(job, plan, climate, place, policy, now, len(plan.stages))
        found = whole if whole.word is found.word else found
    due = place.stage != first and place.since == now and plan.stages[place.stage].kind == "coat"
    by = must_begin_by(plan, place.stage, noted=first, noted_at=report.at) if due else None
    if by is not None and by < now:
        found = replace(found, word=Word.NO_GO, why=LATE)
    here = UnderWay(
        noted=plan.stages[first].name,
        noted_at=report.at,
        stage=plan.stages[place.stage].name,
        since=place.since,
        due=due,
        by=by,
    )
    return found, here


def _place(
    job: Job, plan: Plan, climate: Climate, noted: Place, policy: Policy, now: datetime
) -> Place:
    """Return where he is by now, in the middle of the members, whatever the checks say."""
    whole = part_of(plan, noted.stage, len(plan.stages))
    bare = replace(whole, spans=(), deadlines=())
    begin, now_min = (minute_of(climate.starts_utc, at) for at in (noted.since, now))
    chain = chain_of(job, bare, climate, policy, np.array([begin // STEP_MIN]))
    walk = chain.walk_at(begin, Level.STOP)
    begins, ends = (np.median(each, axis=1) for each in (walk.begins, walk.ends))
    role = bare.stages[0].role
    hands = [i for i, stage in enumerate(bare.stages) if stage.alongside is None]
    for i in hands:
        stage = bare.stages[i]
        if i and stage.kind == "coat" and stage.role != role and not _at_once(whole, i):
            return Place(noted.stage + i, now)
        role = stage.role if stage.kind == "coat" else role
        # A clock that has no end counts as one that is not over.
        if not 0 <= ends[i] <= now_min:
            since = time_of(climate.starts_utc, begins[i]) if begins[i] >= 0 else now
            return Place(noted.stage + i, noted.since if not i else min(since, now))
    return Place(noted.stage + hands[-1], now)


def _at_once(plan: Plan, stage: int) -> bool:
    """Return whether a stage must follow the one before so soon that nobody notes it."""
    return any(one.minutes <= AT_ONCE_MIN for one in plan.deadlines_of(stage))


def _judged(
    job: Job, plan: Plan, climate: Climate, place: Place, policy: Policy, now: datetime, stop: int
) -> Judgement:
    """Return the judgement on the stages from a place up to but not including ``stop``.

    What the lamp has given counts as planned: unlike at the car, nothing was read here.
    """
    begin, now_min = (minute_of(climate.starts_utc, at) for at in (place.since, now))
    left = part_of(plan, place.stage, stop)
    # Who stands at the car decides himself how long he works.
    spans = tuple(span for span in left.spans if span.check.quantity != "off_hours")
    bounds = plan.commitment()
    # What is open stays so: from here there is no way back either.
    shut_in = bounds is not None and bounds[0] <= place.stage <= bounds[1]
    running = left.stages[0]
    running = replace(
        running,
        least_min=max(now_min - begin, 0),
        no_return=running.no_return or shut_in,
    )
    left = replace(left, spans=spans, stages=(running, *left.stages[1:]))
    moment = moment_of(plan, place.stage)
    as_now = past_as_now(climate, begin // STEP_MIN, now_min // STEP_MIN)
    rest = Rest(job, left, as_now, policy, policy.thresholds[moment], begin, now_min)
    found, _ = judge_from(rest, chain_from(rest))
    sprays = any(stage.kind == "coat" for stage in left.stages[1:])
    if found.word is Word.GO and moment is Moment.BEFORE_CLEAR and sprays:
        return replace(found, word=Word.CARE, reserved=(UNREAD,))
    return found

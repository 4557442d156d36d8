"""What to do once the base is on: cover, lay the clear, or wait for the lamp. Nothing else helps.

rest fits ─── the clear would not fit half an hour later ──→ lay the clear now
rest spoilt ─ by rain ─────────────────────────────────────→ cover now
            ─ by cold or damp before the clear ─────────────→ wait for the lamp: warm it first
            ─ by wind at the lamp ──────────────────────────→ wait for the lamp: let it drop
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment, Policy
from sprayadvisor.advice.rest import Place, StageTime, compiled_ids, judge_rest, shifted
from sprayadvisor.advice.said import CAN, Kind, Report, Said, cause_of, heard
from sprayadvisor.advice.verdict import Word

# Trade judgements.
CLOSING = timedelta(minutes=30)  # the clear must go on now if it would not do so much later
SOON = timedelta(minutes=15)  # a flash with less to go is as good as over


def order(
    job: Job,
    plan: Plan,
    climate: Climate,
    place: Place,
    times: tuple[StageTime, ...],
    policy: Policy,
    now: datetime,
) -> tuple[Kind, Judgement] | None:
    """Return what must be done now that the base is on, and what it rests on; None if nothing.

    Args:
        job: the booking.
        plan: the whole plan.
        climate: one case for each panel of the job, in their order.
        place: where the painter is, between the point of no return and the end of the bake.
        times: when each stage is done, as far as that is known.
        policy: the user's bounds.
        now: aware, UTC.
    """

    def judged(begin: Place, at: datetime) -> Judgement:
        stop = _commitment_ends(plan)
        sure = policy.thresholds[Moment.BEFORE_CLEAR]
        return judge_rest(job, plan, begin, climate, policy, sure, at, stop=stop)

    clear = _clear_to_lay(plan, place, times, now)
    rest = judged(place if clear is None else Place(clear, now), now)
    kind = _against(rest, before_clear=place.stage <= _clear_stage(plan))
    if kind is None and clear is not None and rest.word in CAN:
        later = judged(Place(clear, now + CLOSING), now + CLOSING)
        kind = Kind.CLEAR if later.word is Word.NO_GO else None
    return None if kind is None else (kind, rest)


def is_on(said: Said | None, report: Report | None, now: datetime) -> bool:
    """Return whether the base is on and the bake not over, by the plan that was told.

    Args:
        said: the last thing said of the job.
        report: where the painter said he is; it moves the plan's times. Who said so without a plan
            is taken to have the base on.
        now: aware.
    """
    times, newer = heard(said, report)
    if newer is not None:
        known = {time.id for time in times}
        at = next((one for name in newer.ids for one in compiled_ids(name) if one in known), "")
        times = shifted(times, at, newer.at)
        if not times:
            return True
    opening = next((index for index, time in enumerate(times) if time.no_return), None)
    if opening is None:
        return False
    wet = [time for time in times[opening:] if time.kind in ("coat", "flash", "lamp")]
    return times[opening].begin <= now < wet[-1].end


def _commitment_ends(plan: Plan) -> int:
    """Return the stage before which the commitment ends."""
    bounds = plan.commitment()
    return len(plan.stages) if bounds is None else bounds[1] + 1


def _clear_stage(plan: Plan) -> int:
    """Return the first coat of another product after the point of no return: the clear.

    -1 where there is none: then no stage comes before it.
    """
    bounds = plan.commitment() or (0, -1)
    coats = [i for i in range(bounds[0], bounds[1] + 1) if plan.stages[i].kind == "coat"]
    return next((i for i in coats if plan.stages[i].role != plan.stages[bounds[0]].role), -1)


def _clear_to_lay(
    plan: Plan, place: Place, times: tuple[StageTime, ...], now: datetime
) -> int | None:
    """Return the clear's stage if nothing is ahead of it but a flash that is as good as over."""
    clear = _clear_stage(plan)
    if place.stage > clear or any(s.kind == "coat" for s in plan.stages[place.stage : clear]):
        return None
    begins = next((time.begin for time in times if time.id == plan.stages[clear].id), now)
    return clear if begins - now <= SOON else None


def _against(rest: Judgement, *, before_clear: bool) -> Kind | None:
    """Return what helps against what spoils the rest, None if nothing spoils it or helps."""
    plan, limiting = rest.plan, rest.limiting
    if rest.word is not Word.NO_GO or plan is None or limiting is None:
        return None
    cause = cause_of(limiting)
    if cause == "rain":
        return Kind.COVER
    if cause == "cold or damp" and before_clear and plan.uses_lamp:
        return Kind.LAMP
    # Too much wind while the last coat flashes is too much for a lamp stand.
    at_lamp = plan.uses_lamp and plan.stages[limiting.stage].kind in ("flash", "lamp")
    return Kind.LAMP if cause == "wind" and at_lamp else None

"""What changed since the last thing said of a job, and whether the painter must act on it.

    not begun yet ───────── the arrival window judged anew ──┐
    begun, base not on ──── what is left judged from here ───┴─ worse, better, another cause
    base on ─────────────── until the end of the bake ───────── cover, lay the clear, wait for lamp
    baked, or over ──────── nothing

A word counts as crossed once its likelihood has moved past the threshold by a margin. Waiting for
the same word twice would cost an hour, which is more than the notice is ahead of the coat; and the
margin needs no memory of looks that said nothing. A cause has no threshold of its own: a new one
counts once it alone spoils so large a share that the old one cannot do so at the same time.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from sprayadvisor.advice.base_on import order
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment, Policy, Thresholds
from sprayadvisor.advice.rest import (
    Place,
    StageTime,
    committed,
    judge_rest,
    place_in,
    shifted,
    stage_index,
    stage_times,
)
from sprayadvisor.advice.said import CAN, Kind, Notice, Report, Said, cause_of, heard
from sprayadvisor.advice.verdict import Word

# Trade judgements.
MARGIN = 0.10  # three members of 32: a new run of the same weather moves no more
CAUSE_SHARE = 0.60  # two causes with this share in turn: a fifth of the members changed sides
LEAD = timedelta(minutes=45)  # nearer to the coat the hands are in gloves
NOTICES_A_DAY = 2

_WORSE = {
    (Word.GO, Word.CARE),
    (Word.GO, Word.NO_GO),
    (Word.GO, Word.UNKNOWN),
    (Word.CARE, Word.NO_GO),
    (Word.CARE, Word.UNKNOWN),
    (Word.UNKNOWN, Word.NO_GO),
}
_BETTER = {(was, word) for was in (Word.NO_GO, Word.UNKNOWN) for word in CAN}


def notice(
    found: Judgement,
    said: Said | None,
    report: Report | None,
    policy: Policy,
    moment: Moment,
    now: datetime,
) -> Notice | None:
    """Return what the painter must be told of a job now, None if nothing.

    Args:
        found: the job judged anew, with its plan and climate as far as there are any.
        said: the last thing said of it.
        report: where the painter said he is.
        policy: the user's bounds.
        moment: which thresholds count as long as the base is not on.
        now: aware, UTC.
    """
    thresholds = policy.thresholds[moment]
    plan, climate = found.plan, found.climate
    times, newer = heard(said, report)
    if plan is None or climate is None:
        at_work = report is not None or any(t.no_return and t.begin <= now for t in times)
        return None if at_work else _change(found, said, times, thresholds, now)
    place, times = _place(plan, times, newer, now)
    if place is None:
        # Without a play the arrival window is past, and nobody came.
        return _change(found, said, times, thresholds, now) if found.play else None
    if committed(plan, place):
        ordered = order(found.job, plan, climate, place, times, policy, now)
        if ordered is None or (said is not None and said.kind == ordered[0]):
            return None
        return Notice(*ordered, said, now, times)
    if place.stage == len(plan.stages) or _baked(plan, place):
        return None
    rest = judge_rest(found.job, plan, place, climate, policy, thresholds, now)
    return _change(rest, said, times, thresholds, now)


def _place(
    plan: Plan, times: tuple[StageTime, ...], report: Report | None, now: datetime
) -> tuple[Place | None, tuple[StageTime, ...]]:
    """Return where the painter is, and the plan's times moved to what he said.

    ``report`` is None where he said nothing, or where the plan was told since.
    """
    if report is None:
        return place_in(plan, times, now), times
    at = Place(stage_index(plan, report.ids), report.at)
    if at.stage == len(plan.stages):
        return at, ()
    moved = shifted(times, plan.stages[at.stage].id, report.at)
    by_plan = place_in(plan, moved, now)
    # He is where he says he is, or further on.
    return by_plan if by_plan and by_plan.stage >= at.stage else at, moved


def _baked(plan: Plan, place: Place) -> bool:
    bounds = plan.commitment()
    return bounds is not None and place.stage > bounds[1]


def _change(
    found: Judgement,
    said: Said | None,
    times: tuple[StageTime, ...],
    thresholds: Thresholds,
    now: datetime,
) -> Notice | None:
    """Return a change of verdict or cause, if it matters and comes in time."""
    kind = crossing(said, found, thresholds)
    if kind is None:
        return None
    ahead = stage_times(found)
    coat = coat_ahead(times, now) if kind is not Kind.BETTER else None
    coat = coat or coat_ahead(ahead, now) or _arrival_ends(found)
    if coat - now < LEAD:
        return None
    return Notice(kind, found, said, now, ahead or times)


def crossing(said: Said | None, found: Judgement, thresholds: Thresholds) -> Kind | None:
    """Return in which way a judgement differs from what was said, None if in none that matters.

    Of a job that nothing was said of, only a no-go matters: it was booked to be done.
    """
    word = found.word
    if said is None:
        return Kind.WORSE if word is Word.NO_GO else None
    if said.word is Word.CARE and word is Word.CARE:
        return Kind.CAUSE if _another_cause(said, found.limiting) else None
    if _still_holds(said.word, found.likelihood, thresholds):
        return None
    if (said.word, word) in _WORSE:
        return Kind.WORSE
    return Kind.BETTER if (said.word, word) in _BETTER else None


def _another_cause(said: Said, limiting: Limiting | None) -> bool:
    if limiting is None or limiting.share < CAUSE_SHARE:
        return False
    return cause_of(limiting) != said.cause


def _still_holds(word: Word, likelihood: tuple[float, float], thresholds: Thresholds) -> bool:
    """Return whether a word can stand, given a margin; nothing can without a likelihood."""
    inside, stop = likelihood
    if word is Word.GO:
        return inside > thresholds.go - min(MARGIN, thresholds.go / 2)
    if word is Word.CARE:
        return stop > thresholds.care - min(MARGIN, thresholds.care / 2)
    return word is Word.NO_GO and stop < thresholds.care + min(MARGIN, (1 - thresholds.care) / 2)


def coat_ahead(times: Sequence[StageTime], now: datetime) -> datetime | None:
    """Return when the coat begins that a notice must come well ahead of.

    That is the coat without return: up to there the job can be left. Where none is ahead it is the
    next coat that is not on yet; None where there is none of that either.
    """
    coats = [time for time in times if time.kind == "coat" and time.begin >= now]
    opening = [time for time in coats if time.no_return]
    return min((time.begin for time in opening or coats), default=None)


def _arrival_ends(found: Judgement) -> datetime:
    return local_time(found.job.day, found.job.arrive_to, found.job.site.zone)

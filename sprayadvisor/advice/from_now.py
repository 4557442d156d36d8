"""What is left of a job, played forward from this very minute, and what threatens it.

    plan, stage, minute ─ the rest ─ tables ─ chain ─┬─ word, odds, limiting check, margins
                                                     ├─ when the last coat is dust-free
                                                     └─ what breaks a bound next

Stages before this minute are not judged again; a flash-off already running counts on.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from sprayadvisor.advice.best import BestPlay, limiting, read_walk
from sprayadvisor.advice.chain import Chain, Walk
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.judge import Judgement, chain_of, deciding_level
from sprayadvisor.advice.model import Job
from sprayadvisor.advice.onsite import Margin
from sprayadvisor.advice.onsite_facts import DustFree, FlashOff
from sprayadvisor.advice.outlook import Floats, time_of
from sprayadvisor.advice.plan import Plan, Warmth
from sprayadvisor.advice.play import FIT
from sprayadvisor.advice.policy import Policy, Thresholds
from sprayadvisor.advice.rest import part_of
from sprayadvisor.advice.tables import Ints
from sprayadvisor.advice.verdict import (
    RANKED,
    Likelihoods,
    Word,
    likelihoods,
    most_of,
    ranks,
    worst_panel,
)
from sprayadvisor.science.quantities import STEP_MIN

SLOW_SHARE = 0.9


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left of a plan, in the climate at the car.

    Attributes:
        job: the booking.
        plan: the stages that are left.
        climate: one case for each panel of the job, in their order.
        policy: the user's bounds.
        thresholds: how sure is sure enough.
        begin_min: when the first of these stages began or begins, minutes of the grid.
        now_min: this minute of the grid; nothing before it is judged.
    """

    job: Job
    plan: Plan
    climate: Climate
    policy: Policy
    thresholds: Thresholds
    begin_min: int
    now_min: int

    @property
    def most(self) -> Word:
        """The best word there can be."""
        return most_of(self.plan.reservations)

    def at(self, minute: float) -> datetime:
        """Return the UTC time of a minute of the grid."""
        return time_of(self.climate.starts_utc, minute)


def rest_of(rest: Rest, first: int, stop: int, *, flashes_since: int | None = None) -> Rest:
    """Return stages ``first`` up to but not including ``stop`` of a rest's plan.

    Args:
        rest: with the whole plan.
        first: the stage that comes next.
        stop: the stage before which what is judged ends.
        flashes_since: the minute since which ``first``, a flash-off, counts; it ends no sooner
            than now.
    """
    plan = _as_it_is(part_of(rest.plan, first, stop))
    # Who stands at the car decides himself how long he works.
    spans = tuple(span for span in plan.spans if span.check.quantity != "off_hours")
    plan = replace(plan, spans=spans)
    if flashes_since is None:
        return replace(rest, plan=plan, begin_min=rest.now_min)
    least = replace(plan.stages[0], least_min=max(rest.now_min - flashes_since, 0))
    plan = replace(plan, stages=(least, *plan.stages[1:]))
    as_now = past_as_now(rest.climate, flashes_since // STEP_MIN, rest.now_min // STEP_MIN)
    return replace(rest, plan=plan, climate=as_now, begin_min=flashes_since)


def _as_it_is(plan: Plan) -> Plan:
    """Return a plan that counts on no warmth but what is read, or is still to be given.

    Whether the lamp was on before is not known here, and what it left is in the reading.
    """
    ahead = {stage.id for stage in plan.stages}
    kept = tuple(warmth for warmth in plan.warmths if warmth.stage in ahead)
    gone = _arrays(plan.warmths) - _arrays(kept)
    spans = tuple(
        replace(span, check=replace(span.check, array="")) if span.check.array in gone else span
        for span in plan.spans
    )
    stages = tuple(
        replace(stage, clock=replace(stage.clock, panel="panel_temp_c"))
        if stage.clock is not None and stage.clock.panel in gone
        else stage
        for stage in plan.stages
    )
    return replace(plan, stages=stages, spans=spans, warmths=kept)


def _arrays(warmths: Iterable[Warmth]) -> set[str]:
    """Return the names of the arrays that hold what a lamp has left."""
    return {name for one in warmths for name in (one.panel, one.hottest, one.dew_margin)}


def past_as_now(climate: Climate, first: int, now: int) -> Climate:
    """Return a climate in which the steps from ``first`` to ``now`` were as it is now."""
    if first >= now:
        return climate
    values = {name: array.copy() for name, array in climate.values.items()}
    for array in values.values():
        array[:, first:now] = array[:, now : now + 1]
    return replace(climate, values=values)


def chain_from(rest: Rest) -> Chain:
    """Return the chain that plays a rest."""
    steps = np.array([rest.begin_min // STEP_MIN])
    return chain_of(rest.job, rest.plan, rest.climate, rest.policy, steps)


def chances_at(rest: Rest, chain: Chain, minutes: Ints) -> Likelihoods:
    """Return how likely a rest fits when begun at each of (start,) minutes."""
    status = chain.status_at(minutes)
    return likelihoods(worst_panel(status, rest.climate.n_cases))


def judge_from(rest: Rest, chain: Chain) -> tuple[Judgement, BestPlay]:
    """Return the judgement on a rest, gone on with at once, and the play shown of it."""
    climate = rest.climate
    chances = chances_at(rest, chain, np.array([rest.begin_min]))
    word = RANKED[ranks(chances, rest.thresholds, most=rest.most)[0]]
    by_weather = RANKED[ranks(chances, rest.thresholds)[0]]
    level = deciding_level(by_weather, chances, 0, rest.thresholds)
    shown = Level.INSIDE if by_weather is Word.GO else Level.STOP
    step = rest.begin_min // STEP_MIN
    plays = {
        each: read_walk(chain, chain.walk_at(rest.begin_min, each), step, each, climate)
        for each in {level, shown}
    }
    decides = None
    if plays[level].readings or not (plays[level].walk.status == FIT).all():
        decides = limiting(plays[level], chain.tables, by_weather, climate)
        decides = replace(decides, minute=max(decides.minute, rest.now_min))
    found = Judgement(
        rest.job,
        word,
        likelihood=(float(chances.sure[0, 0]), float(chances.sure[1, 0])),
        limiting=decides,
        play=plays[shown],
        plan=rest.plan,
        climate=climate,
        reserved=rest.plan.reservations if by_weather is not word else (),
    )
    return found, plays[shown]


def odds_from(rest: Rest) -> tuple[Word, float]:
    """Return the word on a rest and the likelihood that goes with it."""
    chances = chances_at(rest, chain_from(rest), np.array([rest.begin_min]))
    word = RANKED[ranks(chances, rest.thresholds, most=rest.most)[0]]
    return word, float(chances.sure[level_of(word), 0])


def level_of(word: Word) -> Level:
    """Return the level whose likelihood is told with a word."""
    return Level.INSIDE if word is Word.GO else Level.STOP


def margins(rest: Rest, play: BestPlay) -> tuple[Margin, ...]:
    """Return how each quantity stands at its worst in a play, the tightest first.

    Margins are told against the inside bounds; where one check of a quantity is tighter than
    another, that one speaks for it.
    """
    found: dict[str, Margin] = {}
    for reading in sorted(play.readings, key=lambda one: one.scaled(Level.INSIDE)):
        margin = Margin(
            reading.check,
            reading.value,
            reading.inside_margin,
            reading.stop_margin,
            rest.at(max(reading.minute, rest.now_min)),
            rest.plan.stages[reading.stage].name,
        )
        found.setdefault(reading.check.quantity, margin)
    return tuple(found.values())


def dust_free(rest: Rest, play: BestPlay) -> DustFree | None:
    """Return when nothing sticks to the last wet coat any more; None where none is ahead.

    Members that never get there count as the slowest; None as well where the middle one does not.
    """
    dries, climate = _dry_stage(rest.plan), rest.climate
    if dries is None:
        return None
    ends = _ends(play.walk, dries).reshape(climate.n_cases, climate.n_members).max(axis=0)
    middle, slow = (float(np.quantile(ends, q, method="higher")) for q in (0.5, SLOW_SHARE))
    if not np.isfinite(middle):
        return None
    by_lamp = rest.plan.stages[dries].kind == "lamp"
    return DustFree(middle - rest.now_min, slow - rest.now_min, rest.at(middle), by_lamp)


def flash_off(rest: Rest, play: BestPlay) -> FlashOff | None:
    """Return how long the flash-off takes with which a rest begins; None where it is no clock."""
    clock = rest.plan.stages[0].clock
    ends = float(np.quantile(_ends(play.walk, 0), 0.5, method="higher"))
    if clock is None:
        return None
    if not np.isfinite(ends):
        return FlashOff(clock.need_min, float("nan"), None)
    return FlashOff(clock.need_min, ends - rest.begin_min, rest.at(ends))


def _dry_stage(plan: Plan) -> int | None:
    """Return the stage at whose end the last wet coat is dust-free, or baked."""
    coats = [i for i, stage in enumerate(plan.stages) if stage.kind == "coat"]
    after = coats[-1] if coats else 0
    return next(
        (
            i
            for i, stage in enumerate(plan.stages)
            if i >= after and (stage.kind == "lamp" or stage.dust_free)
        ),
        None,
    )


def _ends(walk: Walk, stage: int) -> Floats:
    """Return (row,) when a stage ends, infinite where it is not reached or not over."""
    over = (walk.ends[stage] >= 0) & ((walk.status == FIT) | (walk.stage > stage))
    return np.where(over, walk.ends[stage].astype(np.float64), np.inf)


def quarters_after(minute: int, until: int) -> Ints:
    """Return the quarter hours of the grid after a minute, up to and with another."""
    first = minute // STEP_MIN + 1
    return np.arange(first, until // STEP_MIN + 1, dtype=np.int64) * STEP_MIN

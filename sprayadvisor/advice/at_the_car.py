"""The answer at the car: may the next stage begin now, and if not, what then.

    car, asked ─ plain climate ─ doubts? ──→ questions, nothing judged
                       │ none
                       └ drawn to the reading ─ the rest, from now ─┬─ word, odds, margins, danger
                                                                    ├─ what would make it safe
                                                                    └─ where it can be left

Only what remains is judged, and of that only what is wet: what is on is on, and polishing can wait.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from types import MappingProxyType

import numpy as np

from sprayadvisor.advice.as_read import as_read, stage_now
from sprayadvisor.advice.best import BestPlay
from sprayadvisor.advice.caps import cap_of
from sprayadvisor.advice.car import Car, Standing, judged_until, moment_of
from sprayadvisor.advice.climate import Scene, climates
from sprayadvisor.advice.dangers import danger
from sprayadvisor.advice.doubts import METRIC, doubts, impossible, model_at
from sprayadvisor.advice.from_now import (
    Rest,
    chain_from,
    dust_free,
    flash_off,
    judge_from,
    level_of,
    margins,
    rest_of,
)
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.model import Cover
from sprayadvisor.advice.must_begin import must_begin_by
from sprayadvisor.advice.onsite import (
    QUANTITIES,
    Asked,
    Conditions,
    Felt,
    OnSiteAnswer,
    Reading,
    felt,
)
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.plan import Plan
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.pull import drawn_to, with_panel
from sprayadvisor.advice.rest import lamp_goal_c, stage_index
from sprayadvisor.advice.setups import Setup
from sprayadvisor.advice.verdict import Word
from sprayadvisor.advice.way_out import safe_stop, ways_out
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.quantities import STEP_MIN
from sprayadvisor.units import Display

BEFORE_H, AFTER_H = 24.0, 60.0
READ_AT_MOST_AGO = timedelta(minutes=15)  # a panel follows the sun in minutes: trade judgement
ASKING = "some readings need a second look"
INDOORS = "two-pack indoors needs extraction and air-fed breathing; weather is not the question"


def answer(car: Car, asked: Asked, now: datetime, shown: Display = METRIC) -> OnSiteAnswer:
    """Return the answer at the car.

    Args:
        car: job, weather, and which stage comes next.
        asked: what was measured and said.
        now: aware, UTC.
        shown: the units in which a reading is questioned.
    """
    setup = _as_asked(car.setup, asked)
    job = setup.job
    bare = OnSiteAnswer(job, asked, now, Word.UNKNOWN, felt=felt(asked.mist_s, asked.stripe_min))
    if job.site.cover is Cover.INDOORS and any(s.two_pack for s in setup.sheets.values()):
        return replace(bare, word=Word.NOT_JUDGED, why=INDOORS)
    if never := impossible(asked, now, shown):
        return replace(bare, doubts=never, why=ASKING)
    members = _around(car.members, now)
    now_min = minute_of(members.starts_utc, now)
    booked = car.setup.cases(members.starts_utc, now_min)
    under = setup.cases(members.starts_utc, now_min)
    drawn = drawn_to(members, asked.reading, job.site)
    scenes = [(members, booked), (drawn, booked), (drawn, under)]
    plain, stood, met = climates([Scene(who, cases, car.air_quality) for who, cases in scenes])
    n_panels, plan = len(job.panels), setup.plan(car.policy)
    expected = model_at(plain, asked.reading, n_panels)
    goal_c = lamp_goal_c(plan, stage_index(plan, car.ids))
    asking = doubts(asked, expected, now, lamp_goal_c=goal_c, shown=shown)
    if asking:
        return replace(bare, doubts=asking, why=ASKING)
    if not _under_the_lamp(plan, stage_index(plan, car.ids)):
        met = with_panel(met, asked.reading, stood, now, n_panels)
    return _judged(Standing(car, asked, now, setup, drawn, met), plan, bare)


def _under_the_lamp(plan: Plan, first: int) -> bool:
    """Return whether the stage at hand bakes or cools: what is read then is the lamp's doing.

    It says nothing of what the panel is in the weather, from which it heats up and to which it
    cools.
    """
    return first < len(plan.stages) and plan.stages[first].kind in ("lamp", "cool")


def _as_asked(setup: Setup, asked: Asked) -> Setup:
    """Return the setup under the shelter and with the lamp that were said."""
    job, kit = setup.job, setup.kit
    if asked.shelter is not None:
        job = replace(job, site=replace(job.site, cover=asked.shelter))
    if asked.all_clear:
        job = replace(job, site=replace(job.site, downwind=MappingProxyType({})))
    return replace(setup, job=job, kit=replace(kit, lamp_kw=0.0) if asked.lamp is False else kit)


def _around(members: Members, now: datetime) -> Members:
    """Return the members as far as they matter: a panel forgets a day, work ends in one."""
    minute = minute_of(members.starts_utc, now)
    first = max((minute - round(BEFORE_H * 60)) // STEP_MIN, 0)
    return members.between(first, (minute + round(AFTER_H * 60)) // STEP_MIN)


def _judged(here: Standing, plan: Plan, bare: OnSiteAnswer) -> OnSiteAnswer:
    """Return the answer once the readings may be used."""
    policy = here.car.policy
    first = stage_index(plan, here.car.ids)
    if first == len(plan.stages):
        return replace(bare, why="nothing of this stage is left in the plan for this job")
    stop, moment = judged_until(plan, first), moment_of(plan, first)
    thresholds = policy.thresholds[moment]
    whole = Rest(here.setup.job, plan, here.climate, policy, thresholds, 0, here.now_min)
    flash, since = _flash(here, plan, first)
    rest = rest_of(whole, first if flash is None else flash, stop, flashes_since=since)
    chain = chain_from(rest)
    found, play = judge_from(rest, chain)
    latest = _latest(here, plan, first)
    cap = cap_of(
        late=_is_late(rest, play, plan.stages[first].id, latest),
        felt=bare.felt,
        unread=moment is Moment.BEFORE_CLEAR and _sprays_unread(here, rest.plan, bare.felt),
    )
    word, why = cap.on(found.word)
    meets = _conditions(here, found)
    read = as_read(plan, first, here.asked.reading, meets.panel_temp_c)
    told = replace(
        bare,
        word=word,
        why=why,
        moment=moment,
        likelihood=float("nan") if why else found.likelihood[level_of(word)],
        stage=plan.stages[first].id,
        stage_name=plan.stages[first].name,
        until=plan.stages[stop - 1].name,
        filled=tuple(q for q in QUANTITIES if getattr(here.asked.reading, q) is None),
        conditions=meets,
        as_read=read if _is_fresh(here) else None,
        stage_now=stage_now(rest, play, here.setup.job, here.asked.reading),
        margins=margins(rest, play),
        dust_free=dust_free(rest, play),
        danger=danger(rest, chain, play),
        flash_off=None if since is None else flash_off(rest, play),
        latest=latest,
        judgement=found,
    )
    if word is Word.GO:
        return told
    ready = replace(whole, now_min=max(_begins(rest, play, told.stage), here.now_min))
    ways = () if why else ways_out(here, ready, found, first, latest)
    allowed = tuple(way for way in ways if cap.allows(way.word))
    left = safe_stop(ready, first, go_on=cap.most is not Word.NO_GO)
    return _as_far_as(replace(told, ways=allowed, safe_stop=left))


def _as_far_as(told: OnSiteAnswer) -> OnSiteAnswer:
    """Return the answer about the next stage where only what follows a safe stop does not fit.

    Primer is no mistake because the base must wait for another day.
    """
    stop = told.safe_stop
    if told.word is not Word.NO_GO or stop is None or stop.at is None:
        return told
    return replace(
        told, word=Word.CARE, likelihood=stop.likelihood, only_as_far=True, until=stop.stage
    )


def _sprays_unread(here: Standing, left: Plan, said: Felt) -> bool:
    """Return whether a coat would go on with nothing known of the panel but the forecast."""
    sprays = any(stage.kind == "coat" for stage in left.stages)
    known = here.asked.reading.panel_temp_c is not None or said is Felt.FINE
    return sprays and not (known and _is_fresh(here))


def _is_fresh(here: Standing) -> bool:
    """Return whether readings are so new that things still are what was read."""
    return here.now - here.asked.reading.taken_at <= READ_AT_MOST_AGO


def _flash(here: Standing, plan: Plan, first: int) -> tuple[int | None, int | None]:
    """Return the flash-off that still counts before or in a stage, and since which minute."""
    at = here.asked.matt_at or here.car.begun_at
    if at is None:
        return None, None
    index: int | None = first
    if here.asked.matt_at is not None and plan.stages[first].kind != "flash":
        index = next((i for i in reversed(range(first)) if plan.stages[i].alongside is None), None)
    if index is None or not _flashes(plan, index):
        return None, None
    since = max(minute_of(here.drawn.starts_utc, at), 0)
    return index, min(since, here.now_min)


def _flashes(plan: Plan, index: int) -> bool:
    clock = plan.stages[index].clock
    return clock is not None and clock.kind == "flash"


def _latest(here: Standing, plan: Plan, first: int) -> datetime | None:
    """Return by when a coat must follow the one before; None where that is not known.

    A lamp that comes late bakes all the same: what is on is not lost by it.
    """
    noted = here.car.noted
    if plan.stages[first].kind != "coat":
        return None
    return must_begin_by(
        plan,
        first,
        matt_at=here.asked.matt_at,
        noted=stage_index(plan, noted.ids) if noted else None,
        noted_at=noted.at if noted else None,
    )


def _is_late(rest: Rest, play: BestPlay, coat: str, latest: datetime | None) -> bool:
    """Return whether a stage begins too late in the play shown."""
    if latest is None:
        return False
    begin = _begins(rest, play, coat)
    return begin >= 0 and rest.at(begin) > latest


def _begins(rest: Rest, play: BestPlay, stage: str) -> int:
    """Return the minute a stage begins in the play shown; -1 where it does not get there."""
    index = [one.id for one in rest.plan.stages].index(stage)
    return int(play.walk.begins[index, play.row])


def reading_alone(reading: Reading) -> Conditions:
    """Return what a reading alone says; NaN where that takes something that was not measured."""
    nan = float("nan")
    panel, air, rh, wind = (
        nan if value is None else value for value in (getattr(reading, name) for name in QUANTITIES)
    )
    dew = float(dew_point_c(np.array([air]), np.array([rh]))[0])
    return Conditions(panel, air, rh, dew, panel - dew, wind)


def _conditions(here: Standing, found: Judgement) -> Conditions:
    """Return what the panel that was read meets now, in the middle of the members.

    Where nobody said which way the car stands it is the way that decides.
    """
    met = here.climate
    step = min(max(here.now_min // STEP_MIN, 0), len(met.starts_utc) - 1)
    names = Conditions.__dataclass_fields__
    case, unsaid = here.asked.reading.panel, len(here.setup.job.ways_deg) > 1
    if unsaid and found.limiting is not None:
        case = found.limiting.panel
    values = [met.case(name, case)[:, step] for name in names]
    meets = Conditions(*(float(np.median(value)) for value in values))
    read_c = here.asked.reading.panel_temp_c
    if read_c is None or not _is_fresh(here):
        return meets
    # Under the lamp the climate is that of the panel without it; what was read is what it is.
    return replace(meets, panel_temp_c=read_c, dew_margin_k=read_c - meets.dew_point_c)

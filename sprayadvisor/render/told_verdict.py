"""The verdict on one job in words: the decision, what decides it, what to do about it."""

from __future__ import annotations

from sprayadvisor.advice.brief import Entry
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.judge import ARRIVAL_PAST, Judgement
from sprayadvisor.advice.leavable import first_leavable
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.reservations import NO_AIR
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render import told_under_way
from sprayadvisor.render.defects import defect
from sprayadvisor.render.limits import limiting_words
from sprayadvisor.render.words import clock, odds, panel_words, sentence
from sprayadvisor.units import Display

RARE = 0.5  # shares below this are told with what they are of
_TAKE = "Do not take it for a go."
_UNKNOWN = "cannot be judged; do not take it for a go."
_MEANWHILE = (
    "Put right what is named here, or ask again later. Until then plan as if it were a no; at the "
    "car read panel, humidity and wind yourself."
)
_NOT_NOTED = (
    "Say where you are, or measure and ask Now. If nobody has been there, ring the customer."
)
_INDOORS = (
    "Without extraction and air-fed breathing do not spray there. Take it to a booth, or outdoors "
    "where that is allowed."
)
_TWO_PACK = (
    "air-fed mask, skin covered, nobody near or downwind. It may be forbidden outdoors here."
)


def short(entry: Entry, moment: Moment) -> str:
    """Return the decision in one line."""
    judgement, zone = entry.judgement, entry.judgement.job.site.zone
    if judgement.word is Word.NOT_JUDGED:
        return sentence(judgement.why)
    if entry.under_way is not None:
        go = judgement.word is Word.GO
        sure = f"{_sure(entry)}.{'' if go else f' {_care(entry)}'}"
        return told_under_way.short(entry, entry.under_way, sure)
    if judgement.why == ARRIVAL_PAST:
        job = judgement.job
        return (
            f"nothing noted since {job.arrive_to:%H:%M}, when the agreed arrival was over. {_TAKE}"
        )
    if judgement.word is Word.UNKNOWN:
        return _UNKNOWN
    best = judgement.best_start
    if judgement.word is Word.NO_GO or best is None:
        evening = moment is Moment.EVENING
        return "will not do at the agreed time." if evening else "will not do today as agreed."
    colour = next((line.at for line in entry.coats if line.role == "base"), None)
    base = f", base at {clock(colour, zone)}" if colour else ""
    start = f"start {clock(best, zone)}{base}; {_sure(entry)}.{_no_air(entry)}"
    return start if judgement.word is Word.GO else f"{start} {_care(entry)}"


def _no_air(entry: Entry) -> str:
    """Return that nothing can be sprayed for want of power, which the weather does not mend."""
    plan = entry.judgement.plan
    if plan is None or plan.sprays:
        return ""
    return " But the compressor cannot run there: bring other power."


def _care(entry: Entry) -> str:
    """Return what care means for this job."""
    if entry.judgement.reserved:
        return "Your call."
    limiting, plan = entry.judgement.limiting, entry.judgement.plan
    if limiting is None or plan is None or limiting.level is not Level.INSIDE:
        return "It may not hold. Your call."
    first = first_leavable(plan)
    if first is not None and limiting.stage >= first:
        return "The paint comes through all the same; that can wait for another hour. Your call."
    if limiting.check.quantity == "downwind":
        return "Mind what stands downwind. Your call."
    if limiting.check.origin.kind == "sheet" and 0.0 < limiting.share < RARE:
        outside = 1.0 - entry.judgement.likelihood[Level.INSIDE]
        where = f"In {odds(outside)} cases it lies outside the sheets"
        return f"{where}, where the maker will not stand behind it. Your call."
    if limiting.check.origin.kind == "sheet":
        return "Outside the sheet: the maker will not stand behind it. Your call."
    return f"Beyond {limiting.check.origin}. Your call."


def against_it(judgement: Judgement) -> tuple[str, ...]:
    """Return what stands against a job in any weather, where something else decides already."""
    if judgement.plan is None or judgement.reserved:
        return ()
    return tuple(one for one in judgement.plan.reservations if one != NO_AIR)


def _sure(entry: Entry) -> str:
    """Return how sure it is; of a single forecast no odds can be given."""
    judgement = entry.judgement
    fits = "it fits" if judgement.word is Word.GO else "it can be done"
    if judgement.climate is None or judgement.climate.n_members == 1:
        return f"{fits} on this forecast"
    level = Level.INSIDE if judgement.word is Word.GO else Level.STOP
    return f"{odds(judgement.likelihood[level])} that {fits}"


def why(entry: Entry, display: Display) -> str:
    """Return the limiting check, or the reason why nothing was played."""
    judgement = entry.judgement
    if judgement.reserved:
        return " ".join(sentence(one) for one in judgement.reserved)
    if judgement.word is Word.NO_GO and judgement.why:
        return sentence(judgement.why)
    if judgement.limiting is None or judgement.plan is None:
        return sentence(judgement.why) if judgement.word is Word.UNKNOWN else ""
    limiting = judgement.limiting
    at = clock(judgement.at(limiting.minute), judgement.job.site.zone)
    words = limiting_words(limiting, judgement.plan, at, display)
    which = ""
    if len(judgement.job.panels) > 1:
        which = f" On the {panel_words(judgement.job.panel_of(limiting.panel))}."
    return sentence(words) + which


def why_and_how_often(entry: Entry, display: Display) -> str:
    """Return the same of a brief, with how often where a *care* is lost in the lesser part."""
    told, limiting = why(entry, display), entry.judgement.limiting
    rare = entry.judgement.word is Word.CARE and limiting and 0.0 < limiting.share < RARE
    if not rare or limiting is None or entry.judgement.reserved:
        return told
    return f"In {odds(limiting.share)} cases: {told[0].lower()}{told[1:]}"


def goes_wrong(entry: Entry, *, over_open: bool = False) -> str:
    """Return what goes wrong beyond the limit, and the one action against it.

    Args:
        entry: the job.
        over_open: whether its base lies open at this moment.
    """
    judgement = entry.judgement
    limiting, plan = judgement.limiting, judgement.plan
    if limiting is None or plan is None or judgement.word not in (Word.CARE, Word.NO_GO):
        return ""
    if judgement.reserved or judgement.why:
        return ""
    stage = plan.stages[limiting.stage]
    product = plan.sheets[stage.role].kind if stage.role else ""
    found = defect(limiting, stage.kind, product, over_open=over_open)
    return f"{sentence(found.seen)} {sentence(found.action)}" if found else ""


def to_do(entry: Entry) -> str:
    """Return what to do where the weather decided nothing."""
    if entry.under_way is not None:
        return told_under_way.to_do(entry)
    if entry.judgement.why == ARRIVAL_PAST:
        return _NOT_NOTED
    return {Word.UNKNOWN: _MEANWHILE, Word.NOT_JUDGED: _INDOORS}.get(entry.judgement.word, "")


def two_pack(entry: Entry) -> str:
    """Return which of a job's products are two-pack, with their caution; empty if none is."""
    plan = entry.judgement.plan
    names = dict.fromkeys(s.name for s in plan.sheets.values() if s.two_pack) if plan else {}
    if not names:
        return ""
    return f"{'; '.join(names)}: {_TWO_PACK}"

"""What is told at the car of the time without return: before it begins, and once it has."""

from __future__ import annotations

from sprayadvisor.advice.caps import LATE
from sprayadvisor.advice.onsite import OnSiteAnswer
from sprayadvisor.advice.policy import Moment
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.words import clock

# Common practice, no source.
_RADAR = "Look at the rain radar before you open it; no forecast knows the next hour as well."
_KEEP_DRY = (
    "Do not leave it: keep rain off with a cover that does not touch it, and ask again in a "
    "quarter of an hour."
)
_NO_CLEAR = (
    "Where no clear can go on in time let the base dry, keep it dry, and another day key it "
    "lightly and lay the base again. Never clear over spots or dew."
)
_LAMP_FALLS = ("gust_ms", "heating", "lamp_temp_c")
_NO_LAMP = "Leave the lamp off and let it dry in the air; it takes hours, and rain or dew spots it."


def no_way_back(answer: OnSiteAnswer) -> str:
    """Return from when to when there is no way back, where the stage at hand begins it."""
    found = answer.judgement
    if found is None or found.plan is None or found.play is None or answer.doubts:
        return ""
    bounds = found.plan.commitment()
    if bounds is None or bounds[0] != 0 or answer.word not in (Word.GO, Word.CARE):
        return ""
    ends = int(found.play.walk.ends[bounds[1], found.play.row])
    until = f" until about {clock(found.at(ends), answer.job.site.zone)}" if ends >= 0 else ""
    return f"from here{until}. {_RADAR}"


def what_now(answer: OnSiteAnswer) -> str:
    """Return what to do with paint that is open and must not be gone on with."""
    found = answer.judgement
    if answer.why == LATE and answer.moment is not Moment.BEFORE_CLEAR:
        return "Key that coat again, lay it anew, and go on from there in time."
    if answer.moment is not Moment.BEFORE_CLEAR or answer.word is not Word.NO_GO:
        return ""
    if found is None or found.plan is None or answer.doubts:
        return ""
    if answer.why == LATE:
        return f"Lay nothing on it, and keep rain off. {_NO_CLEAR}"
    kinds = {
        found.plan.sheets[s.role].kind for s in found.plan.stages if s.kind == "coat" and s.role
    }
    if "clear" in kinds:
        return f"{_KEEP_DRY} {_NO_CLEAR}"
    if not is_open(answer):
        return ""
    decides = found.limiting.check.quantity if found.limiting else ""
    return f"{_KEEP_DRY} {_NO_LAMP}" if decides in _LAMP_FALLS else _KEEP_DRY


def is_open(answer: OnSiteAnswer) -> bool:
    """Return whether paint lies open that cannot be left as it is."""
    plan = answer.judgement.plan if answer.judgement else None
    if plan is None or answer.moment is not Moment.BEFORE_CLEAR:
        return False
    return any(stage.kind in ("coat", "flash", "lamp") for stage in plan.stages)

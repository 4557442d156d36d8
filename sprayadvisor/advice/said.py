"""What was said of a job, and what may be said of it next, as values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.judge import Judgement
from sprayadvisor.advice.rest import StageTime, stage_times
from sprayadvisor.advice.verdict import Word

CAN = (Word.GO, Word.CARE)
# What is done about a cause: two quantities with the same answer are the same cause.
_CAUSES = {
    "wet_hour_mm": "rain",
    "wind_ms": "wind",
    "gust_ms": "wind",
    "gust_sustained_ms": "wind",
    "lamp_temp_c": "wind",
    "heating": "wind",
    "light_lx": "light",
    "low_sun": "light",
    "off_hours": "hours",
    "forecast": "forecast",
}


class Kind(StrEnum):
    """What a notice is about; the last three are all that may be said once the base is on."""

    WORSE = "worse"
    BETTER = "better"
    CAUSE = "cause"
    COVER = "cover"
    CLEAR = "clear"
    LAMP = "lamp"


@dataclass(frozen=True, slots=True)
class Said:
    """The last thing said of a job.

    Attributes:
        at: when, UTC.
        kind: ``evening`` or ``morning`` for a brief, else a :class:`Kind`.
        word: the verdict.
        cause: what decided it, as :func:`cause_of` names it.
        times: when each stage is done by the plan that was told.
    """

    at: datetime
    kind: str
    word: Word
    cause: str
    times: tuple[StageTime, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """Where the painter said he is.

    Attributes:
        ids: the stage of the process, and all that follow it.
        at: when he said so, UTC.
    """

    ids: tuple[str, ...]
    at: datetime


@dataclass(frozen=True, slots=True)
class Notice:
    """A change that the painter must act on.

    Attributes:
        kind: what it is about.
        found: the judgement it rests on.
        was: what was said before, None if nothing was.
        made_at: UTC.
        times: when each stage is done, as far as that is known.
    """

    kind: Kind
    found: Judgement
    was: Said | None
    made_at: datetime
    times: tuple[StageTime, ...]


def heard(said: Said | None, report: Report | None) -> tuple[tuple[StageTime, ...], Report | None]:
    """Return the plan's times that still count, and the report if it tells more than they do.

    Who was told not to go is taken to have stayed away until he says otherwise.
    """
    times = said.times if said and said.word is not Word.NO_GO else ()
    newer = said is None or not times or (report is not None and report.at > said.at)
    return times, report if newer else None


def said_of(judgement: Judgement, kind: str, at: datetime) -> Said:
    """Return a judgement as something that was said."""
    cause = cause_of(judgement.limiting)
    return Said(at, kind, judgement.word, cause, stage_times(judgement))


def said_by(notice: Notice) -> Said:
    """Return a notice as something that was said.

    What must be done once the base is on leaves the verdict as it was.
    """
    found, word = notice.found, notice.found.word
    if notice.kind in (Kind.COVER, Kind.CLEAR, Kind.LAMP):
        word = notice.was.word if notice.was else Word.CARE
    cause = cause_of(found.limiting)
    return Said(notice.made_at, notice.kind.value, word, cause, notice.times)


def cause_of(limiting: Limiting | None) -> str:
    """Return what decides, named by what is done about it; empty where nothing does."""
    if limiting is None:
        return ""
    quantity = limiting.check.quantity
    if quantity in _CAUSES:
        return _CAUSES[quantity]
    too_high = _at_upper_bound(limiting)
    if quantity == "panel_temp_c":
        return "hot" if too_high else "cold or damp"
    if quantity == "rh_pct" and not too_high:
        return "dry air"
    return "cold or damp"


def _at_upper_bound(limiting: Limiting) -> bool:
    """Return whether the value lies nearer to the upper of its bounds."""
    low, high = limiting.check.bounds(Level(limiting.level))
    if low is None or high is None:
        return high is not None
    return abs(limiting.value - high) < abs(limiting.value - low)

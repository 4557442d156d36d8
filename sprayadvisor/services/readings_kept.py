"""What readings that were kept say for the next question."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from sprayadvisor.services.ports.readings import KeptReading

SAME_WITHIN = timedelta(minutes=2)  # the same reading sent twice
_A_DAY_OF_WORK = timedelta(hours=12)


def same(one: KeptReading, other: KeptReading) -> bool:
    """Return whether the same was sent twice, a moment apart."""
    at = other.reading.taken_at
    alike = replace(one.reading, taken_at=at) == other.reading and one.stage == other.stage
    felt_alike = (one.mist_s, one.stripe_min) == (other.mist_s, other.stripe_min)
    felt_alike = felt_alike and _same_matt(one.matt_at, other.matt_at)
    close = abs(other.asked_at - one.asked_at) <= SAME_WITHIN
    return alike and felt_alike and close and one.struck_at is None


def _same_matt(one: datetime | None, other: datetime | None) -> bool:
    """Return whether the same was said of the coat; a time that was mended is another one."""
    if one is None or other is None:
        return one is other
    return abs(one - other) <= SAME_WITHIN


def matt_since(
    kept: Sequence[KeptReading], stage: str, begun_at: datetime | None, now: datetime
) -> datetime | None:
    """Return since when the coat before a stage is matt, as it was said last; None if it was not.

    Args:
        kept: what was read at the job, oldest first.
        stage: that is asked about; what was said before another one was said of another coat.
        begun_at: when the painter last began a stage: what was matt before is under it now.
        now: aware; what was said on another day counts no more.
    """
    for one in reversed(kept):
        said = one.matt_at if one.stage == stage and one.struck_at is None else None
        if said is not None:
            counts = now - said <= _A_DAY_OF_WORK and (begun_at is None or said > begun_at)
            return said if counts else None
    return None

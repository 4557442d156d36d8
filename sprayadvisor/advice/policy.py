"""What the user may decide: how sure is sure enough, and how much stricter than the sheets.

Every default here is an engineering estimate (EE) or a trade judgement (TJ); none is measured.
A policy may tighten what a sheet allows. It never moves a sheet's stop.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import time
from enum import StrEnum
from types import MappingProxyType


class Moment(StrEnum):
    """When a verdict is given; the later, the surer it must be."""

    EVENING = "evening"
    MORNING = "morning"
    BEFORE_BASE = "before_base"
    BEFORE_CLEAR = "before_clear"


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Likelihoods from which a verdict is *go* and from which it is *care*."""

    go: float
    care: float


DEFAULT_THRESHOLDS: MappingProxyType[Moment, Thresholds] = MappingProxyType(
    {  # TJ
        Moment.EVENING: Thresholds(0.70, 0.45),
        Moment.MORNING: Thresholds(0.75, 0.50),
        Moment.BEFORE_BASE: Thresholds(0.90, 0.70),
        Moment.BEFORE_CLEAR: Thresholds(0.95, 0.80),
    }
)


@dataclass(frozen=True, slots=True)
class Policy:
    """The user's own bounds and hours.

    Attributes:
        thresholds: go and care by moment.
        work_from: earliest time a repair may begin, local.
        work_to: latest time a repair may end, local.
        dew_margin_k: tightens every sheet's inside bound on the dew margin, K; None leaves it.
        wind_ms: tightens every sheet's inside bound on mean wind at the gun, m/s.
        rain_hour_mm: an hour with more than this is wet, mm.
        masking_gust_ms: gust at which masking film tears loose, m/s.
        lamp_gust_ms: gust at which a lamp stand may fall, m/s.
        canopy_gust_ms: gust at which the canopy comes down, m/s.
        stale_after_h: weather older than this is shown with its age, hours.
        unusable_after_h: weather older than this judges nothing, hours.
    """

    thresholds: MappingProxyType[Moment, Thresholds] = field(
        default_factory=lambda: DEFAULT_THRESHOLDS
    )
    work_from: time = time(8, 0)
    work_to: time = time(18, 30)
    dew_margin_k: float | None = None
    wind_ms: float | None = None
    rain_hour_mm: float = 0.1  # the forecast's own definition of rain in its probability
    masking_gust_ms: float = 8.0  # TJ
    lamp_gust_ms: float = 8.0  # TJ
    canopy_gust_ms: float = 9.0  # TJ
    stale_after_h: float = 3.0  # EE
    unusable_after_h: float = 18.0  # EE

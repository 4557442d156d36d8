"""What a record of a job holds: each coat with its time, what it met, and what it was.

A record can speak for the painter and against him. What of it is kept is his choice, part by part.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.onsite import QUANTITIES, Reading
from sprayadvisor.advice.outlook import minute_of
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.science.quantities import STEP_MIN

_SHOWN = ("panel_temp_c", "air_temp_c", "rh_pct", "dew_margin_k", "wind_ms")


class Part(StrEnum):
    """What a record may hold."""

    TIMES = "times"
    CONDITIONS = "conditions"
    PRODUCTS = "products"
    ADVICE = "advice"


USUAL = frozenset({Part.TIMES, Part.CONDITIONS, Part.PRODUCTS})


@dataclass(frozen=True, slots=True)
class Met:
    """One quantity a coat met.

    Attributes:
        quantity: its name, such as ``panel_temp_c``.
        value: in the unit of the name.
        measured: whether it was read at the car; else it is the forecast's.
    """

    quantity: str
    value: float
    measured: bool


@dataclass(frozen=True, slots=True)
class CoatRecord:
    """One product as it was laid or baked.

    Attributes:
        stage: what the painter calls the stage.
        at: when it began, UTC; None where that is not kept or not known.
        noted: whether the painter noted it then; else it is the time of the plan.
        met: what it met; empty where that is not kept or not known.
        product: name of its sheet, empty where that is not kept.
        revision: of the sheet.
        choices: hardener, thinner or additive for the panel it met.
        unnoted: what of it is noted nowhere; empty where times are not kept.
    """

    stage: str
    at: datetime | None
    noted: bool
    met: tuple[Met, ...]
    product: str
    revision: str
    choices: tuple[str, ...]
    unnoted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobRecord:
    """The record of one job.

    Attributes:
        ref: of the job.
        parts: what it holds.
        coats: in the order they were laid.
        advice: the last verdict that was said, empty where none was or it is not kept.
        reason: the painter's own, for whatever he did.
        kept_at: when it was kept, UTC; None for a draft.
    """

    ref: str
    parts: frozenset[Part]
    coats: tuple[CoatRecord, ...]
    advice: str = ""
    reason: str = ""
    kept_at: datetime | None = None


def only(record: JobRecord, parts: Collection[Part]) -> JobRecord:
    """Return a record without what is not among ``parts``."""
    kept = frozenset(parts)
    return replace(
        record,
        parts=kept,
        coats=tuple(_coat(coat, kept) for coat in record.coats),
        advice=record.advice if Part.ADVICE in kept else "",
    )


def _coat(coat: CoatRecord, parts: frozenset[Part]) -> CoatRecord:
    if Part.TIMES not in parts:
        coat = replace(coat, at=None, noted=False, unnoted=())
    if Part.CONDITIONS not in parts:
        coat = replace(coat, met=())
    if Part.PRODUCTS not in parts:
        coat = replace(coat, product="", revision="", choices=())
    return coat


def met(climate: Climate | None, at: datetime, read: Reading | None) -> tuple[Met, ...]:
    """Return what a coat met: as measured, else as forecast; without what is not known.

    Args:
        climate: of the first panel in its first row; None where there is no forecast.
        at: when, aware.
        read: what was measured for it.
    """
    values = {name: (value, False) for name, value in _forecast(climate, at).items()}
    for name in QUANTITIES:
        value = getattr(read, name) if read else None
        if value is not None:
            values[name] = (value, True)
    values |= _margin(values)
    return tuple(
        Met(name, *values[name])
        for name in _SHOWN
        if name in values and math.isfinite(values[name][0])
    )


def suited(sheet: Sheet, found: Collection[Met]) -> tuple[str, ...]:
    """Return the hardener, thinner or additive made for what a coat met; none for what is not."""
    here = {one.quantity: one.value for one in found}
    panel_c, rh_pct = (here.get(name, math.nan) for name in ("panel_temp_c", "rh_pct"))
    return tuple(f"{c.name} {c.what}" for c in sheet.choices if c.suits(panel_c, rh_pct))


def _forecast(climate: Climate | None, at: datetime) -> dict[str, float]:
    """Return what the forecast says the panel met; empty outside of what it covers."""
    if climate is None:
        return {}
    step = minute_of(climate.starts_utc, at) // STEP_MIN
    if not 0 <= step < len(climate.starts_utc):
        return {}
    return {name: float(climate[name][0, step]) for name in _SHOWN}


def _margin(values: Mapping[str, tuple[float, bool]]) -> dict[str, tuple[float, bool]]:
    """Return the dew margin anew where something it hangs on was measured."""
    parts = [values.get(name) for name in ("panel_temp_c", "air_temp_c", "rh_pct")]
    known = [part for part in parts if part is not None]
    if len(known) < len(parts) or not any(measured for _, measured in known):
        return {}
    (panel_c, _), (air_c, _), (rh_pct, _) = known
    margin = panel_c - float(dew_point_c(air_c, min(max(rh_pct, 1.0), 100.0)))
    return {"dew_margin_k": (margin, all(measured for _, measured in known))}

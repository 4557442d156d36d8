"""What a record of a job holds: each coat with its time, what it met, and what it was.

A record can speak for the painter and against him. What of it is kept is his choice, part by part.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum


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
    """One product as it was laid.

    Attributes:
        stage: what the painter calls the stage.
        at: when it began, UTC; None where that is not kept or not known.
        noted: whether the painter noted it then; else it is the time of the plan.
        met: what it met; empty where that is not kept or not known.
        product: name of its sheet, empty where that is not kept.
        revision: of the sheet.
        choices: hardener, thinner or additive for the panel it met.
    """

    stage: str
    at: datetime | None
    noted: bool
    met: tuple[Met, ...]
    product: str
    revision: str
    choices: tuple[str, ...]


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
        coat = replace(coat, at=None, noted=False)
    if Part.CONDITIONS not in parts:
        coat = replace(coat, met=())
    if Part.PRODUCTS not in parts:
        coat = replace(coat, product="", revision="", choices=())
    return coat

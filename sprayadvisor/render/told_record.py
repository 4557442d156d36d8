"""The record of a job in words."""

from __future__ import annotations

from dataclasses import dataclass

from sprayadvisor.advice.checks import QUANTITY_WORDS
from sprayadvisor.advice.record import CoatRecord, JobRecord, Met, Part
from sprayadvisor.advice.verdict import Word
from sprayadvisor.render.words import LABELS, clock, listed
from sprayadvisor.units import Display


@dataclass(frozen=True, slots=True)
class ToldCoat:
    """One coat: its stage, and the rest as pairs of a label and a text."""

    stage: str
    facts: tuple[tuple[str, str], ...]


def tell_record(record: JobRecord, zone: str, display: Display) -> tuple[tuple[ToldCoat, ...], str]:
    """Return the coats of a record in words, and what was advised, empty if that is not kept."""
    coats = tuple(
        ToldCoat(coat.stage, tuple(_facts(coat, record, zone, display))) for coat in record.coats
    )
    return coats, _advised(record)


def _advised(record: JobRecord) -> str:
    """Return what was advised last; that nothing was is part of a record that holds advice."""
    if record.advice:
        return LABELS[Word(record.advice)]
    return "no advice is on file for this day" if Part.ADVICE in record.parts else ""


def _facts(
    coat: CoatRecord, record: JobRecord, zone: str, display: Display
) -> list[tuple[str, str]]:
    """Return what is known of a coat."""
    facts = []
    if coat.at is not None:
        how = "noted at the car" if coat.noted else "by the plan, not noted"
        facts.append(("Begun", f"{clock(coat.at, zone)}, {how}"))
    elif Part.TIMES in record.parts:
        facts.append(("Begun", "not noted"))
    if coat.unnoted:
        facts.append(("Not noted", listed(coat.unnoted)))
    for label, measured in (("Measured", True), ("By the forecast", False)):
        met = [_value(one, display) for one in coat.met if one.measured is measured]
        if met:
            facts.append((label, listed(met)))
    if coat.product:
        facts.append(("Product", f"{coat.product}, sheet revision {coat.revision}"))
    if coat.choices:
        facts.append(("Made for that panel", listed(coat.choices)))
    return facts


def _value(met: Met, display: Display) -> str:
    """Return a quantity with its name."""
    label = QUANTITY_WORDS[met.quantity].label
    if met.quantity.endswith("_temp_c"):
        return f"{label} {display.temp(met.value, 1)}"
    if met.quantity == "wind_ms":
        return f"{label} {display.speed(met.value, 1)}"
    if met.quantity == "dew_margin_k":
        return f"{label} {display.difference(met.value)}"
    return f"{label} {met.value:.0f} %"

"""A brief for a machine: units in the names, times with their zone, null for what is not known."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from sprayadvisor.advice.air_levels import level_word
from sprayadvisor.advice.best import Limiting
from sprayadvisor.advice.brief import AirLevel, Brief, Downwind, Entry, WindowBar
from sprayadvisor.advice.checks import Level
from sprayadvisor.advice.coat_line import CoatLine
from sprayadvisor.advice.first_night import FirstNight
from sprayadvisor.advice.remedies import Remedy
from sprayadvisor.advice.setups import Value
from sprayadvisor.advice.two_visits import TwoVisits


def brief_json(brief: Brief) -> dict[str, Any]:
    """Return a brief as what JSON can hold."""
    return {
        "kind": brief.moment.value,
        "day": brief.day.isoformat(),
        "made_at": iso_time(brief.made_at, brief.zone),
        "business": brief.business,
        "tally": {word.value: count for word, count in brief.tally.items()},
        "first_coat": iso_time(brief.first_coat, brief.zone),
        "jobs": [_job(entry) for entry in brief.entries],
        "ring": [
            {"ref": offer.ref, "slots": [_window(s, brief.zone) for s in offer.slots]}
            for offer in brief.ring
        ],
        "heads_up": list(brief.heads_up),
        "clashes": [
            {"first": c.first_ref, "second": c.second_ref, "late_min": c.late_min}
            for c in brief.clashes
        ],
        "load": list(brief.load),
        "from_the_house": {
            "water_borne": list(brief.house.water_borne),
            "hardeners": brief.house.hardeners,
            "warm_box": brief.house.warm_box,
        },
        "van_low_c": finite(brief.van.low_c),
        "van_high_c": finite(brief.van.high_c),
        "air_line": brief.air_line.value if brief.air_line else None,
        "sources": list(brief.sources),
        "weather_problems": list(brief.weather_problems),
        "air_problems": list(brief.air_problems),
        "odds_problems": list(brief.odds_problems),
        "ensemble_runs": brief.runs,
        "faults": list(brief.faults),
        "notice": "Weather only, never permission; local rules and product sheets come first.",
    }


def _job(entry: Entry) -> dict[str, Any]:
    """Return one job."""
    judgement, job = entry.judgement, entry.judgement.job
    zone = job.site.zone
    inside, stop = judgement.likelihood
    commitment = entry.commitment or (None, None)
    return {
        "ref": job.ref,
        "site": job.site.name,
        "process": job.process,
        "verdict": judgement.word.value,
        "why": judgement.why,
        "reserved": list(judgement.plan.reservations) if judgement.plan else [],
        "likelihood_inside": finite(inside),
        "likelihood_stop": finite(stop),
        "limiting": _limiting(entry),
        "remedies": [_remedy(one, zone) for one in entry.remedies],
        "two_visits": _two_visits(entry.two_visits, zone),
        "best_start": iso_time(judgement.best_start, zone),
        "no_return_from": iso_time(commitment[0], zone),
        "no_return_to": iso_time(commitment[1], zone),
        "no_return_latest_from": iso_time(entry.latest_opening, zone),
        "windows": [_window(window, zone) for window in entry.windows],
        "power": list(judgement.plan.power) if judgement.plan else [],
        "can_spray": judgement.plan.sprays if judgement.plan else None,
        "coats": [_coat(line, zone) for line in entry.coats],
        "wet": _wet(entry, zone),
        "in_the_air": [_air(one, zone) for one in entry.air],
        "first_night": _first_night(entry.first_night, zone),
        "downwind": _downwind(entry.downwind, zone),
        "forecast_fetched_at": iso_time(entry.provenance.fetched_at, zone)
        if entry.provenance
        else None,
        "forecast_stale": entry.provenance.stale if entry.provenance else None,
    }


def _two_visits(found: TwoVisits | None, zone: str) -> dict[str, Any] | None:
    """Return a job in two visits."""
    if found is None:
        return None
    visits = {
        name: {
            "begin": iso_time(visit.begin, zone),
            "end": iso_time(visit.end, zone),
            "verdict": visit.word.value,
            "likelihood": finite(visit.likelihood),
        }
        for name, visit in (("first", found.first), ("second", found.second))
    }
    return {"after": found.after, **visits, "rekey_after_h": found.rekey_after_h}


def _first_night(found: FirstNight | None, zone: str) -> dict[str, Any] | None:
    """Return what may wet the fresh clear too soon."""
    if found is None:
        return None
    wetted = {
        name: {
            "share_of_members": finite(one.share),
            "from": iso_time(one.at, zone),
            "known": one.known,
        }
        for name, one in (("rain", found.rain), ("dew", found.dew))
    }
    return {"keep_dry_until": iso_time(found.until, zone), **wetted}


def _wet(entry: Entry, zone: str) -> dict[str, Any] | None:
    """Return how long water stands on the panels."""
    if entry.wet is None:
        return None
    return {
        "panel": entry.judgement.job.panel_of(entry.wet.panel).part.value,
        "until": iso_time(entry.wet.until, zone),
        "white_until": iso_time(entry.wet.white_until, zone),
        "wiped_at": iso_time(entry.wet.wiped_at, zone),
        "wet_again_at": iso_time(entry.wet.again_at, zone),
    }


def _limiting(entry: Entry) -> dict[str, Any] | None:
    """Return the limiting check."""
    limiting: Limiting | None = entry.judgement.limiting
    plan = entry.judgement.plan
    if limiting is None or plan is None:
        return None
    check = limiting.check
    return {
        "quantity": check.quantity,
        "unit": check.words.unit,
        "stage": plan.stages[limiting.stage].id,
        "at": iso_time(entry.judgement.at(limiting.minute), entry.judgement.job.site.zone),
        "value": finite(limiting.value),
        "inside_min": check.inside_min,
        "inside_max": check.inside_max,
        "stop_min": check.stop_min,
        "stop_max": check.stop_max,
        "margin": finite(limiting.margin),
        "margin_to": "inside" if limiting.level is Level.INSIDE else "stop",
        "share_of_members": limiting.share,
        "origin": str(check.origin),
    }


def _remedy(remedy: Remedy, zone: str) -> dict[str, Any]:
    """Return one thing that would help: what is changed, and what comes of it."""
    before, after = (_input(remedy, value, zone) for value in (remedy.before, remedy.after))
    return {
        "change": remedy.change.value,
        "input": remedy.field,
        "before": before,
        "after": after,
        "p_before": finite(remedy.p_before),
        "p_after": finite(remedy.p_after),
        "p_of": "inside" if remedy.level is Level.INSIDE else "stop",
        "verdict_before": remedy.word_before.value,
        "verdict_after": remedy.word_after.value,
        "best_start": iso_time(remedy.start, zone),
    }


def _input(remedy: Remedy, value: Value, zone: str) -> Value:
    """Return the value of an input; a start, which is kept in UTC, as a time of the site."""
    if remedy.field != "start" or not isinstance(value, str):
        return value
    return iso_time(datetime.fromisoformat(value), zone)


def _coat(line: CoatLine, zone: str) -> dict[str, Any]:
    """Return what the first coat of a product meets."""
    return {
        "role": line.role,
        "sheet": line.sheet_name,
        "at": iso_time(line.at, zone),
        "panel_temp_c": finite(line.panel_temp_c),
        "dew_point_c": finite(line.dew_point_c),
        "dew_margin_k": finite(line.dew_margin_k),
        "flash_printed_min": line.flash_printed_min,
        "flash_expected_min": line.flash_expected_min,
        "choices": [f"{choice.name} {choice.what}" for choice in line.choices],
        "pot_life_min": line.pot_life_min,
        "warmed_to_c": line.warmed_to_c,
        "mixes": [
            {
                "coats": mix.coats,
                "ml": mix.ml,
                "minutes": mix.minutes,
                "outlasts_pot_life": mix.outlasts(line.pot_life_min),
            }
            for mix in line.mixes
        ],
        "edge_within_min": line.edge_min,
        "met_temp_c": finite(line.met_temp_c) if line.met_temp_c is not None else None,
    }


def _air(one: AirLevel, zone: str) -> dict[str, Any]:
    """Return a level of what lands in wet paint."""
    known = math.isfinite(one.level)
    return {
        "hazard": one.hazard,
        "level": level_word(one.level) if known else None,
        "at": iso_time(one.at, zone),
        "stage": one.stage or None,
    }


def _downwind(found: Downwind | None, zone: str) -> dict[str, Any] | None:
    """Return where the mist goes."""
    if found is None:
        return None
    return {
        "answer": found.answer.value,
        "at": iso_time(found.at, zone),
        "stage": found.stage,
        "towards": found.towards or None,
        "reaches": [{"side": s.name, "what": s.what, "people": s.people} for s in found.sides],
        "clear_from": iso_time(found.clear_from, zone),
    }


def _window(window: WindowBar, zone: str) -> dict[str, Any]:
    return {
        "first": iso_time(window.first, zone),
        "best": iso_time(window.best, zone),
        "latest": iso_time(window.latest, zone),
        "verdict": window.word.value,
    }


def iso_time(at: datetime | None, zone: str) -> str | None:
    """Return a time with the offset of its zone, None for none."""
    return at.astimezone(ZoneInfo(zone)).isoformat(timespec="minutes") if at else None


def finite(value: float) -> float | None:
    """Return a number in thousandths, None for NaN and infinity."""
    return round(value, 3) if math.isfinite(value) else None

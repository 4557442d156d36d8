"""The answer at the car for a machine."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sprayadvisor.advice.onsite import QUANTITIES, Conditions, OnSiteAnswer
from sprayadvisor.render.cautions import WEATHER_ONLY
from sprayadvisor.render.jsonable import finite, iso_time


def onsite_json(answer: OnSiteAnswer) -> dict[str, Any]:
    """Return an answer for a machine: units in the names, times with their zone."""

    def at(moment: datetime | None) -> str | None:
        return iso_time(moment, answer.job.site.zone)

    reading, here, free, stop = (
        answer.asked.reading,
        answer.conditions,
        answer.dust_free,
        answer.safe_stop,
    )
    return {
        "ref": answer.job.ref,
        "asked_at": at(answer.made_at),
        "stage": answer.stage,
        "until": answer.until,
        "verdict": answer.word.value,
        "why": answer.why,
        "moment": answer.moment.value,
        "likelihood": finite(answer.likelihood),
        "questions": [
            {"field": d.field, "question": d.question, "may_insist": d.may_insist}
            for d in answer.doubts
        ],
        "reading": {
            "taken_at": at(reading.taken_at),
            **{name: getattr(reading, name) for name in QUANTITIES},
            "wind_from_deg": reading.wind_from_deg,
            "panel": answer.job.panels[reading.panel].part.value,
        },
        "all_clear_downwind": answer.asked.all_clear,
        "from_forecast": list(answer.filled),
        "felt": answer.felt.value or None,
        "now": {n: finite(getattr(here, n)) for n in Conditions.__dataclass_fields__}
        if here
        else None,
        "margins": [
            {
                "quantity": m.check.quantity,
                "unit": m.check.words.unit,
                "value": finite(m.value),
                "inside_margin": finite(m.inside_margin),
                "stop_margin": finite(m.stop_margin),
                "at": at(m.at),
                "stage": m.stage,
                "origin": str(m.check.origin),
            }
            for m in answer.margins
        ],
        "dust_free": {
            "minutes": finite(free.minutes),
            "slow_minutes": finite(free.slow_minutes),
            "at": at(free.at),
            "by_lamp": free.by_lamp,
        }
        if free
        else None,
        "flash_off": {
            "printed_min": answer.flash_off.printed_min,
            "expected_min": finite(answer.flash_off.expected_min),
            "at": at(answer.flash_off.at),
        }
        if answer.flash_off
        else None,
        "only_as_far_as_safe_stop": answer.only_as_far,
        "nearest_danger": {
            "quantity": answer.danger.check.quantity,
            "at": at(answer.danger.at),
            "bound": answer.danger.level.name.lower(),
            "share_of_members": answer.danger.share,
        }
        if answer.danger
        else None,
        "must_begin_by": at(answer.latest),
        "ways": [
            {
                "change": w.change.value,
                "verdict": w.word.value,
                "p_before": finite(w.before),
                "p_after": finite(w.likelihood),
                "at": at(w.at),
                "warm_to_c": w.to_c,
            }
            for w in answer.ways
        ],
        "safe_stop": {"stage": stop.stage, "at": at(stop.at), "verdict": stop.word.value}
        if stop
        else None,
        "notice": WEATHER_ONLY,
    }

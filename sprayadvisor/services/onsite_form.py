"""What a painter types at the car, read: a decimal comma and a unit behind the number will do."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sprayadvisor.advice.hours import local_time
from sprayadvisor.advice.model import Cover, Job
from sprayadvisor.advice.onsite import Asked, Reading
from sprayadvisor.errors import InputError
from sprayadvisor.services import typed
from sprayadvisor.units import Display, WindUnit, f_to_c, wind_to_ms

_NUMBER = re.compile(r"([+-]?)\s*(\d{1,6}(?:[.,]\d{1,6})?|[.,]\d{1,6})\s*(.*)", re.DOTALL)
_TEMPERATURES = {"c": "c", "celsius": "c", "f": "f", "fahrenheit": "f"}
_WINDS: dict[str, WindUnit] = {
    "m/s": "ms",
    "ms": "ms",
    "mps": "ms",
    "km/h": "kmh",
    "kmh": "kmh",
    "kph": "kmh",
    "mph": "mph",
    "kn": "kn",
    "kt": "kn",
    "kts": "kn",
    "knots": "kn",
}
_LONGEST = 40  # characters of one field that are looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class OnSiteForm:
    """What was typed; empty means: not said.

    Attributes:
        next: id of the stage that comes next.
        panel: panel temperature.
        air: air temperature.
        humidity: humidity of the air.
        wind: mean wind at the gun.
        at: clock time of the reading; empty for now.
        matt: clock time at which the last coat was matt all over, or ``now``.
        shelter: what is above the car now.
        lamp: whether a lamp will be used; None for as the kit allows.
        mist: how long breath mist stayed, seconds.
        stripe: how long a damp stripe took to dry, minutes.
        part: which panel was read, where the job has several.
        sure: whether readings that look odd shall be used all the same.
    """

    next: str = ""
    panel: str = ""
    air: str = ""
    humidity: str = ""
    wind: str = ""
    at: str = ""
    matt: str = ""
    wind_from: str = ""
    all_clear: bool = False
    shelter: str = ""
    lamp: bool | None = None
    mist: str = ""
    stripe: str = ""
    part: str = ""
    sure: bool = False


def read_form(form: OnSiteForm, job: Job, now: datetime, display: Display) -> Asked:
    """Return what was asked.

    Args:
        form: as typed.
        job: the booking, for its panels and its zone.
        now: aware.
        display: the unit of a number without one.

    Raises:
        InputError: a field cannot be read; the sentence begins with its name.
    """
    taken_at = _moment(form.at, "at", job, now) or now
    reading = Reading(
        taken_at,
        temperature(form.panel, "panel", display),
        temperature(form.air, "air", display),
        _measure(form.humidity, "humidity", ("", "%", "%rh", "rh", "%rf"), "71 or 71 %"),
        wind(form.wind, "wind", display),
        typed.heading(form.wind_from, "wind_from") if form.wind_from.strip() else None,
        _panel_index(form.part, job),
    )
    shelter = typed.choice(Cover, form.shelter, "shelter") if form.shelter.strip() else None
    return Asked(
        reading,
        form.next.strip(),
        shelter,
        form.all_clear,
        form.lamp,
        _moment(form.matt, "matt", job, now),
        _measure(form.mist, "mist", ("", "s", "sec", "seconds"), "4 or 4 s"),
        _measure(form.stripe, "stripe", ("", "min", "minutes"), "12 or 12 min"),
        form.sure,
    )


def temperature(text: str, field: str, display: Display) -> float | None:
    """Return a temperature in °C, None for an empty text.

    Raises:
        InputError: it is none.
    """
    if not text.strip():
        return None
    value, unit = _number_and_unit(text, field, "14.5, 14,5 °C or 58 F")
    known = _TEMPERATURES.get(unit.lstrip("°º").strip() or display.temperature)
    if known is None:
        raise _unreadable(text, field, "14.5, 14,5 °C or 58 F")
    return value if known == "c" else f_to_c(value)


def wind(text: str, field: str, display: Display) -> float | None:
    """Return a wind speed in m/s, None for an empty text.

    Raises:
        InputError: it is none.
    """
    if not text.strip():
        return None
    value, unit = _number_and_unit(text, field, "2, 2 m/s or 5 mph")
    known = _WINDS.get(unit.replace(" ", "")) if unit else display.wind
    if known is None:
        raise _unreadable(text, field, "2, 2 m/s or 5 mph")
    return wind_to_ms(value, known)


def _measure(text: str, field: str, units: tuple[str, ...], example: str) -> float | None:
    """Return a number with one of some units behind it, None for an empty text."""
    if not text.strip():
        return None
    value, unit = _number_and_unit(text, field, example)
    if unit.replace(" ", "").rstrip(".") not in units:
        raise _unreadable(text, field, example)
    return value


def _number_and_unit(text: str, field: str, example: str) -> tuple[float, str]:
    """Return number and unit, the unit in small letters."""
    found = _NUMBER.fullmatch(re.sub("[−–‐‑]", "-", text.strip()))
    if found is None or len(text) > _LONGEST:
        raise _unreadable(text, field, example)
    number = float(found[2].replace(",", "."))
    return -number if found[1] == "-" else number, found[3].strip().lower()


def _unreadable(text: str, field: str, example: str) -> InputError:
    shown = text.strip()
    shown = shown if len(shown) <= _LONGEST else shown[:_LONGEST] + "…"
    return InputError(f"{field} is {shown!r}; give a number such as {example}, or leave it out.")


def _moment(text: str, field: str, job: Job, now: datetime) -> datetime | None:
    """Return a clock time of today at the site, None for an empty text."""
    word = text.strip().lower()
    if not word:
        return None
    if word == "now":
        return now
    today = now.astimezone(ZoneInfo(job.site.zone)).date()
    return local_time(today, typed.clock(word, field), job.site.zone)


def _panel_index(text: str, job: Job) -> int:
    """Return which of the job's panels was read, the first where nothing is said."""
    parts = [panel.part.value for panel in job.panels]
    wanted = text.strip().lower().replace(" ", "_").replace("-", "_")
    if not wanted:
        return 0
    if wanted not in parts:
        raise InputError(typed.unknown("part", text.strip(), parts))
    return parts.index(wanted)

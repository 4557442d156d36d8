"""The form of the check at the car: its fields, what they are called, what is used of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from pydantic import BaseModel

from sprayadvisor.advice.model import Cover, Job
from sprayadvisor.advice.onsite import Asked, Doubt
from sprayadvisor.render.words import clock
from sprayadvisor.services.onsite_form import OnSiteForm
from sprayadvisor.services.ports.readings import KeptReading

# One tap in place of an instrument: label, and what it stands for. Trade judgements.
_NOT_SAID = ("Not said", "")
WINDS = (
    _NOT_SAID,
    ("Still", "0.3 m/s"),
    ("Just felt", "1.5 m/s"),
    ("Leaves move", "3 m/s"),
    ("Dust lifts", "6 m/s"),
)
# A pad for numbers has no letters. Label, and what is written behind the number.
WIND_UNITS = (("m/s", "m/s"), ("km/h", "km/h"), ("mph", "mph"), ("kn", "kn"))
TEMP_UNITS = (("°C", "C"), ("°F", "F"))
MISTS = (_NOT_SAID, ("Gone at once", "4 s"), ("Slowly", "8 s"), ("It stays", "12 s"))
STRIPES = (_NOT_SAID, ("Dry within 15 min", "14 min"), ("Still damp", "20 min"))
COVERS = (
    (Cover.OPEN_SKY, "open sky"),
    (Cover.SHADE, "shade"),
    (Cover.TREES, "under trees"),
    (Cover.CANOPY, "my canopy is up"),
    (Cover.INDOORS, "indoors"),
)
# What each field is called in a sentence about it.
LABELS = {
    "next": "What comes next",
    "panel": "Panel",
    "air": "Air",
    "humidity": "Humidity",
    "wind": "Wind at the gun",
    "wind_usual": "Wind without a meter",
    "wind_from": "The wind comes from",
    "at": "Read at",
    "matt": "Last coat matt since",
    "shelter": "Above the car now",
    "lamp": "The lamp",
    "mist": "Breath mist",
    "mist_usual": "Breath mist on the panel",
    "stripe": "Damp stripe",
    "stripe_usual": "A wiped damp stripe",
    "part": "Panel that was read",
}
# What an instrument or the eye said at this minute; where the car stands and the lamp stay.
READ_NOW = (
    "panel", "air", "humidity", "wind", "wind_usual", "wind_from", "all_clear", "at", "matt",
    "mist", "mist_usual", "stripe", "stripe_usual",
)  # fmt: skip
_FIELD_OF = {
    "panel_temp_c": "panel",
    "air_temp_c": "air",
    "rh_pct": "humidity",
    "wind_ms": "wind",
    "mist_s": "mist",
    "stripe_min": "stripe",
    "taken_at": "at",
    "matt_at": "matt",
}
FRESH = timedelta(minutes=10)  # for which a reading, and an answer to it, may be looked at again


def _with_unit(typed: str, unit: str) -> str:
    """Return a number with the unit that was tapped for it; one typed behind it counts before."""
    text = typed.strip()
    return f"{text} {unit}" if unit and text[-1:].isdigit() else text


class NowFields(BaseModel):
    """What the form sends; all of it text, so that the services can say what is wrong with it."""

    next: str = ""
    panel: str = ""
    air: str = ""
    humidity: str = ""
    wind: str = ""
    wind_usual: str = ""
    wind_unit: str = ""
    temp_unit: str = ""
    wind_from: str = ""
    all_clear: str = ""
    at: str = ""
    matt: str = ""
    matt_now: str = ""
    shelter: str = ""
    lamp: str = ""
    mist: str = ""
    mist_usual: str = ""
    stripe: str = ""
    stripe_usual: str = ""
    part: str = ""
    sure: str = ""

    def as_form(self) -> OnSiteForm:
        """Return the form as the services take it; what was typed counts before a tap."""
        return OnSiteForm(
            next=self.next,
            panel=_with_unit(self.panel, self.temp_unit),
            air=_with_unit(self.air, self.temp_unit),
            humidity=self.humidity,
            wind=_with_unit(self.wind, self.wind_unit) or self.wind_usual,
            wind_from=self.wind_from,
            all_clear=bool(self.all_clear),
            at=self.at,
            matt=self.matt.strip() or ("now" if self.matt_now else ""),
            shelter=self.shelter,
            lamp={"yes": True, "no": False}.get(self.lamp),
            mist=self.mist.strip() or self.mist_usual,
            stripe=self.stripe.strip() or self.stripe_usual,
            part=self.part,
            sure=bool(self.sure),
        )

    def not_used(self) -> Iterator[str]:
        """Yield which tap was not used, since something was typed beside it."""
        for name, choices in (("wind", WINDS), ("mist", MISTS), ("stripe", STRIPES)):
            typed, tapped = getattr(self, name).strip(), getattr(self, f"{name}_usual")
            word = next((one for one, value in choices if value == tapped), tapped)
            if typed and tapped:
                yield f"{LABELS[name]}: “{typed}” was typed; the tap “{word}” was not used."
        if self.matt.strip() and self.matt_now:
            yield f"Matt: {self.matt.strip()} was typed; the tick for now was not used."

    def asked_next(self, stage: str) -> NowFields:
        """Return the form for the next question about a stage.

        A reading counts for the minute it was taken in, and one that was right all the same for
        one answer alone: asked again later, neither may pass for a new one.
        """
        over = dict.fromkeys((*READ_NOW, "sure", "matt_now"), "")
        return self.model_copy(update=over | {"next": stage})


def at_fields(doubts: Iterable[Doubt]) -> dict[str, str]:
    """Return what is asked about readings by the field each was typed in."""
    found: dict[str, str] = {}
    for doubt in doubts:
        found.setdefault(_FIELD_OF.get(doubt.field, "all"), doubt.question)
    return found


def fault_at(sentence: str, form: NowFields, parts: Sequence[str]) -> dict[str, str]:
    """Return a refusal at the field it begins with, in the words of the form, or above all.

    Args:
        sentence: beginning with the name of a field.
        form: as typed.
        parts: of the job, among which to choose.
    """
    first, _, rest = sentence.partition(" ")
    name = first.rstrip(":").replace("stage", "next")
    if name == "part":
        shown = form.part[:40].replace("_", " ")
        told = f"This job has no panel “{shown}”; say anew which one you read."
        return {"part" if len(parts) > 1 else "all": told}
    if name not in LABELS:
        return {"all": sentence}
    return {name: f"{LABELS[name]}{':' * first.endswith(':')} {rest}"}


def read_before(
    asked: Asked, kept: Sequence[KeptReading], now: datetime, job: Job
) -> dict[str, str]:
    """Return a question where the very readings of earlier come as new ones.

    A form that one goes back to still holds what was typed into it.

    Args:
        asked: what was typed, without a time.
        kept: what was read at this job.
        now: aware.
        job: for its zone.
    """
    # Of taps there are so few that they repeat.
    names = tuple(name for name in asked.reading.measured if name != "wind_ms")
    if not names or asked.sure:
        return {}
    values = [getattr(asked.reading, name) for name in names]
    for one in reversed(kept):
        old = now - one.reading.taken_at > FRESH
        if old and values == [getattr(one.reading, name) for name in names]:
            at = clock(one.reading.taken_at, job.site.zone)
            told = (
                f"The same was read at {at}. Read it again; if you did and it is the same, tick so "
                f"below, and if not, write {at} at “{LABELS['at']}”."
            )
            return {_FIELD_OF[names[0]]: told}
    return {}

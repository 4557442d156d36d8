"""Readings that cannot be, or hardly: each gets one kind question before anything rests on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.onsite import MIST_FINE_S, Asked, Doubt, Reading
from sprayadvisor.advice.pull import step_of
from sprayadvisor.science.humidity import dew_point_c
from sprayadvisor.units import WindUnit, f_to_c, wind_to_ms

# What can be outdoors where somebody paints, and on a panel: beyond it is a slip of the finger.
POSSIBLE: dict[str, tuple[str, float, float, str]] = {
    "panel_temp_c": ("panel temperature", -30.0, 90.0, "°C"),
    "air_temp_c": ("air temperature", -30.0, 50.0, "°C"),
    "rh_pct": ("humidity", 1.0, 100.0, "%"),
    "wind_ms": ("wind", 0.0, 40.0, "m/s"),
}
# Trade judgements: beyond these a reading is more often a slip than the weather.
PANEL_OVER_K, PANEL_UNDER_K = 15.0, 6.0  # beyond all members; bare metal reads as the cold sky
AIR_OFF_K, DEW_OFF_K = 7.0, 7.0  # off the middle of the forecast
LAMPED_C = 70.0  # what a lamp makes of metal and nothing else does
STREAMING_K = 2.0  # a panel so far under the dew point runs with water
AS_MEANT_K, AS_MEANT_SHARE = 5.0, 2.0  # a value in another unit that would fit the forecast so well
WIND_TIMES, WIND_MORE_MS = 2.5, 2.0
OLDEST = timedelta(hours=2)
AHEAD = timedelta(minutes=2)  # clocks differ


@dataclass(frozen=True, slots=True)
class Model:
    """What the forecast and the panel model say for the time of a reading; NaN where unknown.

    Temperatures are the middle of the members, but for the panel's coldest and hottest; winds are
    at the gun.
    """

    panel_low_c: float
    panel_high_c: float
    air_temp_c: float
    dew_point_c: float
    wind_ms: float
    gust_ms: float


def model_at(climate: Climate, reading: Reading, n_panels: int | None = None) -> Model:
    """Return what the climate says at the time of a reading, of the panel that was read.

    Args:
        climate: a case for each panel, all of them again for each way the car may stand.
        reading: its time, and which panel.
        n_panels: how many there are; None where each case is one.
    """
    step = step_of(climate.starts_utc, reading)
    if step is None:
        return Model(*(float("nan") for _ in range(6)))

    def then(quantity: str) -> np.typing.NDArray[np.float64]:
        return climate.case(quantity, reading.panel)[:, step]

    mine = range(reading.panel, climate.n_cases, n_panels or climate.n_cases)
    panel = np.concatenate([climate.case("panel_temp_c", case)[:, step] for case in mine])
    middle = [
        float(np.median(then(name))) for name in ("air_temp_c", "dew_point_c", "wind_ms", "gust_ms")
    ]
    return Model(float(panel.min()), float(panel.max()), *middle)


def doubts(asked: Asked, model: Model, now: datetime) -> tuple[Doubt, ...]:
    """Return what must be asked about the readings before they are used.

    Args:
        asked: what was measured and said.
        model: what is expected there; what is not known is not compared.
        now: aware.
    """
    hard = impossible(asked, now)
    if hard or asked.sure:
        return hard
    reading = asked.reading
    soft = [*_air(reading, model), *_panel(asked, model), *_wind(reading, model)]
    told = {doubt.field for doubt in soft}
    return (*soft, *(doubt for doubt in _at_odds(asked, model) if doubt.field not in told))


def impossible(asked: Asked, now: datetime) -> tuple[Doubt, ...]:
    """Return what cannot be, whatever is expected, and is never used."""
    return (*_impossible(asked), *_wrong_time(asked, now))


def _impossible(asked: Asked) -> Iterator[Doubt]:
    for name in asked.reading.measured:
        words, low, high, unit = POSSIBLE[name]
        value = getattr(asked.reading, name)
        if not low <= value <= high:
            yield Doubt(
                name,
                f"A {words} of {value:g} {unit} cannot be: it lies between {low:g} and {high:g} "
                f"{unit}. Please read it again, or leave it out.",
                may_insist=False,
            )
    for name, words in (("mist_s", "breath mist"), ("stripe_min", "damp stripe")):
        value = getattr(asked, name)
        if value is not None and not 0 <= value <= 600:
            yield Doubt(
                name,
                f"The {words} cannot last {value:g}; please time it again, or leave it out.",
                may_insist=False,
            )


def _wrong_time(asked: Asked, now: datetime) -> Iterator[Doubt]:
    for name, at, what in (
        ("taken_at", asked.reading.taken_at, "The reading is"),
        ("matt_at", asked.matt_at, "The coat is said to be matt"),
    ):
        if at is None:
            continue
        minutes = abs(now - at).total_seconds() / 60
        if at > now + AHEAD:
            yield Doubt(
                name,
                f"{what} from {minutes:.0f} minutes ahead of now. Please check the clock or the "
                "time given.",
                may_insist=False,
            )
        elif name == "taken_at" and now - at > OLDEST:
            yield Doubt(
                name,
                f"{what} {minutes:.0f} minutes old, and the panel has changed since. Please read "
                "it again.",
                may_insist=False,
            )


def _air(reading: Reading, model: Model) -> Iterator[Doubt]:
    """Yield what is odd about air temperature and humidity."""
    air = reading.air_temp_c
    if air is not None and abs(air - model.air_temp_c) > AIR_OFF_K:
        yield Doubt(
            "air_temp_c",
            f"The air reads {air:g} °C where about {model.air_temp_c:.0f} °C is expected: "
            + (
                _fahrenheit(air, model.air_temp_c)
                or "was it read in the shade, off the metal and out of the van?"
            ),
        )
    if reading.rh_pct is None:
        return
    dew = dew_point_c(air if air is not None else model.air_temp_c, reading.rh_pct)
    if abs(dew - model.dew_point_c) > DEW_OFF_K:
        yield Doubt(
            "rh_pct",
            f"A humidity of {reading.rh_pct:g} % puts the dew point at {dew:.0f} °C where about "
            f"{model.dew_point_c:.0f} °C is expected: has the sensor had ten minutes in the open, "
            "out of breath and sun?",
        )


def _fahrenheit(value: float, expected_c: float) -> str:
    """Return the question whether °F was typed, empty where that would fit no better."""
    if abs(f_to_c(value) - expected_c) > AS_MEANT_K:
        return ""
    return f"is that °F? Then write {value:g} F, which is {f_to_c(value):.0f} °C."


def _panel(asked: Asked, model: Model) -> Iterator[Doubt]:
    """Yield what is odd about the panel's temperature; one warmed by the lamp may be hot."""
    panel = asked.reading.panel_temp_c
    if panel is None:
        return
    # What the model has in the sun may stand in a shade it knows nothing of, at air temperature.
    coldest = min(model.panel_low_c, model.air_temp_c)
    low, high = coldest - PANEL_UNDER_K, model.panel_high_c + PANEL_OVER_K
    if asked.lamp:
        high = max(high, LAMPED_C)
    if panel > high:
        why = "was a hot lamp in view or on just now, or the car driven?"
        expected = model.panel_high_c
        why = _fahrenheit(panel, expected) or why
        question = f"at most about {expected:.0f} °C is expected: {why}"
    elif panel < low:
        question = (
            f"at least about {coldest:.0f} °C is expected: was it bare shiny metal or chrome, "
            "which reads as the cold sky? Stick on a bit of masking tape and read that."
        )
    else:
        return
    yield Doubt("panel_temp_c", f"The panel reads {panel:g} °C where {question}")


def _wind(reading: Reading, model: Model) -> Iterator[Doubt]:
    """Yield what is odd about the wind."""
    wind = reading.wind_ms
    if wind is None or not wind > WIND_TIMES * max(model.gust_ms, model.wind_ms) + WIND_MORE_MS:
        return
    units: tuple[tuple[WindUnit, str], ...] = (("kmh", "km/h"), ("mph", "mph"), ("kn", "kn"))
    expected = max(model.gust_ms, WIND_MORE_MS)
    fits = [word for unit, word in units if wind_to_ms(wind, unit) <= AS_MEANT_SHARE * expected]
    why = f"is that {fits[-1]}? Then write it behind the number." if fits else "was that a gust?"
    yield Doubt(
        "wind_ms",
        f"The wind reads {wind:g} m/s where gusts of about {model.gust_ms:.0f} m/s are expected: "
        f"{why}",
    )


def _at_odds(asked: Asked, model: Model) -> Iterator[Doubt]:
    """Yield readings that do not go together."""
    reading, panel = asked.reading, asked.reading.panel_temp_c
    if panel is None:
        return
    dew = model.dew_point_c
    if reading.rh_pct is not None:
        air = model.air_temp_c if reading.air_temp_c is None else reading.air_temp_c
        dew = dew_point_c(air, reading.rh_pct)
    if panel < dew - STREAMING_K:
        yield Doubt(
            "panel_temp_c",
            f"At {panel:g} °C the panel would be under the dew point of {dew:.0f} °C and running "
            "with water: is it? If it is dry, read panel and humidity again.",
        )
    elif panel < dew and asked.mist_s is not None and asked.mist_s < MIST_FINE_S:
        yield Doubt(
            "mist_s",
            f"Breath mist cannot go in {asked.mist_s:g} s from a panel at its dew point of "
            f"{dew:.0f} °C: please try both again.",
        )

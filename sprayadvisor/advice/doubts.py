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
from sprayadvisor.units import Display, WindUnit, c_to_f, f_to_c, wind_from_ms, wind_to_ms

# What can be outdoors where somebody paints, and on a panel: beyond it is a slip of the finger.
POSSIBLE: dict[str, tuple[str, float, float]] = {
    "panel_temp_c": ("A panel temperature", -30.0, 90.0),
    "air_temp_c": ("An air temperature", -30.0, 50.0),
    "rh_pct": ("A humidity", 1.0, 100.0),
    "wind_ms": ("A wind", 0.0, 40.0),
}
# Trade judgements: beyond these a reading is more often a slip than the weather.
PANEL_OVER_K, PANEL_UNDER_K = 15.0, 6.0  # beyond all members; bare metal reads as the cold sky
AIR_OFF_K, DEW_OFF_K = 7.0, 7.0  # off the middle of the forecast
LAMPED_C = 70.0  # what a lamp makes of metal and nothing else does
OVER_GOAL_K = 8.0  # a lamp is taken away a little late
STREAMING_K = 2.0  # a panel so far under the dew point runs with water
AS_MEANT_K, AS_MEANT_SHARE = 5.0, 2.0  # a value in another unit that would fit the forecast so well
WIND_TIMES, WIND_MORE_MS = 2.5, 2.0
OLDEST = timedelta(hours=2)
METRIC = Display()
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


def doubts(
    asked: Asked,
    model: Model,
    now: datetime,
    *,
    lamp_goal_c: float | None = None,
    shown: Display = METRIC,
) -> tuple[Doubt, ...]:
    """Return what must be asked about the readings before they are used.

    Args:
        asked: what was measured and said.
        model: what is expected there; what is not known is not compared.
        now: aware.
        lamp_goal_c: what the lamp warms the panel to in the stage at hand or right before it;
            None where no lamp has been near it by the plan.
        shown: the units of numbers without one.
    """
    hard = impossible(asked, now, shown)
    if hard or asked.sure:
        return hard
    reading = asked.reading
    panel = _panel(asked, model, lamp_goal_c, shown)
    soft = [*_air(reading, model, shown), *panel, *_wind(reading, model, shown)]
    told = {doubt.field for doubt in soft}
    return (*soft, *(doubt for doubt in _at_odds(asked, model, shown) if doubt.field not in told))


def impossible(asked: Asked, now: datetime, shown: Display = METRIC) -> tuple[Doubt, ...]:
    """Return what cannot be, whatever is expected, and is never used."""
    return (*_impossible(asked, shown), *_wrong_time(asked, now))


def _impossible(asked: Asked, shown: Display) -> Iterator[Doubt]:
    for name in asked.reading.measured:
        words, low, high = POSSIBLE[name]
        value = getattr(asked.reading, name)
        if not low <= value <= high:
            least, most = _as_shown(name, low, shown), _as_shown(name, high, shown)
            yield Doubt(
                name,
                f"{words} of {_as_shown(name, value, shown)} cannot be: it lies between "
                f"{least} and {most}.{_maybe_meant(name, value, shown)} Please read it again, or "
                "leave it out.",
                may_insist=False,
            )
    for name, words, unit in (("mist_s", "breath mist", "s"), ("stripe_min", "damp stripe", "min")):
        value = getattr(asked, name)
        if value is not None and not 0 <= value <= 600:
            yield Doubt(
                name,
                f"The {words} cannot last {value:g} {unit}; please time it again, or leave it out.",
                may_insist=False,
            )


def _as_shown(name: str, value: float, shown: Display) -> str:
    """Return a reading as it was typed, in the painter's own unit."""
    if name == "wind_ms":
        return f"{wind_from_ms(value, shown.wind):.4g} {shown.speed_unit}"
    if name == "rh_pct":
        return f"{value:.4g} %"
    return f"{value if shown.temperature == 'c' else c_to_f(value):.4g} {shown.temp_unit}"


def _maybe_meant(name: str, value: float, shown: Display) -> str:
    """Return the question whether another unit was meant, where that is possible at all."""
    if name == "wind_ms" and value > 0.0:
        return " Is that km/h or mph? Then write it behind the number."
    if not name.endswith("temp_c"):
        return ""
    _, low, high = POSSIBLE[name]
    meant, typed, unit = _in_the_other_unit(value, shown)
    if not low <= meant <= high:
        return ""
    return f" Is that °{unit}? Then write {typed:.4g} {unit}."


def _in_the_other_unit(value_c: float, shown: Display) -> tuple[float, float, str]:
    """Return what a number typed would be in the other unit, °C; that number; that unit."""
    if shown.temperature == "c":
        return f_to_c(value_c), value_c, "F"
    return c_to_f(value_c), c_to_f(value_c), "C"


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


def _air(reading: Reading, model: Model, shown: Display) -> Iterator[Doubt]:
    """Yield what is odd about air temperature and humidity."""
    air = reading.air_temp_c
    if air is not None and abs(air - model.air_temp_c) > AIR_OFF_K:
        yield Doubt(
            "air_temp_c",
            f"The air reads {_as_shown('air_temp_c', air, shown)} where about "
            f"{shown.temp(model.air_temp_c)} is expected: "
            + (
                _other_unit(air, model.air_temp_c, shown)
                or "was it read in the shade, off the metal and out of the van?"
            ),
        )
    if reading.rh_pct is None:
        return
    dew = dew_point_c(air if air is not None else model.air_temp_c, reading.rh_pct)
    if abs(dew - model.dew_point_c) > DEW_OFF_K:
        yield Doubt(
            "rh_pct",
            f"A humidity of {reading.rh_pct:.4g} % puts the dew point at {shown.temp(dew)} where "
            f"about {shown.temp(model.dew_point_c)} is expected: has the sensor had ten minutes in "
            "the open, out of breath and sun?",
        )


def _other_unit(value_c: float, expected_c: float, shown: Display) -> str:
    """Return the question whether the other unit was meant, empty where that fits no better."""
    meant_c, typed, unit = _in_the_other_unit(value_c, shown)
    if abs(meant_c - expected_c) > AS_MEANT_K:
        return ""
    return f"is that °{unit}? Then write {typed:.4g} {unit}, which is {shown.temp(meant_c)}."


def _panel(
    asked: Asked, model: Model, lamp_goal_c: float | None, shown: Display
) -> Iterator[Doubt]:
    """Yield what is odd about the panel's temperature; one warmed by the lamp may be hot."""
    panel = asked.reading.panel_temp_c
    if panel is None:
        return
    # What the model has in the sun may stand in a shade it knows nothing of, at air temperature.
    coldest = min(model.panel_low_c, model.air_temp_c)
    low, high = coldest - PANEL_UNDER_K, model.panel_high_c + PANEL_OVER_K
    expected = model.panel_high_c
    if asked.lamp or lamp_goal_c is not None:
        by_lamp = LAMPED_C if lamp_goal_c is None else lamp_goal_c + OVER_GOAL_K
        high, expected = max(high, by_lamp), max(expected, lamp_goal_c or expected)
    if panel > high:
        why = "was a hot lamp in view or on just now, or the car driven?"
        why = _other_unit(panel, model.panel_high_c, shown) or why
        question = f"at most about {shown.temp(expected)} is expected: {why}"
    elif panel < low:
        question = (
            f"at least about {shown.temp(coldest)} is expected: was it bare shiny metal or chrome, "
            "which reads as the cold sky? Stick on a bit of masking tape and read that."
        )
    else:
        return
    read = _as_shown("panel_temp_c", panel, shown)
    yield Doubt("panel_temp_c", f"The panel reads {read} where {question}")


def _wind(reading: Reading, model: Model, shown: Display) -> Iterator[Doubt]:
    """Yield what is odd about the wind."""
    wind = reading.wind_ms
    if wind is None or not wind > WIND_TIMES * max(model.gust_ms, model.wind_ms) + WIND_MORE_MS:
        return
    units: tuple[tuple[WindUnit, str], ...] = (("kmh", "km/h"), ("mph", "mph"), ("kn", "kn"))
    typed = wind_from_ms(wind, shown.wind)
    expected = AS_MEANT_SHARE * max(model.gust_ms, WIND_MORE_MS)
    others = [(unit, word) for unit, word in units if unit != shown.wind]
    fits = [word for unit, word in others if wind_to_ms(typed, unit) <= expected]
    why = f"is that {fits[-1]}? Then write it behind the number." if fits else "was that a gust?"
    yield Doubt(
        "wind_ms",
        f"The wind reads {_as_shown('wind_ms', wind, shown)} where gusts of about "
        f"{shown.speed(model.gust_ms)} are expected: {why}",
    )


def _at_odds(asked: Asked, model: Model, shown: Display) -> Iterator[Doubt]:
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
            f"At {_as_shown('panel_temp_c', panel, shown)} the panel would be under the dew point "
            f"of {shown.temp(dew)} and running with water: is it? If it is dry, read panel and "
            "humidity again.",
        )
    elif panel < dew and asked.mist_s is not None and asked.mist_s < MIST_FINE_S:
        yield Doubt(
            "mist_s",
            f"Breath mist cannot go in {asked.mist_s:g} s from a panel at its dew point of "
            f"{shown.temp(dew)}: please try both again.",
        )

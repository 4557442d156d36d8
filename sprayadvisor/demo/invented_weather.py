"""The invented weather of the story, hour by hour, in the forecast API's own names and units.

A clear, dewy dawn; a sea breeze that picks up towards noon; a shower in the west; a mild, still
dusk; a soft grey day after it. ``python -m sprayadvisor.demo.invented_weather FOLDER`` writes one
answer for each place; those written for the demo lie in ``fixtures/weather``.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from sprayadvisor.demo.weather_answers import UNITS

FIRST_HOUR = datetime(2026, 4, 14, tzinfo=UTC)
HOURS = 12 * 24  # a day that is past and eleven to come


@dataclass(frozen=True, slots=True)
class Spot:
    """A place with its own touch of the same weather.

    ``breeze`` scales the sea breeze, ``shower`` the rain of the first afternoon, ``damp`` is added
    to the humidity, %.
    """

    name: str
    latitude: float
    longitude: float
    elevation_m: float
    breeze: float
    shower: float
    damp: float


SPOTS = (
    Spot("alder-close", 53.2710, -8.9200, 9.0, 0.85, 0.0, 0.0),
    Spot("rope-walk", 53.2730, -9.0540, 12.0, 0.7, 0.0, 21.5),
    Spot("carrick-pier", 53.2440, -9.3000, 4.0, 1.2, 1.0, 3.0),
    Spot("hazel-court", 53.1400, -8.9350, 14.0, 0.9, 0.0, 0.0),
)


@dataclass(frozen=True, slots=True)
class Day:
    """The shape of one day: low and high °C, cloud at night and by day, mean wind and its hour."""

    low_c: float
    high_c: float
    cloud_night: float
    cloud_day: float
    breeze_ms: float
    humid_low_pct: float
    rain_from_h: float | None = None
    rain_mm: float = 0.0


# From the day that is past on; the story plays on the third and fourth.
DAYS = (
    Day(5.0, 14.0, 0.2, 0.3, 4.0, 58.0),
    Day(4.5, 15.0, 0.05, 0.2, 4.5, 54.0),
    Day(3.5, 15.5, 0.02, 0.15, 6.5, 52.0, 14.0, 1.4),
    Day(11.0, 18.0, 0.95, 0.97, 2.2, 60.0),
    Day(7.5, 15.5, 0.75, 0.8, 2.2, 58.0),
    Day(8.0, 13.0, 0.9, 0.95, 7.5, 76.0, 9.0, 4.0),
    Day(7.0, 12.5, 0.7, 0.8, 8.5, 72.0, 12.0, 2.5),
    Day(4.0, 13.0, 0.2, 0.3, 4.0, 56.0),
    Day(4.5, 14.5, 0.3, 0.4, 3.5, 55.0),
    Day(7.0, 13.5, 0.8, 0.85, 5.5, 70.0, 15.0, 1.0),
    Day(6.0, 13.0, 0.5, 0.6, 5.0, 64.0),
    Day(5.5, 13.5, 0.4, 0.5, 4.5, 60.0),
)


def answer(spot: Spot) -> dict[str, Any]:
    """Return the API's answer for a place: hourly columns and their units."""
    hours = [hour(spot, FIRST_HOUR + timedelta(hours=h)) for h in range(HOURS)]
    sun = _radiation(spot, np.array([h["cloud_cover"] for h in hours]) / 100.0)
    for values, (ghi, dni, dhi) in zip(hours, sun, strict=True):
        values["shortwave_radiation"] = ghi
        values["direct_normal_irradiance"] = dni
        values["diffuse_radiation"] = dhi
    stamps = [f"{FIRST_HOUR + timedelta(hours=h):%Y-%m-%dT%H:%M}" for h in range(HOURS)]
    return {
        "latitude": spot.latitude,
        "longitude": spot.longitude,
        "generationtime_ms": 0.4,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": spot.elevation_m,
        "hourly_units": {"time": "iso8601", **UNITS},
        "hourly": {"time": stamps} | {name: [h[name] for h in hours] for name in UNITS},
    }


def hour(spot: Spot, at: datetime) -> dict[str, float]:
    """Return what holds at one hour, radiation left out."""
    index = (at - FIRST_HOUR).days
    clock = at.hour + spot.longitude / 15.0  # solar hour
    today = DAYS[index]
    warm = _warmth(clock)
    low = today.low_c if clock < 14 or index + 1 == len(DAYS) else DAYS[index + 1].low_c
    temp_c = low + (today.high_c - low) * warm
    humid_high = 97.0 if today.cloud_night < 0.5 else 88.0
    rh = humid_high - (humid_high - today.humid_low_pct) * warm + spot.damp
    day_share = max(math.sin(math.pi * (clock - 5.5) / 14.0), 0.0)
    cloud = today.cloud_night + (today.cloud_day - today.cloud_night) * day_share
    breeze = today.breeze_ms * spot.breeze
    wind = 1.2 + max(breeze - 1.2, 0.0) * _breeze(clock)
    rain, chance = _rain(today, spot, at.hour)
    if rain:
        rh, cloud, temp_c = max(rh, 86.0), 0.95, temp_c - 1.5
    rh = round(min(rh, 99.0))
    temp_c = round(temp_c, 1)
    return {
        "temperature_2m": temp_c,
        "relative_humidity_2m": rh,
        "dew_point_2m": round(_dew_point_c(temp_c, rh), 1),
        "precipitation": rain,
        "precipitation_probability": chance,
        "weather_code": 80 if rain else round(3 * cloud),
        "wind_speed_10m": round(wind, 2),
        "wind_gusts_10m": round(wind * 1.5 + 0.4, 2),
        "wind_direction_10m": 245 if _breeze(clock) > 0.3 else 60,
        "cloud_cover": round(100 * cloud),
        "surface_pressure": round(1021.0 - 0.4 * index - spot.elevation_m * 0.12, 1),
    }


def _warmth(clock: float) -> float:
    """Return where between the day's low and high an hour lies: low at 5, high at 14.5."""
    if 5.0 <= clock <= 14.5:
        return float(math.sin(math.pi / 2 * (clock - 5.0) / 9.5) ** 1.3)
    after = (clock - 14.5) % 24.0
    return float(math.cos(math.pi / 2 * min(after / 14.5, 1.0)) ** 1.6)


def _breeze(clock: float) -> float:
    """Return the share of the day's wind at an hour: up from ten, full at two, gone by seven."""
    return max(0.0, math.sin(math.pi * (clock - 9.0) / 9.8)) if 9.0 < clock < 18.8 else 0.0


def _rain(today: Day, spot: Spot, hour_utc: int) -> tuple[float, int]:
    """Return the amount in the hour before a stamp, mm, and its chance, %."""
    if today.rain_from_h is None or not today.rain_from_h < hour_utc <= today.rain_from_h + 2:
        return 0.0, 5 if today.cloud_day > 0.5 else 0
    local = spot.shower if today is DAYS[2] else 1.0
    amount = round(today.rain_mm * local / 2, 2)
    return (amount if amount >= 0.2 else 0.0), round(4 + 70 * local)


def _dew_point_c(temp_c: float, rh_pct: float) -> float:
    """Return the dew point as the forecast service rounds it: Magnus over water."""
    g = math.log(rh_pct / 100.0) + 17.62 * temp_c / (243.12 + temp_c)
    return 243.12 * g / (17.62 - g)


def _radiation(spot: Spot, cloud: np.typing.NDArray[np.float64]) -> list[tuple[float, ...]]:
    """Return global, direct normal and diffuse means of the hour before each stamp, W/m²."""
    import pandas as pd
    import pvlib

    middles = pd.DatetimeIndex([FIRST_HOUR + timedelta(hours=h - 0.5) for h in range(HOURS)])
    place = pvlib.solarposition.get_solarposition(middles, spot.latitude, spot.longitude)
    zenith = place["apparent_zenith"]
    clear = pvlib.clearsky.haurwitz(zenith)["ghi"].to_numpy()
    ghi = clear * (1.0 - 0.72 * cloud**2)
    split = pvlib.irradiance.erbs(ghi, zenith, middles.day_of_year.to_numpy())
    rows = zip(ghi, np.asarray(split["dni"]), np.asarray(split["dhi"]), strict=True)
    return [tuple(round(float(value), 1) for value in row) for row in rows]


def main(folder: Path) -> None:
    """Write one answer for each place."""
    write_answers(folder, {spot.name: answer(spot) for spot in SPOTS})


def write_answers(folder: Path, answers: Mapping[str, dict[str, Any]]) -> None:
    """Write answers by name, a column a line."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in answers.items():
        text = json.dumps(content, ensure_ascii=False, separators=(",", ":"))
        lines = text.replace('],"', '],\n"').replace('{"time"', '{\n"time"')
        (folder / f"{name}.json").write_text(lines + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))

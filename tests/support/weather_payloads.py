"""Answers in the forecast service's shape with invented values, for tests."""

from __future__ import annotations

import copy
import math
from datetime import UTC, datetime, timedelta

UNITS = {
    "time": "iso8601",
    "temperature_2m": "°C",
    "relative_humidity_2m": "%",
    "dew_point_2m": "°C",
    "precipitation": "mm",
    "precipitation_probability": "%",
    "weather_code": "wmo code",
    "wind_speed_10m": "m/s",
    "wind_gusts_10m": "m/s",
    "wind_direction_10m": "°",
    "shortwave_radiation": "W/m²",
    "direct_normal_irradiance": "W/m²",
    "diffuse_radiation": "W/m²",
    "cloud_cover": "%",
    "surface_pressure": "hPa",
}
BEGIN = datetime(2026, 4, 18, tzinfo=UTC)


def dew_point(air_c: float, rh_pct: float) -> float:
    """Return the dew point over water, Magnus form with the coefficients of WMO-No. 8."""
    log = math.log(rh_pct / 100) + 17.62 * air_c / (243.12 + air_c)
    return 243.12 * log / (17.62 - log)


def series(hours: int = 48, begin: datetime = BEGIN) -> dict[str, list]:
    """Return a mild spring as hourly columns in the service's names, time first."""
    columns: dict[str, list] = {name: [] for name in UNITS}
    for hour in range(hours):
        when = begin + timedelta(hours=hour)
        swing = math.sin((when.hour - 9) / 24 * 2 * math.pi)
        sun = max(0.0, math.sin((when.hour - 6.5) / 12 * math.pi))
        air, rh = round(11 + 6 * swing, 1), round(65 - 20 * swing)
        row = {
            "time": when.strftime("%Y-%m-%dT%H:%M"),
            "temperature_2m": air,
            "relative_humidity_2m": rh,
            "dew_point_2m": round(dew_point(air, rh), 1),
            "precipitation": 0.0,
            "precipitation_probability": 3,
            "weather_code": 1,
            "wind_speed_10m": round(2.4 + swing, 2),
            "wind_gusts_10m": round(5.0 + 2 * swing, 2),
            "wind_direction_10m": 235,
            "shortwave_radiation": round(620 * sun, 1),
            "direct_normal_irradiance": round(540 * sun, 1),
            "diffuse_radiation": round(150 * sun, 1),
            "cloud_cover": 25,
            "surface_pressure": 1011.4,
        }
        for name, value in row.items():
            columns[name].append(value)
    return columns


def answer(hours: int = 48, begin: datetime = BEGIN, **columns: list | None) -> dict:
    """Return one place's answer; a keyword replaces a column, None takes it out."""
    hourly = series(hours, begin)
    units = copy.copy(UNITS)
    for name, values in columns.items():
        if values is None:
            del hourly[name], units[name]
        else:
            hourly[name] = values
    return {
        "latitude": 52.125,
        "longitude": 1.0625,
        "generationtime_ms": 0.42,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 31.0,
        "hourly_units": units,
        "hourly": hourly,
    }


def with_hour(hour: int, **values: object) -> dict:
    """Return an answer in which single values of one hour are replaced."""
    payload = answer()
    for name, value in values.items():
        payload["hourly"][name][hour] = value
    return payload

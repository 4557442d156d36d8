"""Answers in the JSON shape of the Open-Meteo API, from hourly series given to them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

Column = Sequence[float | int | str | None]
Series = Mapping[str, Column]  # "time" in ISO form without a zone, the rest in the API's names
Source = Callable[[float, float], Series | None]
Places = Mapping[tuple[float, float], Series]
Json = dict[str, Any]

REACH_DEG = 0.5  # a place further than this from every series given has no data
MAX_LOCATIONS = 1000
KMH_PER_MS = 3.6

# Units of the API for metres per second, °C and millimetres; a name not listed is unknown to it.
UNITS = {
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
AIR_UNITS = {
    "pm10": "\u03bcg/m³",  # the Greek letter
    "alder_pollen": "grains/m³",
    "birch_pollen": "grains/m³",
    "grass_pollen": "grains/m³",
    "mugwort_pollen": "grains/m³",
    "olive_pollen": "grains/m³",
    "ragweed_pollen": "grains/m³",
}


class Api(NamedTuple):
    """One of the services: its variables with their units, and how far it sees."""

    units: Mapping[str, str]
    most_days: int
    usual_days: int


FORECAST = Api(UNITS, 16, 7)
AIR_QUALITY = Api(AIR_UNITS, 7, 5)


class RefusalError(Exception):
    """The API answers 400 with this reason."""


def answers(query: Mapping[str, str], source: Source, api: Api = FORECAST) -> Json | list[Json]:
    """Return the answer to a request: an object for one place, a list for several.

    Args:
        query: the parameters, decoded.
        source: gives the series of a place in m/s, °C and mm, or None.
        api: the service that is asked.

    Raises:
        RefusalError: the API would refuse this request.
    """
    latitudes, longitudes = _floats(query, "latitude"), _floats(query, "longitude")
    if len(latitudes) != len(longitudes):
        raise RefusalError(
            "Parameter 'latitude' and 'longitude' must have the same number of elements"
        )
    if len(latitudes) > MAX_LOCATIONS:
        raise RefusalError(f"Only up to {MAX_LOCATIONS} locations can be requested at once")
    elevations = _floats(query, "elevation") if "elevation" in query else [38.0] * len(latitudes)
    if len(elevations) != len(latitudes):
        raise RefusalError("Parameter 'elevation' must have the same number of elements")
    names = _variables(query, api)
    _check_days(query, api)
    places = [
        _place(index, *where, names, query, source, api)
        for index, where in enumerate(zip(latitudes, longitudes, elevations, strict=True))
    ]
    return places[0] if len(places) == 1 else places


def nearest(places: Places) -> Source:
    """Return a source that gives the series of the nearest place within reach."""

    def source(latitude: float, longitude: float) -> Series | None:
        near = min(places, key=lambda place: math.dist(place, (latitude, longitude)), default=None)
        if near is None or math.dist(near, (latitude, longitude)) > REACH_DEG:
            return None
        return places[near]

    return source


def _floats(query: Mapping[str, str], name: str) -> list[float]:
    """Return a comma list of numbers."""
    try:
        return [float(part) for part in query[name].split(",")]
    except KeyError:
        raise RefusalError(f"Parameter '{name}' is required") from None
    except ValueError:
        raise RefusalError(f"Parameter '{name}' is not a list of numbers") from None


def _variables(query: Mapping[str, str], api: Api) -> list[str]:
    """Return the hourly variables asked for."""
    names = [name for name in query.get("hourly", "").split(",") if name]
    for name in names:
        if name not in api.units:
            raise RefusalError(
                "Data corrupted at path ''. Cannot initialize the variable "
                f"from invalid String value {name}."
            )
    return names


def _check_days(query: Mapping[str, str], api: Api) -> None:
    """Refuse more days than there are."""
    days = query.get("forecast_days", str(api.usual_days))
    if not days.isdecimal() or int(days) > api.most_days:
        raise RefusalError(
            f"Forecast days is invalid. Allowed range 0 to {api.most_days}. Given {days}."
        )


def _place(
    index: int,
    latitude: float,
    longitude: float,
    elevation: float,
    names: list[str],
    query: Mapping[str, str],
    source: Source,
    api: Api,
) -> Json:
    """Return one place's object, its keys in the API's order."""
    if not -90 <= latitude <= 90:
        raise RefusalError(f"Latitude must be in range of -90 to 90°. Given: {latitude}.")
    if not -180 <= longitude <= 180:
        raise RefusalError(f"Longitude must be in range of -180 to 180°. Given: {longitude}.")
    series = source(latitude, longitude)
    if series is None:
        raise RefusalError("No data is available for this location")
    return {
        "latitude": round(latitude * 16) / 16,  # the middle of a grid cell, not the place asked
        "longitude": round(longitude * 16) / 16,
        "generationtime_ms": 0.25,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": elevation,
        **({"location_id": index} if index else {}),
        **_hourly(names, series, api, in_ms=query.get("wind_speed_unit") == "ms"),
    }


def _hourly(names: list[str], series: Series, api: Api, *, in_ms: bool) -> Json:
    """Return units and columns; a variable without a series is null in the unit ``undefined``."""
    units, columns = {"time": "iso8601"}, {"time": list(series["time"])}
    for name in names:
        if name not in series:
            units[name], columns[name] = "undefined", [None] * len(series["time"])
        elif api.units[name] == "m/s" and not in_ms:
            units[name], columns[name] = "km/h", in_kmh(series[name])
        else:
            units[name], columns[name] = api.units[name], list(series[name])
    return {"hourly_units": units, "hourly": columns}


def in_kmh(column: Column) -> list[float | int | str | None]:
    """Return wind in the API's default unit."""
    return [
        round(value * KMH_PER_MS, 1) if isinstance(value, int | float) else None for value in column
    ]

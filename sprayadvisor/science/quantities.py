"""The weather quantities, and what a number with a time stamp says about the time around it."""

from __future__ import annotations

from enum import Enum

STEP_MIN = 15  # one step of the grid everything is computed on, minutes


class Meaning(Enum):
    """What a number stamped with a time says about the time around it."""

    INSTANT = "instant"
    MEAN = "mean of the time before"
    SUM = "sum of the time before"
    MAXIMUM = "largest of the time before"


# The one list of weather quantities: name, what the forecast's number means, whether a verdict
# can do without it. Adding a quantity begins here.
QUANTITIES: dict[str, tuple[Meaning, bool]] = {
    "air_temp_c": (Meaning.INSTANT, True),
    "rh_pct": (Meaning.INSTANT, True),
    "wind_10m_ms": (Meaning.INSTANT, True),
    "gust_10m_ms": (Meaning.MAXIMUM, True),
    "rain_mm": (Meaning.SUM, True),
    "ghi_wm2": (Meaning.MEAN, True),
    "dni_wm2": (Meaning.MEAN, True),
    "dhi_wm2": (Meaning.MEAN, True),
    "cloud_fraction": (Meaning.INSTANT, True),
    "dew_point_c": (Meaning.INSTANT, False),
    "rain_probability_pct": (Meaning.MAXIMUM, False),
    "wind_from_deg": (Meaning.INSTANT, False),
    "pressure_hpa": (Meaning.INSTANT, False),
    "weather_code": (Meaning.INSTANT, False),
}
# What a person calls them, where one is missing or cannot be true.
PLAIN_NAMES: dict[str, str] = {
    "air_temp_c": "air temperature",
    "rh_pct": "humidity",
    "wind_10m_ms": "wind",
    "gust_10m_ms": "gusts",
    "rain_mm": "rain",
    "ghi_wm2": "sunshine",
    "dni_wm2": "direct sun",
    "dhi_wm2": "daylight",
    "cloud_fraction": "cloud",
    "dew_point_c": "dew point",
    "rain_probability_pct": "chance of rain",
    "wind_from_deg": "wind direction",
    "pressure_hpa": "air pressure",
    "weather_code": "weather code",
}

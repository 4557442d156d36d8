"""Units at the edge: conversions and the way a number is shown.

Inside, everything is °C, K, m/s, hPa, W/m² and minutes. A temperature *difference* is converted
without the offset, which is why it has functions of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

TemperatureUnit = Literal["c", "f"]
WindUnit = Literal["ms", "kmh", "mph", "kn"]

_WIND_PER_MS: dict[WindUnit, float] = {
    "ms": 1.0,
    "kmh": 3.6,
    "mph": 3600 / 1609.344,
    "kn": 3600 / 1852,
}
_WIND_LABEL: dict[WindUnit, str] = {"ms": "m/s", "kmh": "km/h", "mph": "mph", "kn": "kn"}


def c_to_f(temp_c: float) -> float:
    """Return degrees Fahrenheit for degrees Celsius."""
    return temp_c * 1.8 + 32.0


def f_to_c(temp_f: float) -> float:
    """Return degrees Celsius for degrees Fahrenheit."""
    return (temp_f - 32.0) / 1.8


def k_to_f_difference(difference_k: float) -> float:
    """Return a difference in °F for a difference in K."""
    return difference_k * 1.8


def wind_from_ms(wind_ms: float, unit: WindUnit) -> float:
    """Return a wind speed in ``unit`` for one in m/s."""
    return wind_ms * _WIND_PER_MS[unit]


def wind_to_ms(wind: float, unit: WindUnit) -> float:
    """Return a wind speed in m/s for one in ``unit``."""
    return wind / _WIND_PER_MS[unit]


@dataclass(frozen=True, slots=True)
class Display:
    """How this user wants numbers shown."""

    temperature: TemperatureUnit = "c"
    wind: WindUnit = "ms"

    @property
    def temp_unit(self) -> str:
        """Unit of temperatures, ``°C`` or ``°F``."""
        return f"°{self.temperature.upper()}"

    @property
    def speed_unit(self) -> str:
        """Unit of wind speeds."""
        return _WIND_LABEL[self.wind]

    def temp(self, temp_c: float, digits: int = 0) -> str:
        """Return a temperature as words, ``unknown`` for NaN."""
        if math.isnan(temp_c):
            return "unknown"
        value = temp_c if self.temperature == "c" else c_to_f(temp_c)
        return f"{_plain(value, digits)} {self.temp_unit}"

    def difference(self, difference_k: float, digits: int = 1) -> str:
        """Return a temperature difference as words, ``unknown`` for NaN.

        Painters say degrees; kelvin stay in JSON and charts.
        """
        if math.isnan(difference_k):
            return "unknown"
        size = difference_k if self.temperature == "c" else k_to_f_difference(difference_k)
        return f"{_plain(size, digits)} {self.temp_unit}"

    def speed(self, wind_ms: float, digits: int = 0) -> str:
        """Return a wind speed as words, ``unknown`` for NaN."""
        if math.isnan(wind_ms):
            return "unknown"
        return f"{_plain(wind_from_ms(wind_ms, self.wind), digits)} {self.speed_unit}"


def _plain(value: float, digits: int) -> str:
    """Return a rounded number that never reads ``-0``."""
    return f"{round(value, digits) + 0.0:.{digits}f}"

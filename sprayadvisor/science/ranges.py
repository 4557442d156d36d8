"""What physics allows for each quantity, and how a formula is laid over scalars and arrays.

A scalar comes from a person or a reading and is refused when it cannot be true. An array comes
from a parser that has already turned such values to NaN; it is computed as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from inspect import Parameter, signature
from typing import NamedTuple, ParamSpec

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.errors import RangeError

Floats = NDArray[np.float64]
Values = float | Floats
P = ParamSpec("P")


class PhysicalRange(NamedTuple):
    """Lowest and highest value that can be true, and the unit both are in."""

    low: float
    high: float
    unit: str


_AIR = PhysicalRange(-90.0, 60.0, "°C")  # a little beyond the records on land, −89.2 and 56.7
# Engineering estimates, wide on purpose: they catch wrong units and broken instruments, not odd
# weather. The strongest surface wind ever measured outside a tornado is 113 m/s.
PHYSICAL_RANGES: dict[str, PhysicalRange] = {
    "air_temp_c": _AIR,
    "dew_point_c": PhysicalRange(-120.0, 60.0, "°C"),
    "temp_c": PhysicalRange(-100.0, 200.0, "°C"),
    "panel_temp_c": PhysicalRange(-90.0, 200.0, "°C"),
    "rh_pct": PhysicalRange(0.0, 100.0, "%"),
    "vapour_pressure_hpa": PhysicalRange(0.0, 1100.0, "hPa"),
    "pressure_hpa": PhysicalRange(500.0, 1100.0, "hPa"),
    "wind_10m_ms": PhysicalRange(0.0, 115.0, "m/s"),
    "wind_ms": PhysicalRange(0.0, 115.0, "m/s"),
    "gust_10m_ms": PhysicalRange(0.0, 115.0, "m/s"),
    "gust_ms": PhysicalRange(0.0, 115.0, "m/s"),
    "gust_ground_ms": PhysicalRange(0.0, 115.0, "m/s"),
    "wind_from_deg": PhysicalRange(0.0, 360.0, "°"),
    "rain_mm": PhysicalRange(0.0, 400.0, "mm"),
    "rain_probability_pct": PhysicalRange(0.0, 100.0, "%"),
    "ghi_wm2": PhysicalRange(0.0, 1600.0, "W/m²"),
    "dni_wm2": PhysicalRange(0.0, 1500.0, "W/m²"),
    "dhi_wm2": PhysicalRange(0.0, 1400.0, "W/m²"),
    "clear_ghi_wm2": PhysicalRange(0.0, 1600.0, "W/m²"),
    "longwave_down_wm2": PhysicalRange(0.0, 1000.0, "W/m²"),
    "cloud_fraction": PhysicalRange(0.0, 1.0, ""),
    "weather_code": PhysicalRange(0.0, 99.0, ""),
    "sun_elevation_deg": PhysicalRange(-90.0, 90.0, "°"),
    "zenith_deg": PhysicalRange(0.0, 180.0, "°"),
    "hours_to_sunset": PhysicalRange(float("-inf"), float("inf"), "h"),
    "hours_since_rain": PhysicalRange(0.0, float("inf"), "h"),
    "hours_since_soaked": PhysicalRange(0.0, float("inf"), "h"),
    "month": PhysicalRange(1.0, 12.0, ""),
    "grains_m3": PhysicalRange(0.0, 1e5, "grains/m³"),
    "pm10_ugm3": PhysicalRange(0.0, 1e5, "µg/m³"),
    "absorbed_wm2": PhysicalRange(0.0, 10_000.0, "W/m²"),
    "sky_temp_c": PhysicalRange(-150.0, 60.0, "°C"),
    "convection_wm2k": PhysicalRange(0.0, 1000.0, "W/m²K"),
    "emittance": PhysicalRange(0.01, 1.0, ""),
    "sky_view": PhysicalRange(0.0, 1.0, ""),
    "tilt_deg": PhysicalRange(0.0, 180.0, "°"),
    "exposed": PhysicalRange(0.0, 1.0, ""),
    "azimuth_deg": PhysicalRange(-360.0, 720.0, "°"),
    "excess_k": PhysicalRange(-150.0, 250.0, "K"),
    "reference_temp_c": PhysicalRange(-20.0, 150.0, "°C"),
    "reference_rh_pct": PhysicalRange(0.0, 99.0, "%"),
    "stall_temp_c": PhysicalRange(-30.0, 60.0, "°C"),
    "activation_kj_mol": PhysicalRange(0.0, 200.0, "kJ/mol"),
    "printed_min": PhysicalRange(0.0, 60_000.0, "min"),
    "rate": PhysicalRange(0.0, 1e6, ""),
    "cap": PhysicalRange(0.01, 100.0, ""),
    "lamp_kw": PhysicalRange(0.0, 50.0, "kW"),
    "lit_area_m2": PhysicalRange(0.01, 20.0, "m²"),
    "repair_area_m2": PhysicalRange(0.0, 20.0, "m²"),
    "from_temp_c": PhysicalRange(-90.0, 200.0, "°C"),
    "goal_temp_c": PhysicalRange(-90.0, 200.0, "°C"),
    "heat_j_m2k": PhysicalRange(500.0, 100_000.0, "J/m²K"),
    "skin_j_m2k": PhysicalRange(500.0, 100_000.0, "J/m²K"),
    "lift_k": PhysicalRange(0.0, 200.0, "K"),
    "lamp_min": PhysicalRange(0.0, 1440.0, "min"),
    "after_min": PhysicalRange(0.0, 1440.0, "min"),
}


def check_scalar(name: str, value: float) -> None:
    """Refuse a scalar that cannot be true; NaN means unknown and passes.

    Raises:
        RangeError: the value lies outside ``PHYSICAL_RANGES[name]``.
    """
    allowed = PHYSICAL_RANGES[name]
    if value < allowed.low or value > allowed.high:
        raise RangeError(name, value, allowed.low, allowed.high, allowed.unit)


def elementwise(function: Callable[P, Values]) -> Callable[P, Values]:
    """Lay a formula over scalars and arrays alike.

    Every parameter must be named in ``PHYSICAL_RANGES``, except keyword-only ones, which are
    settings and pass as they are. Scalars are checked and a result without dimensions comes back
    as a plain ``float``; arrays broadcast. NumPy's warnings are silenced because NaN is the
    intended answer where a formula has none (a logarithm of zero humidity), and arrays are
    promised to be computed as they are.
    """
    parameters = signature(function).parameters.values()
    names = tuple(each.name for each in parameters if each.kind is not Parameter.KEYWORD_ONLY)
    unknown = [name for name in names if name not in PHYSICAL_RANGES]
    if unknown:
        raise TypeError(f"{function.__name__}: no physical range for {', '.join(unknown)}.")

    def prepared(name: str, value: object) -> object:
        if name not in names:
            return value
        array = np.asarray(value, dtype=np.float64)
        if array.ndim:
            return array
        check_scalar(name, float(array))
        return float(array)

    @wraps(function)
    def laid(*args: P.args, **kwargs: P.kwargs) -> Values:
        positional = [prepared(name, value) for name, value in zip(names, args, strict=False)]
        named = {name: prepared(name, value) for name, value in kwargs.items()}
        with np.errstate(all="ignore"):
            result = function(*positional, **named)  # type: ignore[arg-type]  # same names, prepared
        return float(result) if np.ndim(result) == 0 else result

    return laid

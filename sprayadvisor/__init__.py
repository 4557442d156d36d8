"""Sprayadvisor: is it spraying weather, on this panel, for this repair?

The names below are the library's surface; each is loaded when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sprayadvisor.advice.verdict import Word
    from sprayadvisor.science.drying import cure_minutes, flash_minutes, flash_rate
    from sprayadvisor.science.humidity import dew_point_c, frost_point_c, surface_rh_pct
    from sprayadvisor.science.panel import steady_temp_c

__all__ = [
    "Word",
    "cure_minutes",
    "dew_point_c",
    "flash_minutes",
    "flash_rate",
    "frost_point_c",
    "steady_temp_c",
    "surface_rh_pct",
]

_HOMES = {
    "Word": "sprayadvisor.advice.verdict",
    "cure_minutes": "sprayadvisor.science.drying",
    "dew_point_c": "sprayadvisor.science.humidity",
    "flash_minutes": "sprayadvisor.science.drying",
    "flash_rate": "sprayadvisor.science.drying",
    "frost_point_c": "sprayadvisor.science.humidity",
    "steady_temp_c": "sprayadvisor.science.panel",
    "surface_rh_pct": "sprayadvisor.science.humidity",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - whatever lives there
    """Load a public name from where it lives."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)

"""A check is one quantity held between two bounds on each side.

``None`` stands for no bound. The *inside* level asks for the stricter of inside and stop bounds,
the *stop* level for the stop bounds alone. A value of NaN is unknown at every level that has a
bound: it is never inside one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np

from sprayadvisor.advice.outlook import Floats
from sprayadvisor.advice.sheet import Origin


class Level(IntEnum):
    """How strictly a play is judged; also the index of the level axis of arrays."""

    INSIDE = 0
    STOP = 1


@dataclass(frozen=True, slots=True)
class Words:
    """How a quantity is spoken of, and what makes one margin as scarce as another.

    ``scale`` (in ``unit``) divides margins before they are compared: trade judgement.
    """

    label: str
    unit: str
    scale: float


# What is either so or not so, and rain, has a scale so small that it never looks scarce while it
# holds.
QUANTITY_WORDS: dict[str, Words] = {
    "panel_temp_c": Words("panel temperature", "°C", 2.0),
    "air_temp_c": Words("air temperature", "°C", 2.0),
    "rh_pct": Words("humidity", "%", 5.0),
    "dew_margin_k": Words("dew margin", "K", 1.0),
    "panel_wet": Words("water on the panel", "", 0.05),
    "wind_ms": Words("wind at the gun", "m/s", 1.0),
    "gust_ms": Words("gusts at the gun", "m/s", 1.0),
    "gust_sustained_ms": Words("gusts that last", "m/s", 1.0),
    "wet_hour_mm": Words("rain", "mm", 0.01),
    "light_lx": Words("light", "lx", 500.0),
    "diffuse_lx": Words("soft daylight", "lx", 500.0),
    "low_sun": Words("low sun", "", 0.05),
    "downwind": Words("what stands downwind", "", 0.05),
    "insect_level": Words("insects", "", 0.05),
    "insect_lamp_level": Words("insects at the lamp", "", 0.05),
    "dust_level": Words("dust", "", 0.05),
    "drip_level": Words("drips", "", 0.05),
    "pollen_level": Words("pollen", "", 0.05),
    "pm10_level": Words("fine dust in the air", "", 0.05),
    "off_hours": Words("hours agreed", "", 0.05),
    "elapsed_min": Words("time since the stage before", "min", 15.0),
    "lamp_temp_c": Words("metal under the lamp", "°C", 2.0),
    "heating": Words("heating", "", 1.0),
    "drying": Words("drying", "", 1.0),
    "forecast": Words("forecast", "", 1.0),
}


@dataclass(frozen=True, slots=True)
class Check:
    """One quantity and its bounds, with where they come from.

    ``array`` names where its values stand, if not under the quantity's own name: a panel just
    warmed is a panel still, at another temperature.
    """

    quantity: str
    origin: Origin
    inside_min: float | None = None
    inside_max: float | None = None
    stop_min: float | None = None
    stop_max: float | None = None
    array: str = ""
    _hash: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Work out the hash once: tables are looked up by checks many thousand times."""
        bounds = (self.inside_min, self.inside_max, self.stop_min, self.stop_max)
        object.__setattr__(self, "_hash", hash((self.quantity, self.origin, bounds, self.array)))

    def __hash__(self) -> int:
        """Return the hash of what is compared."""
        return self._hash

    @property
    def read_from(self) -> str:
        """Name of the array its values stand in."""
        return self.array or self.quantity

    def bounds(self, level: Level) -> tuple[float | None, float | None]:
        """Return the lowest and the highest value allowed at ``level``."""
        if level is Level.STOP:
            return self.stop_min, self.stop_max
        lows = [bound for bound in (self.inside_min, self.stop_min) if bound is not None]
        highs = [bound for bound in (self.inside_max, self.stop_max) if bound is not None]
        return max(lows, default=None), min(highs, default=None)

    @property
    def stops_where_inside_ends(self) -> bool:
        """Whether both levels ask for the same."""
        return self.bounds(Level.INSIDE) == self.bounds(Level.STOP)

    def margin(self, value: Floats, level: Level) -> Floats:
        """Return how far ``value`` lies inside the nearer bound, in the quantity's unit.

        Negative outside; NaN for NaN; infinite where the level has no bound.
        """
        low, high = self.bounds(level)
        if low is None and high is None:
            return np.full(np.shape(value), np.inf)
        over = np.inf if low is None else value - low
        under = np.inf if high is None else high - value
        return np.asarray(np.minimum(over, under), dtype=np.float64)

    @property
    def words(self) -> Words:
        """How this check's quantity is spoken of."""
        return QUANTITY_WORDS[self.quantity]

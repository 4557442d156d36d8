"""What a cover and the surroundings leave of sun, sky, wind and rain: one table."""

from __future__ import annotations

from datetime import datetime
from types import MappingProxyType
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.model import Cover, Site, Surroundings
from sprayadvisor.advice.outlook import Floats, Times


class Shares(NamedTuple):
    """What comes through a cover, each 0 to 1, and how long it drips.

    Attributes:
        beam: of the direct sun.
        diffuse: of the sky's light and of what the ground throws back.
        sky: of the open sky's view, for the long-wave balance.
        wind: of mean wind and gust.
        rain: of the rain, where the wind takes it in.
        drip_steps: quarter hours it goes on dripping after rain.
    """

    beam: float
    diffuse: float
    sky: float
    wind: float
    rain: float
    drip_steps: int = 0


# Engineering estimates (EE) and trade judgements (TJ); none is measured.
COVER_SHARES: MappingProxyType[Cover, Shares] = MappingProxyType(
    {
        Cover.OPEN_SKY: Shares(1.0, 1.0, 1.0, 1.0, 1.0),
        Cover.SHADE: Shares(0.0, 1.0, 1.0, 1.0, 1.0),  # EE: the wall's shadow, the sky above
        Cover.TREES: Shares(0.2, 0.4, 0.4, 1.0, 1.0, 4),  # EE; TJ: they drip 30 to 60 min
        # EE: light roof, two sides open; see ``blows_in`` for its rain
        Cover.CANOPY: Shares(0.0, 0.3, 0.1, 1.0, 1.0),
        Cover.INDOORS: Shares(0.0, 0.0, 0.0, 0.1, 0.0),  # EE: door open; air as outdoors
    }
)
# Share of mean wind and gust left 2 to 3 m behind a van. A solid wall leaves half of that at one to
# two of its heights; a van has two ends to blow around, and the wind turns (TJ).
VAN_WIND = 0.7
# Share of the sky that houses and hedges leave to a panel's long-wave view (EE).
SURROUNDINGS_SKY: MappingProxyType[Surroundings, float] = MappingProxyType(
    {Surroundings.OPEN: 1.0, Surroundings.SUBURB: 0.9, Surroundings.DENSE: 0.7}
)

# Under a canopy with open sides fine rain in a light wind stays out; beyond either it blows in by
# 1 to 1.5 m, and that is where the panel is (TJ).
FINE_RAIN_MM_H = 0.5
BLOWS_IN_MS = 4.0


def blows_in(rain_mm_h: Floats, wind_ms: Floats) -> Floats:
    """Return 0 where a canopy keeps the rain off, 1 where it comes in.

    Args:
        rain_mm_h: rain of the hour, mm.
        wind_ms: mean wind under it, m/s.

    Returns:
        Of the same shape; where either is not known the rain counts as coming in.
    """
    kept_off = (rain_mm_h <= FINE_RAIN_MM_H) & (wind_ms < BLOWS_IN_MS)
    return np.where(kept_off, 0.0, 1.0)


def in_house_shade(site: Site, times_utc: Times) -> NDArray[np.bool_]:
    """Return (step,): whether the site's own clock times put the car into shade.

    Args:
        site: the place, with ``shade_before`` and ``shade_after`` in local time.
        times_utc: (step,) times, UTC.
    """
    shaded = np.zeros(len(times_utc), dtype=bool)
    if site.shade_before is None and site.shade_after is None:
        return shaded
    zone = ZoneInfo(site.zone)
    for step, seconds in enumerate(times_utc.astype("datetime64[s]").astype(np.int64).tolist()):
        clock = datetime.fromtimestamp(seconds, zone).time()
        before = site.shade_before is not None and clock < site.shade_before
        after = site.shade_after is not None and clock >= site.shade_after
        shaded[step] = before or after
    return shaded

"""The invented air of the story: pollen and fine dust, in the air-quality API's names and units.

Birch is in bloom inland and hardly by the sea. ``python -m sprayadvisor.demo.invented_air FOLDER``
writes one answer for each place; those written for the demo lie in ``fixtures/air_quality``.
"""

from __future__ import annotations

import math
import sys
from datetime import timedelta
from pathlib import Path
from typing import Any

from sprayadvisor.demo.invented_weather import FIRST_HOUR, SPOTS, Spot, write_answers
from sprayadvisor.demo.weather_answers import AIR_UNITS

FIRST_AIR_HOUR = FIRST_HOUR + timedelta(days=1)  # no day that is past
AIR_HOURS = 5 * 24
BIRCH_M3 = {"alder-close": 14.0, "rope-walk": 9.0, "carrick-pier": 2.0, "hazel-court": 38.0}


def answer(spot: Spot) -> dict[str, Any]:
    """Return the API's answer for a place: hourly columns and their units."""
    hours = [FIRST_AIR_HOUR + timedelta(hours=h) for h in range(AIR_HOURS)]
    columns: dict[str, list[float]] = {name: [] for name in AIR_UNITS}
    for at in hours:
        warm = max(math.sin(math.pi * (at.hour - 7.0) / 13.0), 0.0)  # blooms by day, gone at night
        columns["pm10"].append(round(11.0 + 6.0 * warm, 1))
        columns["alder_pollen"].append(round(0.6 * warm, 1))
        columns["birch_pollen"].append(round(BIRCH_M3[spot.name] * warm, 1))
        columns["grass_pollen"].append(round(0.4 * warm, 1))
        for late in ("mugwort_pollen", "olive_pollen", "ragweed_pollen"):
            columns[late].append(0.0)
    return {
        "latitude": spot.latitude,
        "longitude": spot.longitude,
        "generationtime_ms": 0.3,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": spot.elevation_m,
        "hourly_units": {"time": "iso8601", **AIR_UNITS},
        "hourly": {"time": [f"{at:%Y-%m-%dT%H:%M}" for at in hours], **columns},
    }


def main(folder: Path) -> None:
    """Write one answer for each place."""
    write_answers(folder, {spot.name: answer(spot) for spot in SPOTS})


if __name__ == "__main__":
    main(Path(sys.argv[1]))

"""How far two sites are apart, and how long the van takes from one to the next."""

from __future__ import annotations

import math

from sprayadvisor.advice.model import Site

# Trade judgement: through towns and lanes a van makes 35 km/h of the straight line times 1.3.
DRIVE_KMH = 35.0
DETOUR = 1.3
LEAST_DRIVE_MIN = 10.0  # park, unload, ring the bell


def drive_min(a: Site, b: Site) -> float:
    """Return the minutes it takes from one site to the next, parking included."""
    km = DETOUR * distance_km(a.latitude, a.longitude, b.latitude, b.longitude)
    return LEAST_DRIVE_MIN + 60.0 * km / DRIVE_KMH


def distance_km(from_lat: float, from_lon: float, to_lat: float, to_lon: float) -> float:
    """Return the great-circle distance between two places in degrees, km (haversine, R 6371 km)."""
    lat_a, lat_b = math.radians(from_lat), math.radians(to_lat)
    half_lat = (lat_b - lat_a) / 2
    half_lon = math.radians(to_lon - from_lon) / 2
    chord = math.sin(half_lat) ** 2 + math.cos(lat_a) * math.cos(lat_b) * math.sin(half_lon) ** 2
    return 2 * 6371.0 * math.asin(math.sqrt(min(chord, 1.0)))

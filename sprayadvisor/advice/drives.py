"""How long the van takes from one site to the next."""

from __future__ import annotations

from sprayadvisor.advice.model import Site, distance_km

# Trade judgement: through towns and lanes a van makes 35 km/h of the straight line times 1.3.
DRIVE_KMH = 35.0
DETOUR = 1.3
LEAST_DRIVE_MIN = 10.0  # park, unload, ring the bell


def drive_min(a: Site, b: Site) -> float:
    """Return the minutes it takes from one site to the next, parking included."""
    km = DETOUR * distance_km(a.latitude, a.longitude, b.latitude, b.longitude)
    return LEAST_DRIVE_MIN + 60.0 * km / DRIVE_KMH

"""From an answer to the outlook that advice works with."""

from __future__ import annotations

from datetime import datetime

from sprayadvisor.adapters.open_meteo.parse import parse_forecast
from sprayadvisor.advice.model import Site
from sprayadvisor.advice.outlook import Outlook, Provenance
from sprayadvisor.errors import InputError, WeatherMalformed

SOURCE = "Open-Meteo.com"


def read_outlook(payload: bytes, site: Site, *, fetched_at: datetime, stale: bool) -> Outlook:
    """Return the quarter-hourly weather at a site.

    Quarter hours are never taken for native: outside a few regions the service interpolates them
    from hours, and its answer does not tell which.

    Args:
        payload: the service's answer for this place.
        site: where; the sun's path shares the hourly radiation out.
        fetched_at: when the answer came, aware, UTC.
        stale: whether it stands in for a newer one that could not be had.

    Raises:
        WeatherMalformed: the answer cannot be used.
    """
    # pandas and pvlib load only when weather is read
    from sprayadvisor.science.regrid import to_grid

    frame = parse_forecast(payload, source=SOURCE)
    try:
        grid = to_grid(frame, site.latitude, site.longitude, site.elevation_m)
    except InputError as error:
        raise WeatherMalformed(
            f"The answer from {SOURCE} cannot be used: it is too short ({error})"
        ) from error
    return Outlook(
        starts_utc=grid.starts_utc,
        values=grid.values,
        wet_hour_mm=grid.wet_hour_mm,
        provenance=Provenance(SOURCE, fetched_at, quarter_hours_native=False, stale=stale),
        suspect=frame.attrs["suspect"],
        missing=frame.attrs["missing"],
    )

"""From an answer of the air-quality service to what advice knows of pollen and fine dust."""

from __future__ import annotations

import logging
from datetime import datetime

from sprayadvisor.adapters.open_meteo.checks import mark_out_of_range
from sprayadvisor.adapters.open_meteo.fields import AIR_FIELDS
from sprayadvisor.adapters.open_meteo.outlook import SOURCE
from sprayadvisor.adapters.open_meteo.parse import parse_hourly
from sprayadvisor.advice.model import Site
from sprayadvisor.advice.outlook import AirQuality, Provenance

log = logging.getLogger(__name__)


def read_air_quality(
    payload: bytes, site: Site, *, fetched_at: datetime, stale: bool
) -> AirQuality:
    """Return pollen and fine dust at a site, hour by hour.

    Pollen is forecast in Europe only; elsewhere, and where a value is null or cannot be true, it
    is NaN. An answer that knows nothing at all is an answer all the same.

    Args:
        payload: the service's answer for this place.
        site: where, for the log.
        fetched_at: when the answer came, aware, UTC.
        stale: whether it stands in for a newer one that could not be had.

    Raises:
        WeatherMalformed: the answer cannot be used.
    """
    import pandas as pd

    frame, suspect = mark_out_of_range(parse_hourly(payload, AIR_FIELDS, SOURCE), AIR_FIELDS)
    for sentence in suspect:
        log.warning("%s: %s", site.name, sentence)
    return AirQuality(
        hours_utc=pd.DatetimeIndex(frame.index)
        .tz_localize(None)
        .to_numpy()
        .astype("datetime64[s]"),
        values={field.name: frame[field.name].to_numpy() for field in AIR_FIELDS},
        provenance=Provenance(SOURCE, fetched_at, stale=stale),
    )

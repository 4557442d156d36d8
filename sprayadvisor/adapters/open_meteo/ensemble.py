"""The runs of an ensemble: one answer a place, a column for each variable and run."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sprayadvisor.adapters.open_meteo import strict_json
from sprayadvisor.adapters.open_meteo.checks import mark_suspects
from sprayadvisor.adapters.open_meteo.fields import FIELDS, FORECAST, Service
from sprayadvisor.adapters.open_meteo.outlook import SOURCE
from sprayadvisor.adapters.open_meteo.parse import parse_hourly
from sprayadvisor.advice.model import Site
from sprayadvisor.advice.outlook import Outlook, Provenance
from sprayadvisor.errors import InputError, WeatherMalformed
from sprayadvisor.science.quantities import QUANTITIES

# What a member is made of; the rest of the forecast's quantities decide nothing run by run.
_ASKED = {
    "air_temp_c", "rh_pct", "wind_10m_ms", "gust_10m_ms", "rain_mm", "ghi_wm2", "dni_wm2",
    "dhi_wm2", "cloud_fraction",
}  # fmt: skip
ENSEMBLE_FIELDS = tuple(field for field in FIELDS if field.name in _ASKED)
MOST_RUNS = 64  # of any model; a call counts as so many
_MEMBER = re.compile(r"_member\d\d$")


def ensemble_service(model: str) -> Service:
    """Return the ensemble service, asked for one model.

    Args:
        model: as the service names it, such as ``icon_seamless_eps``.
    """
    asked = FORECAST.request | {
        "hourly": ",".join(field.asked for field in ENSEMBLE_FIELDS),
        "forecast_days": "5",
        "models": model,
    }
    return Service(
        "ensemble service", "forecast.ensemble_url", "/v1/ensemble", asked, True, MOST_RUNS
    )


def read_runs(
    payload: bytes, site: Site, *, fetched_at: datetime, stale: bool
) -> tuple[Outlook, ...]:
    """Return the quarter-hourly weather at a site in each run, the control run first.

    Args:
        payload: the service's answer for this place.
        site: where; the sun's path shares the hourly radiation out.
        fetched_at: when the answer came, aware, UTC.
        stale: whether it stands in for a newer one that could not be had.

    Raises:
        WeatherMalformed: the answer cannot be used.
    """
    try:
        content = strict_json.loads(payload)
    except ValueError as error:
        raise _unusable(f"it is not valid JSON ({error})") from error
    if not isinstance(content, Mapping) or not isinstance(content.get("hourly"), Mapping):
        raise _unusable("it holds no hours")
    provenance = Provenance(SOURCE, fetched_at, stale=stale)
    return tuple(_run(content, suffix, site, provenance) for suffix in _suffixes(content))


def _suffixes(content: Mapping[str, Any]) -> list[str]:
    """Return what stands behind a variable's name for each run."""
    found = {match[0] for name in content["hourly"] if (match := _MEMBER.search(name))}
    return ["", *sorted(found)]


def _run(content: Mapping[str, Any], suffix: str, site: Site, provenance: Provenance) -> Outlook:
    """Return one run as an outlook; a variable that it does not have is not known."""
    from sprayadvisor.science.regrid import to_grid

    one = {**content, **{part: _of_run(content, part, suffix) for part in _PARTS}}
    frame = parse_hourly(one, FIELDS, SOURCE)[list(QUANTITIES)]
    frame, suspect = mark_suspects(frame)
    try:
        grid = to_grid(frame, site.latitude, site.longitude, site.elevation_m)
    except InputError as error:
        raise _unusable(f"it is too short ({error})") from error
    return Outlook(grid.starts_utc, grid.values, grid.wet_hour_mm, provenance, suspect)


_PARTS = ("hourly", "hourly_units")


def _of_run(content: Mapping[str, Any], part: str, suffix: str) -> dict[str, Any]:
    """Return the columns, or units, of one run under the variables' plain names."""
    whole = content.get(part)
    if not isinstance(whole, Mapping):
        raise _unusable(f"the part {part} is missing")
    names = ["time", *(field.asked for field in ENSEMBLE_FIELDS)]
    keys = {name: name if name == "time" else name + suffix for name in names}
    return {name: whole[key] for name, key in keys.items() if key in whole}


def _unusable(problem: str) -> WeatherMalformed:
    return WeatherMalformed(
        f"The answer of the ensemble service cannot be used: {problem}; "
        "ask again, or leave forecast.ensemble_model out."
    )

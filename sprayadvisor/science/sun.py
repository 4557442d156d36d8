"""Where the sun stands, what it would give under a clear sky, and what lands on a tilted panel.

The formulae are pvlib's; this module joins them to plain arrays. pvlib is imported inside the
functions because it takes a second to load. Angles are degrees; azimuths run clockwise from north.
"""

# Floats match the first signature of each pair, so that the overlap with the second is harmless.
# mypy: disable-error-code="overload-overlap"

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from types import MappingProxyType
from typing import NamedTuple, overload
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.science.quantities import STEP_MIN
from sprayadvisor.science.ranges import Floats, Values, elementwise

# Share of the sunshine a ground throws back. Paved and grass: pvlib's table of surface albedos
# (urban, grass). Gravel: value from memory.
GROUND_ALBEDO: MappingProxyType[str, float] = MappingProxyType(
    {"paved": 0.18, "gravel": 0.25, "grass": 0.20}
)

_REFRACTION_TEMP_C = 12.0  # the solar position algorithm's own default, good to 0.01° above 1°
_DELTA_T_S = 67.0  # terrestrial minus universal time; a second of it is 0.004° of azimuth
_HORIZON_REFRACTION_DEG = 0.5667
_SUNSET_DEG = -0.27  # its upper edge on the horizon: half the sun's width
# Nearer the horizon than this the ratio of tilted to level beam grows without bound, and an hour's
# mean divided by it says nothing (engineering estimate).
_LEAST_SUN_FOR_RATIO_DEG = 5.0


class SunPosition(NamedTuple):
    """Where the sun stands, refraction included, degrees.

    Attributes:
        zenith_deg: angle from straight up.
        elevation_deg: angle above the horizon, negative below it.
        azimuth_deg: bearing, clockwise from north.
    """

    zenith_deg: Floats
    elevation_deg: Floats
    azimuth_deg: Floats


class PlaneIrradiance(NamedTuple):
    """Sunshine on a tilted plane by where it comes from, W/m²."""

    beam: Floats
    sky_diffuse: Floats
    ground: Floats


def sun_position(
    times_utc: NDArray[np.datetime64],
    latitude: Values,
    longitude: Values,
    elevation_m: Values = 0.0,
) -> SunPosition:
    """Return where the sun stands.

    What depends on time alone is computed once, so that many sites on one grid cost little more
    than one: pass (site, 1) arrays for the place and get (site, step) back.

    Args:
        times_utc: (step,) times, UTC; a mean over a step wants its middle.
        latitude: degrees north, float or array that broadcasts against (step,).
        longitude: degrees east, likewise.
        elevation_m: metres above the sea, likewise.

    Source: NREL solar position algorithm (Reda & Andreas 2004), good to 0.0003° before refraction,
    as pvlib computes it.
    """
    from pvlib import atmosphere, spa

    seconds = times_utc.astype("datetime64[ms]").astype(np.float64) / 1000.0
    place = np.broadcast_arrays(latitude, longitude, elevation_m)
    lat, lon, height = (np.asarray(part, dtype=np.float64) for part in place)
    zenith, _, elevation, _, azimuth, _ = spa.solar_position_numpy(
        seconds,
        lat,
        lon,
        height,
        atmosphere.alt2pres(height) / 100.0,
        _REFRACTION_TEMP_C,
        _DELTA_T_S,
        _HORIZON_REFRACTION_DEG,
        1,
    )
    return SunPosition(zenith, elevation, azimuth)


@overload
def clear_ghi_wm2(zenith_deg: float) -> float: ...
@overload
def clear_ghi_wm2(zenith_deg: Floats) -> Floats: ...
@elementwise
def clear_ghi_wm2(zenith_deg: Values) -> Values:
    """Return global horizontal radiation under a cloudless sky, W/m²; zero when the sun is down.

    Args:
        zenith_deg: angle of the sun from straight up, degrees.

    Source: Haurwitz 1945, as pvlib computes it. It knows nothing of haze or height.
    """
    import pandas as pd
    from pvlib import clearsky

    zenith = np.asarray(zenith_deg)
    clear = clearsky.haurwitz(pd.Series(zenith.ravel()))["ghi"].to_numpy().reshape(zenith.shape)
    return np.where(np.isnan(zenith), np.nan, clear)


def extraterrestrial_wm2(times_utc: NDArray[np.datetime64]) -> Floats:
    """Return the radiation square to the sun outside the air, W/m² (Spencer 1971).

    Args:
        times_utc: times, UTC.
    """
    from pvlib import irradiance

    days = times_utc.astype("datetime64[D]")
    day_of_year = (days - times_utc.astype("datetime64[Y]").astype("datetime64[D]")).astype(int) + 1
    outside: Floats = irradiance.get_extra_radiation(day_of_year)
    return outside


def plane_irradiance_wm2(
    tilt_deg: Values,
    azimuth_deg: Values,
    sun: SunPosition,
    ghi_wm2: Floats,
    dni_wm2: Floats,
    dhi_wm2: Floats,
    albedo: Values,
    times_utc: NDArray[np.datetime64],
) -> PlaneIrradiance:
    """Return the sunshine on tilted planes, split into beam, sky and ground.

    Everything broadcasts: radiation (member, step), the sun (step,), tilt and azimuth floats, or
    (panel, 1, 1) arrays for several panels at once. A beam from below the horizon counts nothing.

    Args:
        tilt_deg: angle between the plane's outward normal and straight up.
        azimuth_deg: bearing the plane faces.
        sun: where the sun stands.
        ghi_wm2: global horizontal radiation.
        dni_wm2: direct radiation square to the sun.
        dhi_wm2: diffuse horizontal radiation.
        albedo: share the ground throws back, 0 to 1.
        times_utc: (step,) times, UTC, for the distance of the sun.

    Source: Hay & Davies 1980, as pvlib computes it. Models for the sky differ by about 20 W/m² on
    sunlit and 28 W/m² on shaded upright planes.
    """
    from pvlib import irradiance

    zenith, azimuth = sun.zenith_deg, sun.azimuth_deg
    facing = np.maximum(irradiance.aoi_projection(tilt_deg, azimuth_deg, zenith, azimuth), 0.0)
    facing = np.where(zenith < 90.0, facing, 0.0 * zenith)  # 0 × NaN stays NaN
    height = np.maximum(np.cos(np.radians(zenith)), np.sin(np.radians(_LEAST_SUN_FOR_RATIO_DEG)))
    sky = irradiance.haydavies(
        tilt_deg,
        azimuth_deg,
        dhi_wm2,
        dni_wm2,
        extraterrestrial_wm2(times_utc),
        projection_ratio=facing / height,
    )
    ground = irradiance.get_ground_diffuse(np.asarray(tilt_deg), ghi_wm2, albedo)
    return PlaneIrradiance(dni_wm2 * facing, sky, ground)


def hours_to_sunset(elevation_deg: Floats) -> Floats:
    """Return (step,) hours to the nearest sunset, negative after it, infinite without one.

    Good to a few minutes: the crossing of the horizon is interpolated between quarter hours.

    Args:
        elevation_deg: (step,) height of the sun in the middle of each quarter hour, refraction
            included.
    """
    middles = (np.arange(len(elevation_deg)) + 0.5) * (STEP_MIN / 60.0)
    down = np.flatnonzero((elevation_deg[:-1] >= _SUNSET_DEG) & (elevation_deg[1:] < _SUNSET_DEG))
    if not down.size:
        return np.full(len(elevation_deg), np.inf)
    fallen = elevation_deg[down] - elevation_deg[down + 1]
    share = (elevation_deg[down] - _SUNSET_DEG) / fallen
    sunsets = middles[down] + share * (STEP_MIN / 60.0)
    away = sunsets[:, np.newaxis] - middles
    nearest = np.abs(away).argmin(axis=0)
    found: Floats = away[nearest, np.arange(len(middles))]
    return found


def sunrise_sunset(
    day: date, latitude: float, longitude: float, zone: str
) -> tuple[datetime, datetime] | None:
    """Return sunrise and sunset of a local day, aware of its zone, or None if there is neither.

    None is given for polar day and polar night alike: ask ``sun_position`` which it is. Good to
    a second as a rule, and to a minute and a half where the UTC day turns in between.

    Args:
        day: the local day.
        latitude: degrees north.
        longitude: degrees east.
        zone: time zone of the place, for example ``Europe/Dublin``.
    """
    import pandas as pd
    from pvlib import solarposition

    # Near the date line the local day is another than the UTC day: take the neighbours too, and
    # keep the one whose noon falls on the day that was asked for.
    noon = datetime.combine(day, time(12))
    days = pd.DatetimeIndex([noon + timedelta(days=shift) for shift in (-1, 0, 1)], tz="UTC")
    table = solarposition.sun_rise_set_transit_spa(days, latitude, longitude).dropna()
    local = table.apply(lambda column: column.dt.round("s").dt.tz_convert(ZoneInfo(zone)))
    rows = local[[moment.date() == day for moment in local["transit"]]]
    if rows.empty:
        return None
    return rows["sunrise"].iloc[0].to_pydatetime(), rows["sunset"].iloc[0].to_pydatetime()

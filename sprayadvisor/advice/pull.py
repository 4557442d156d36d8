"""A reading at the car draws the weather to come towards it.

    reading ─ air, humidity, wind ─→ members ─→ climate ─┬─→ climate as read
            └ panel ─────────────────────────────────────┘

At the time of the reading every member is what was measured, give or take the instrument's error.
Afterwards it goes back to what it was with the time scale of the forecast's own errors: these are
drawn as AR(1), so what is left of each member's own error is just what a measurement leaves open.
The panel is drawn after the weather, by what then still divides it from the reading. That covers
what the model cannot know of it: the shade of a house, the heat of an engine, the very colour.
"""

from __future__ import annotations

from datetime import datetime
from statistics import NormalDist
from types import MappingProxyType

import numpy as np

from sprayadvisor.advice.climate import Climate
from sprayadvisor.advice.cover import COVER_SHARES
from sprayadvisor.advice.members import (
    AIR_DEW_CORRELATION,
    ERROR_TIME_SCALE_H,
    SIGMA_BY_LEAD,
    Members,
)
from sprayadvisor.advice.model import Site
from sprayadvisor.advice.onsite import Reading
from sprayadvisor.advice.outlook import Floats, Times, minute_of
from sprayadvisor.science.humidity import dew_point_c, rh_from_dew_point_pct, surface_rh_pct
from sprayadvisor.science.quantities import STEP_MIN
from sprayadvisor.science.wind import gun_height_factor

# How far off one reading is (engineering estimates): an infrared thermometer 1 to 2 K, a
# thermometer in the shade 0.5 K, a humidity sensor 3 %; half a minute of wind a fifth, and where it
# comes from by hand or by a ribbon 15 degrees.
INSTRUMENT_SIGMA: MappingProxyType[str, float] = MappingProxyType(
    {"panel_temp_c": 1.5, "air_temp_c": 0.5, "rh_pct": 3.0, "ln_wind": 0.2, "wind_from_deg": 15.0}
)
# After so many hours 1/e of what divided reading and forecast is left. Weather: see above. The rest
# are engineering estimates. Panel: the sun moves on and shadows with it, the colour stays. What is
# hotter by more than the model can be wrong comes from a lamp or an engine and goes in minutes, as
# a frame soaked for ten does in ``science.lamp``; what is colder is taken to stay.
FADING_H: MappingProxyType[str, float] = MappingProxyType(
    {"weather": ERROR_TIME_SCALE_H, "panel": 2.0, "lift": 0.15}
)
PANEL_WRONG_K = 5.0
# Engineering estimates: half a minute may fall into a lull, so it never halves the wind again; and
# below this no cup turns.
LULL_SHARE, CALM_MS = 0.5, 0.3
FELT_COUNTS = float(np.exp(-1.0))
_SEED = 20


def drawn_to(members: Members, reading: Reading, site: Site) -> Members:
    """Return members that agree with what was measured of the air, and fade back.

    Args:
        members: the weathers that may come.
        reading: without air, humidity and wind the members stay as they are.
        site: for the wind at the gun, under the cover the reading was taken under.
    """
    step = step_of(members.starts_utc, reading)
    if step is None:
        return members
    values = dict(members.values)
    fading = _fading(members.starts_utc, reading.taken_at, "weather")
    if reading.air_temp_c is not None or reading.rh_pct is not None:
        values |= _air(members, reading, step, fading)
    if reading.wind_ms is not None:
        values |= _wind(members, reading.wind_ms, site, step, fading)
    if reading.wind_from_deg is not None:
        values["wind_from_deg"] = _turned(members, reading.wind_from_deg, step, fading)
    return Members(
        members.starts_utc,
        values,
        members.wet_hour_mm,
        members.sky_emissivity_offset,
        members.ln_convection,
    )


def step_of(starts_utc: Times, reading: Reading) -> int | None:
    """Return the step a reading was taken in, None outside the grid."""
    step = minute_of(starts_utc, reading.taken_at) // STEP_MIN
    return step if 0 <= step < len(starts_utc) else None


def _fading(starts_utc: Times, since: datetime, what: str) -> Floats:
    """Return (step,) how much of a reading counts: nothing before it, all in its quarter hour."""
    step = minute_of(starts_utc, since) // STEP_MIN
    hours = (np.arange(len(starts_utc)) - step) * STEP_MIN / 60.0
    return np.where(hours < 0, 0.0, np.exp(-np.maximum(hours, 0.0) / FADING_H[what]))


def instrument_errors(quantity: str, n_members: int) -> Floats:
    """Return (member,) errors of one reading, the same each time, in pairs that cancel.

    They are the quantiles of a normal distribution in some order: of so few, drawn at random, one
    may lie so far out that it decides alone. A single member is the reading itself.
    """
    if n_members < 2:
        return np.zeros(n_members)
    half = n_members // 2
    normal = NormalDist()
    sizes = np.array([normal.inv_cdf(0.5 + (i + 0.5) / (2 * half)) for i in range(half)])
    sizes /= np.sqrt(np.mean(sizes**2))
    rng = np.random.default_rng([_SEED, *quantity.encode()])
    one = rng.permutation(sizes) * rng.choice([-1.0, 1.0], half)
    middle = np.zeros(n_members % 2)
    return INSTRUMENT_SIGMA[quantity] * np.concatenate([one, middle, -one])


def _drawn(series: Floats, target: Floats, step: int, fading: Floats) -> Floats:
    """Return (member, step) ``series`` moved so that it is (member,) ``target`` at ``step``.

    Where the forecast is not known then, nothing is said of the time after.
    """
    apart = np.nan_to_num(target - series[:, step])
    moved: Floats = series + fading * apart[:, np.newaxis]
    moved[:, step] = target
    return moved


def _air(members: Members, reading: Reading, step: int, fading: Floats) -> dict[str, Floats]:
    """Return temperature, dew point and humidity; air and dew point move together.

    Where only the temperature was read the dew point follows by the share of its error that goes
    with that of the air.
    """
    air = members["air_temp_c"]
    dew = dew_point_c(air, members["rh_pct"])
    n = len(members)
    air_then = air[:, step]
    if reading.air_temp_c is not None:
        air_then = reading.air_temp_c + instrument_errors("air_temp_c", n)
    if reading.rh_pct is None:
        ratio = SIGMA_BY_LEAD["dew_point_c"][0] / SIGMA_BY_LEAD["air_temp_c"][0]
        dew_then = dew[:, step] + AIR_DEW_CORRELATION * ratio * (air_then - air[:, step])
    else:
        rh = np.clip(reading.rh_pct + instrument_errors("rh_pct", n), 1.0, 100.0)
        dew_then = dew_point_c(air_then, rh)
    air = _drawn(air, air_then, step, fading)
    dew = np.minimum(_drawn(dew, dew_then, step, fading), air)
    rh_pct = np.minimum(rh_from_dew_point_pct(air, dew), 100.0)
    return {"air_temp_c": air, "dew_point_c": dew, "rh_pct": rh_pct}


def _wind(
    members: Members, wind_ms: float, site: Site, step: int, fading: Floats
) -> dict[str, Floats]:
    """Return mean wind and gusts, both by the same factor."""
    share = gun_height_factor(site.surroundings.value)[0] * COVER_SHARES[site.cover].wind
    then = share * members["wind_10m_ms"][:, step]
    errors = np.exp(instrument_errors("ln_wind", len(members)))
    target = np.maximum(wind_ms, CALM_MS) * errors
    factor = np.maximum(target / np.maximum(then, CALM_MS), LULL_SHARE)
    log = np.nan_to_num(np.log(factor))[:, np.newaxis]
    return {name: members[name] * np.exp(fading * log) for name in ("wind_10m_ms", "gust_10m_ms")}


def _turned(members: Members, wind_from_deg: float, step: int, fading: Floats) -> Floats:
    """Return (member, step) where the wind comes from, turned the short way round to a reading."""
    target = wind_from_deg + instrument_errors("wind_from_deg", len(members))
    # Where the forecast gives none the wind that is felt is all there is, as long as it counts.
    felt = np.where(fading > FELT_COUNTS, target[:, np.newaxis], np.nan)
    series = np.where(np.isnan(members["wind_from_deg"]), felt, members["wind_from_deg"])
    apart = np.nan_to_num((target - series[:, step] + 180.0) % 360.0 - 180.0)
    turned: Floats = series + fading * apart[:, np.newaxis]
    turned[:, step] = target
    return turned % 360.0


def with_panel(
    climate: Climate,
    reading: Reading,
    as_it_stood: Climate,
    now: datetime,
    n_panels: int | None = None,
) -> Climate:
    """Return the climate with the panel as it was read, fading back to what it was without.

    Where no panel was read it begins, now, at the temperature it has where it stood until now.

    Args:
        climate: one case for each panel, in the weather as read; all of them again for each way
            the car may stand.
        reading: of one of these panels; the others are moved by as much, but by no more than the
            model may be wrong: what goes beyond is warmth or shade of that panel alone.
        as_it_stood: the panels in the same weather, as they stood until now.
        now: aware.
        n_panels: how many there are; None where each case is one.
    """
    n = climate.n_members
    since = now if reading.panel_temp_c is None else reading.taken_at
    step = minute_of(climate.starts_utc, since) // STEP_MIN
    if not 0 <= step < len(climate.starts_utc):
        return climate
    here = climate["panel_temp_c"][:, step].reshape(-1, n)
    then = as_it_stood["panel_temp_c"][:, step].reshape(-1, n)
    if reading.panel_temp_c is not None:
        read = reading.panel_temp_c + instrument_errors("panel_temp_c", n)
        # What was read of one panel is known even where the model knows nothing of the others.
        mine = range(reading.panel, climate.n_cases, n_panels or climate.n_cases)
        apart = np.nan_to_num(read - then[mine])
        beside = np.repeat(apart, n_panels or climate.n_cases, axis=0)
        then = then + np.clip(beside, -PANEL_WRONG_K, PANEL_WRONG_K)
        then[mine] = read
    apart = np.nan_to_num(then - here).reshape(-1, 1)
    lift = np.maximum(apart - PANEL_WRONG_K, 0.0)
    slow, quick = (_fading(climate.starts_utc, since, what) for what in ("panel", "lift"))
    panel = climate["panel_temp_c"] + slow * (apart - lift) + quick * lift
    panel[:, step] = then.reshape(-1)
    return _on_panel(climate, panel)


def _on_panel(climate: Climate, panel_temp_c: Floats) -> Climate:
    """Return a climate with other panel temperatures, and all that hangs on them.

    Water on the panel stays as it was: it is wiped before anything is sprayed.
    """
    values = climate.values | {
        "panel_temp_c": panel_temp_c,
        "dew_margin_k": panel_temp_c - climate["dew_point_c"],
        "surface_rh_pct": surface_rh_pct(climate["air_temp_c"], climate["rh_pct"], panel_temp_c),
    }
    return Climate(climate.starts_utc, values, climate.n_cases, climate.n_members)

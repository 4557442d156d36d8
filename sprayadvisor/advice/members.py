"""Members: the weathers that may come, each as likely as the next, on one grid of quarter hours.

    single   the forecast, or a reading, as it is
    draw     the forecast with errors that hang together in time and grow with lead

The errors' sizes are engineering estimates in one table, to be replaced by what readings and later
forecasts teach. They cannot tell a likelihood of 90 % from one of 95 %.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from statistics import NormalDist
from types import MappingProxyType

import numpy as np

from sprayadvisor.advice.outlook import Floats, Outlook, Times
from sprayadvisor.errors import InputError
from sprayadvisor.science.humidity import dew_point_c, rh_from_dew_point_pct
from sprayadvisor.science.quantities import STEP_MIN

# All of this is engineering estimate (EE), to be replaced by readings.
LEAD_H = (0.0, 24.0, 72.0)
SIGMA_BY_LEAD: MappingProxyType[str, tuple[float, float, float]] = MappingProxyType(
    {
        "air_temp_c": (0.7, 1.2, 2.0),  # K
        "dew_point_c": (0.8, 1.4, 2.2),  # K
        "ln_wind": (0.25, 0.35, 0.5),
        "cloud_fraction": (0.1, 0.2, 0.35),
    }
)
SIGMA_SKY_EMISSIVITY = 0.02
SIGMA_LN_CONVECTION = 0.3
ERROR_TIME_SCALE_H = 6.0
AIR_DEW_CORRELATION = 0.6
RAIN_CLOUD_CORRELATION = 0.6
# In an hour that turns out wet though the forecast's amount is nil; above the 0.1 mm from which the
# forecast's own probability counts an hour as wet.
LIGHT_RAIN_MM = 0.3
MOST_SCALING = 3.0  # times the forecast's amount that a wet member gets at most
# Probability of a wet hour where the forecast gives only the amount.
_AMOUNT_MM = (0.0, 0.1, 0.5, 2.0)
_AMOUNT_PROBABILITY = (0.05, 0.4, 0.7, 0.9)
# An amount that is wet by itself is not argued away by a low probability, which comes from another
# run: of what the amount alone would mean, this much is left (EE).
_LEFT_OF_AMOUNT = 0.5
_WET_MM = 0.1  # from this amount on the forecast's own probability counts an hour as wet
# Share of clear-sky radiation under cloud: 1 − 0.75 c^3.4, Kasten & Czeplak 1980.
_CLOUD_DIMS, _CLOUD_POWER = 0.75, 3.4
_STEPS_PER_DAY = 24 * 60 // STEP_MIN


@dataclass(frozen=True, slots=True)
class Members:
    """Possible weathers at one site.

    Attributes:
        starts_utc: (step,) beginnings of the steps, UTC.
        values: one (member, step) array for each name in ``science.quantities.QUANTITIES``.
        wet_hour_mm: (member, step) rain of the whole hour a step lies in, mm.
        sky_emissivity_offset: (member,) added to the sky's emissivity.
        ln_convection: (member,) logarithm of what convection is multiplied with.
    """

    starts_utc: Times
    values: dict[str, Floats]
    wet_hour_mm: Floats
    sky_emissivity_offset: Floats
    ln_convection: Floats

    def __len__(self) -> int:
        """Return the number of members."""
        return len(self.ln_convection)

    def __getitem__(self, quantity: str) -> Floats:
        """Return the (member, step) array of one quantity."""
        return self.values[quantity]

    def between(self, first: int, stop: int) -> Members:
        """Return the same weathers from step ``first`` up to but not including ``stop``."""
        part = slice(first, stop)
        return Members(
            self.starts_utc[part],
            {name: array[:, part] for name, array in self.values.items()},
            self.wet_hour_mm[:, part],
            self.sky_emissivity_offset,
            self.ln_convection,
        )


def single(outlook: Outlook) -> Members:
    """Return the forecast, or a measured reading, as the only member."""
    return Members(
        outlook.starts_utc,
        {name: array[np.newaxis] for name, array in outlook.values.items()},
        outlook.wet_hour_mm[np.newaxis],
        np.zeros(1),
        np.zeros(1),
    )


def draw(outlook: Outlook, n: int = 32, *, seed: int, origin: datetime) -> Members:
    """Return ``n`` possible weathers around a forecast, in antithetic pairs.

    Every second half of the members has the errors of the first with the other sign, so that
    their mean stays with the forecast. Errors of temperature, dew point, wind and cloud are AR(1)
    in time with a scale of 6 h. A member has rain in an hour with the forecast's own probability,
    and wet hours come in spells. Same outlook, seed and origin: same members.

    Args:
        outlook: the forecast.
        n: number of members, even.
        seed: decides the errors; take one per site, so that a newer forecast does not flicker.
        origin: when the forecast was made, aware: lead counts from here.

    Raises:
        InputError: ``n`` is odd or below 2.
    """
    if n < 2 or n % 2:
        raise InputError(f"The number of members is {n}; it must be even and 2 at least.")
    rng = np.random.default_rng(seed)
    sky, convection = _mirrored(rng.standard_normal((2, n // 2)))
    air, dew, wind, cloud, rain = _mirrored(_correlated_in_time(rng, len(outlook), n // 2))
    cloud = -RAIN_CLOUD_CORRELATION * rain + _rest(RAIN_CLOUD_CORRELATION) * cloud
    sigma = _sigma_by_step(outlook, origin)
    values = {name: np.broadcast_to(array, air.shape) for name, array in outlook.values.items()}
    values |= _humid_air(outlook, sigma, air, dew)
    gustier = np.exp(sigma["ln_wind"] * wind)
    values |= {name: outlook[name] * gustier for name in ("wind_10m_ms", "gust_10m_ms")}
    values |= _clouds(outlook, sigma["cloud_fraction"] * cloud)
    values["rain_mm"], wet_hour_mm = _rain(outlook, rain)
    return Members(
        outlook.starts_utc,
        values,
        wet_hour_mm,
        SIGMA_SKY_EMISSIVITY * sky,
        SIGMA_LN_CONVECTION * convection,
    )


def _mirrored(drawn: Floats) -> Floats:
    """Return (channel, member, …) with the mirror image of every member behind."""
    return np.concatenate([drawn, -drawn], axis=1)


def _rest(correlation: float) -> float:
    """Return the weight of what is independent."""
    return float(np.sqrt(1.0 - correlation**2))


def _correlated_in_time(rng: np.random.Generator, steps: int, half: int) -> Floats:
    """Return (5, half, step) standard normal AR(1) series, stationary from the first step."""
    kept = float(np.exp(-STEP_MIN / 60.0 / ERROR_TIME_SCALE_H))
    series = rng.standard_normal((steps, 5, half))
    for step in range(1, steps):
        series[step] *= _rest(kept)
        series[step] += kept * series[step - 1]
    return np.ascontiguousarray(np.moveaxis(series, 0, -1))


def _sigma_by_step(outlook: Outlook, origin: datetime) -> dict[str, Floats]:
    """Return the size of each error by step; what lies before the origin is as good as lead 0."""
    minutes = np.arange(len(outlook)) * STEP_MIN + STEP_MIN / 2 - outlook.minute_of(origin)
    return {name: np.interp(minutes / 60.0, LEAD_H, row) for name, row in SIGMA_BY_LEAD.items()}


def _humid_air(
    outlook: Outlook, sigma: dict[str, Floats], air: Floats, dew: Floats
) -> dict[str, Floats]:
    """Return temperature, dew point and humidity; the dew point never above the air."""
    forecast_dew_c = dew_point_c(outlook["air_temp_c"], outlook["rh_pct"])
    air_temp_c = outlook["air_temp_c"] + sigma["air_temp_c"] * air
    error = AIR_DEW_CORRELATION * air + _rest(AIR_DEW_CORRELATION) * dew
    dew_c = np.minimum(forecast_dew_c + sigma["dew_point_c"] * error, air_temp_c)
    rh_pct = np.minimum(rh_from_dew_point_pct(air_temp_c, dew_c), 100.0)
    return {"air_temp_c": air_temp_c, "dew_point_c": dew_c, "rh_pct": rh_pct}


def _transmitted(cloud: Floats) -> Floats:
    """Return the share of clear-sky radiation under cloud."""
    share: Floats = 1.0 - _CLOUD_DIMS * cloud**_CLOUD_POWER
    return share


def _clearest(series: Floats) -> Floats:
    """Return for each step the largest value of any day at that quarter hour."""
    days = -(-len(series) // _STEPS_PER_DAY)
    padded = np.full(days * _STEPS_PER_DAY, np.nan)
    padded[: len(series)] = series
    largest = np.fmax.reduce(padded.reshape(days, _STEPS_PER_DAY), axis=0)
    return np.tile(largest, days)[: len(series)]


def _clouds(outlook: Outlook, error: Floats) -> dict[str, Floats]:
    """Return cloud and the radiation that goes with it.

    Under more cloud than forecast the beam falls in proportion to the gaps and the whole after
    Kasten and Czeplak. Under less, both move towards the clearest day of the outlook at that
    quarter hour: a forecast that never sees the sun knows no clear sky to move to.
    """
    forecast = outlook["cloud_fraction"]
    cloud = np.clip(forecast + error, 0.0, 1.0)
    beam = np.maximum(outlook["ghi_wm2"] - outlook["dhi_wm2"], 0.0)  # on the level
    before, after = _transmitted(forecast), _transmitted(cloud)
    gaps = np.maximum(1.0 - forecast, 1e-9)
    closing = np.clip((cloud - forecast) / gaps, 0.0, 1.0)
    opening = np.clip(1.0 - cloud / np.maximum(forecast, 1e-9), 0.0, 1.0)
    brighter = np.clip((after - before) / np.maximum(1.0 - before, 1e-9), 0.0, 1.0)

    def moved(series: Floats) -> Floats:
        return series * (1.0 - closing) + opening * (_clearest(series) - series)

    level_beam = moved(beam)
    whole = outlook["ghi_wm2"]
    dimmed = whole * np.minimum(after / before, 1.0) + brighter * (_clearest(whole) - whole)
    diffuse = np.maximum(dimmed - level_beam, 0.0)
    return {
        "cloud_fraction": cloud,
        "dni_wm2": moved(outlook["dni_wm2"]),
        "dhi_wm2": diffuse,
        "ghi_wm2": level_beam + diffuse,
    }


def _rain(outlook: Outlook, standard: Floats) -> tuple[Floats, Floats]:
    """Return rain of the step and of its whole hour; each hour is wet or dry as a whole."""
    hours = outlook.starts_utc.astype("datetime64[h]")
    _, first, hour_of = np.unique(hours, return_index=True, return_inverse=True)
    amount_mm = outlook.wet_hour_mm[first]
    probability = _wet_probability(outlook["rain_probability_pct"][first], amount_mm)
    normal = NormalDist()
    inner = np.clip(np.nan_to_num(probability), 1e-12, 1.0 - 1e-12)
    bound = np.array([normal.inv_cdf(p) for p in inner])
    bound = np.where(probability >= 1.0, np.inf, np.where(probability <= 0.0, -np.inf, bound))
    wet = standard[:, first] < bound
    scale = np.minimum(1.0 / np.maximum(probability, 1e-9), MOST_SCALING)
    wet_mm = np.maximum(amount_mm * scale, LIGHT_RAIN_MM)
    unknown = 0.0 * (probability + amount_mm)  # NaN in, NaN out
    in_hour = np.where(wet, wet_mm, 0.0) + unknown
    steps_in_hour = np.bincount(hour_of)
    whole_hour = in_hour[:, hour_of]
    return whole_hour / steps_in_hour[hour_of], whole_hour


def _wet_probability(given_pct: Floats, amount_mm: Floats) -> Floats:
    """Return the probability of a wet hour, from the amount where the forecast gives none."""
    from_amount = np.interp(amount_mm, _AMOUNT_MM, _AMOUNT_PROBABILITY)
    least = np.where(amount_mm > _WET_MM, _LEFT_OF_AMOUNT * from_amount, 0.0)
    return np.where(np.isnan(given_pct), from_amount, np.maximum(given_pct / 100.0, least))

"""What one case meets, but for its own temperature: sun, sky, wind, water and what is in the air.

Air      once for each weather
Ground   once for each site that is alike in it
Here     once for each case
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from sprayadvisor.advice.air_levels import LIGHT_COLOURS, air_levels
from sprayadvisor.advice.case import Case
from sprayadvisor.advice.cover import SURROUNDINGS_SKY, blows_in, in_house_shade
from sprayadvisor.advice.downwind import downwind_level
from sprayadvisor.advice.members import Members
from sprayadvisor.advice.model import Cover, Site
from sprayadvisor.advice.outlook import AirQuality, Floats
from sprayadvisor.science import convection, humidity, light, panel, sky, sun, wetness, wind
from sprayadvisor.science.quantities import STEP_MIN
from sprayadvisor.science.sun_track import Place

_HALF_STEP = np.timedelta64(STEP_MIN * 30, "s")


def spot(site: Site) -> tuple[object, ...]:
    """Return what decides sun, wind and air at a site; sites alike in this share the work."""
    place = (site.latitude, site.longitude, site.elevation_m, site.surroundings)
    around = (site.ground, site.kerb, site.cover, tuple(site.downwind.items()))
    return (*place, site.zone, site.shade_before, site.shade_after, *around)


def where(site: Site) -> Place:
    """Return latitude, longitude and height of a site, degrees and metres."""
    return site.latitude, site.longitude, site.elevation_m or 0.0


def middles(starts_utc: NDArray[np.datetime64]) -> NDArray[np.datetime64]:
    """Return the middle of each step, for which its mean stands."""
    return starts_utc + _HALF_STEP


class Air:
    """What all sites in this weather share."""

    def __init__(self, members: Members, air_quality: AirQuality | None) -> None:
        self.members, self.air_quality = members, air_quality
        self.middles = middles(members.starts_utc)
        air, rh = members["air_temp_c"], members["rh_pct"]
        self.dew_point_c = humidity.dew_point_c(air, rh)
        self.vapour_hpa = humidity.vapour_pressure_hpa(air, rh)
        self.factor = np.exp(members.ln_convection)[:, np.newaxis]

    def pressure_hpa(self, site: Site) -> float:
        """Return the mean pressure of the forecast, or the standard one at this height."""
        given = self.members["pressure_hpa"]
        given = given[np.isfinite(given)]
        if given.size:
            return float(given.mean())
        return float(
            1013.25 * (1.0 - 2.25577e-5 * (site.elevation_m or 0.0)) ** 5.25588
        )  # ISO 2533


class Ground:
    """What all cases on one site share; (member, step)."""

    def __init__(self, air: Air, site: Site, sun_at: sun.SunPosition) -> None:
        self.site = site
        members = air.members
        self.sun = sun_at
        clear = sun.clear_ghi_wm2(self.sun.zenith_deg)
        cloud = sky.effective_cloud_fraction(
            members["ghi_wm2"], clear, self.sun.elevation_deg, members["cloud_fraction"]
        )
        self.longwave_down_wm2 = _longwave_down(members, cloud)
        mean_share, gust_share = wind.gun_height_factor(site.surroundings.value)
        self.wind_ms = mean_share * members["wind_10m_ms"]
        self.gust_ms = gust_share * members["gust_10m_ms"]
        self.gust_sustained_ms = wind.gust_sustained_ms(self.gust_ms)
        self.house_shade = in_house_shade(site, air.middles)
        self.light_lx = light.illuminance_lx(members["ghi_wm2"])
        self.shade_lx = np.minimum(light.diffuse_illuminance_lx(members["dhi_wm2"]), self.light_lx)
        self.low_sun = light.low_sun(self.sun.elevation_deg, members["dni_wm2"])
        self.downwind = downwind_level(site, members["wind_from_deg"], members["wind_10m_ms"])
        self._levels: dict[tuple[object, ...], dict[str, Floats]] = {}

    def levels(self, air: Air, case: Case, met: Mapping[str, Floats]) -> dict[str, Floats]:
        """Return what is in the air at a case; alike cases share it."""
        light_colour = case.panel.colour in LIGHT_COLOURS
        said = case.wind_break, case.washed_at_min, case.driven_at_min
        key = case.covered_by, light_colour, *said
        if key not in self._levels:
            self._levels[key] = air_levels(met, case, air.members, air.air_quality)
        return self._levels[key]


def _longwave_down(members: Members, cloud: Floats) -> Floats:
    """Return the sky's long-wave radiation with each member's own error of emissivity, W/m²."""
    air = members["air_temp_c"]
    if np.isnan(members["cloud_fraction"]).all():  # a source without it: no night would be known
        return np.full_like(air, np.nan)
    black = sky.STEFAN_BOLTZMANN_WM2K4 * (air + sky.KELVIN) ** 4
    offset = members.sky_emissivity_offset[:, np.newaxis]
    return sky.longwave_down_wm2(air, members["rh_pct"], cloud) + offset * black


class Here:
    """What one case meets; (member, step)."""

    def __init__(self, air: Air, ground: Ground, case: Case) -> None:
        self.air, self.ground, self.case = air, ground, case
        self.shares = case.shares
        self.beam = np.where(ground.house_shade, 0.0, self.shares.beam)
        self.wind_ms = self.shares.wind * ground.wind_ms

    def rain_mm(self, falling: Floats) -> Floats:
        """Return the rain under the cover, drips included; nothing under a house's roof."""
        if self.shares.rain == 0.0:
            return np.zeros_like(falling)
        share: Floats | float = self.shares.rain
        if self.case.covered_by is Cover.CANOPY:
            share = share * blows_in(self.air.members.wet_hour_mm, self.wind_ms)
        return wetness.rain_on_panel_mm(falling, share, self.shares.drip_steps)

    def gain_wm2(self) -> Floats:
        """Return the heat the panel takes up from sun, sky and surroundings, W/m²."""
        members, shown = self.air.members, self.case.panel
        open_share = self.shares.sky * SURROUNDINGS_SKY[self.case.site.surroundings]
        view = open_share * panel.sky_view(shown.tilt_deg)
        down = self.ground.longwave_down_wm2 if view else np.zeros_like(members["air_temp_c"])
        falling = panel.longwave_wm2(down, members["air_temp_c"], view)
        return shown.emittance * falling + shown.absorptance * self._sunshine_wm2()

    def _sunshine_wm2(self) -> Floats:
        """Return the sun on the panel, W/m²."""
        members, ground = self.air.members, self.ground
        if self.shares.diffuse == 0.0:
            return np.zeros_like(members["ghi_wm2"])
        shining = sun.plane_irradiance_wm2(
            self.case.panel.tilt_deg,
            self.case.panel.azimuth_deg(self.case.heading_deg),
            ground.sun,
            members["ghi_wm2"],
            members["dni_wm2"],
            members["dhi_wm2"],
            sun.GROUND_ALBEDO[self.case.site.ground.value],
            self.air.middles,
        )
        scattered = shining.sky_diffuse + shining.ground
        return self.beam * shining.beam + self.shares.diffuse * scattered

    def convection(self) -> tuple[Floats, Floats]:
        """Return convection by wind, W/m²K, and the share of the calm."""
        exposed = convection.exposure(
            self.case.panel.tilt_deg,
            self.case.panel.azimuth_deg(self.case.heading_deg),
            self.air.members["wind_from_deg"],
        )
        share = convection.wind_share(self.wind_ms)
        forced = self.air.factor * share * convection.mcadams_wm2k(self.wind_ms, exposed)
        return forced, self.air.factor * (1.0 - share)

    def values(self) -> dict[str, Floats]:
        """Return everything that does not hang on the panel's temperature, by quantity."""
        members, ground, share = self.air.members, self.ground, self.shares
        shape = members["air_temp_c"].shape
        dim = share.diffuse * ground.shade_lx
        met = {
            "air_temp_c": members["air_temp_c"],
            "rh_pct": members["rh_pct"],
            "dew_point_c": self.air.dew_point_c,
            "wind_ms": self.wind_ms,
            "gust_ms": share.wind * ground.gust_ms,
            "gust_sustained_ms": share.wind * ground.gust_sustained_ms,
            "wind_from_deg": members["wind_from_deg"],
            "wet_hour_mm": self.rain_mm(members.wet_hour_mm),
            "light_lx": self.beam * ground.light_lx + (1.0 - self.beam) * dim,
            "diffuse_lx": dim,
            "low_sun": np.where(self.beam == 0.0, 0.0, ground.low_sun),
            "sun_elevation_deg": np.broadcast_to(ground.sun.elevation_deg, shape),
        }
        return met | ground.levels(self.air, self.case, met) | {"downwind": ground.downwind}

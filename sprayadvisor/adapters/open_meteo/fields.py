"""What is asked of each weather service, in its names and units, and what that becomes here.

The one table of the adapter: the request, the assertion of units and the range checks all read it.
"""

from __future__ import annotations

from typing import NamedTuple

from sprayadvisor.services.ports.budget import call_weight


class Service(NamedTuple):
    """One of the weather services.

    Attributes:
        name: what it is called in sentences.
        setting: the setting that holds its address.
        path: what follows that address.
        request: what is asked for, whatever the place.
        takes_elevation: whether it fits its answer to a height.
        runs: how many values an hour of one variable may bring.
    """

    name: str
    setting: str
    path: str
    request: dict[str, str]
    takes_elevation: bool
    runs: int = 1

    def weight(self, places: int) -> float:
        """Return what a call for so many places costs."""
        asked = self.request.get("hourly", "")
        days = (int(self.request.get(name, "0")) for name in ("forecast_days", "past_days"))
        return call_weight(len(asked.split(",")) * self.runs, sum(days), places)


class Field(NamedTuple):
    """One hourly variable.

    Attributes:
        name: our name; of the forecast, as in ``science.quantities.QUANTITIES``.
        asked: the service's name.
        unit: the unit we ask for, spelt as the service spells it.
        low: lowest value that can be true, in our unit.
        high: highest value that can be true, in our unit.
        slack_low: how far below ``low`` a value is taken for rounding and set to ``low``.
        slack_high: the same above ``high``.
        per_unit: how many of the service's units make one of ours.
    """

    name: str
    asked: str
    unit: str
    low: float
    high: float
    slack_low: float = 0.0
    slack_high: float = 0.0
    per_unit: float = 1.0


# Bounds are engineering estimates around the records on land. They catch wrong units, broken
# model fields and garbled numbers, not odd weather.
FIELDS = (
    Field("air_temp_c", "temperature_2m", "°C", -60.0, 55.0),
    Field("rh_pct", "relative_humidity_2m", "%", 0.0, 100.0, slack_high=1.0),
    Field("wind_10m_ms", "wind_speed_10m", "m/s", 0.0, 60.0),
    Field("gust_10m_ms", "wind_gusts_10m", "m/s", 0.0, 90.0),
    Field("rain_mm", "precipitation", "mm", 0.0, 150.0),
    Field("ghi_wm2", "shortwave_radiation", "W/m²", 0.0, 1400.0, slack_low=1.0),
    Field("dni_wm2", "direct_normal_irradiance", "W/m²", 0.0, 1500.0, slack_low=1.0),
    Field("dhi_wm2", "diffuse_radiation", "W/m²", 0.0, 1400.0, slack_low=1.0),
    Field("cloud_fraction", "cloud_cover", "%", 0.0, 1.0, per_unit=100.0),
    Field("dew_point_c", "dew_point_2m", "°C", -100.0, 40.0),
    Field("rain_probability_pct", "precipitation_probability", "%", 0.0, 100.0),
    Field("wind_from_deg", "wind_direction_10m", "°", 0.0, 360.0),
    Field("pressure_hpa", "surface_pressure", "hPa", 500.0, 1100.0),
    Field("weather_code", "weather_code", "wmo code", 0.0, 99.0),
)
# Of the air-quality service. The unit is spelt with the Greek letter, U+03BC.
AIR_FIELDS = (
    Field("pm10_ugm3", "pm10", "\u03bcg/m³", 0.0, 10_000.0, slack_low=1.0),
    *(
        Field(f"{plant}_pollen_m3", f"{plant}_pollen", "grains/m³", 0.0, 50_000.0, slack_low=1.0)
        for plant in ("alder", "birch", "grass", "mugwort", "olive", "ragweed")
    ),
)
NOT_GIVEN = "undefined"  # the unit of a variable that the model behind a place does not have


def _asked(fields: tuple[Field, ...]) -> dict[str, str]:
    return {
        "hourly": ",".join(field.asked for field in fields),
        "timezone": "GMT",  # any other zone keeps one offset over a change of the clocks
        "timeformat": "iso8601",
    }


FORECAST = Service(
    "forecast service",
    "forecast.base_url",
    "/v1/forecast",
    {
        **_asked(FIELDS),
        "wind_speed_unit": "ms",
        "temperature_unit": "celsius",
        "precipitation_unit": "mm",
        "forecast_days": "11",
        "past_days": "1",  # a panel and the ground remember the day before
    },
    takes_elevation=True,
)
AIR_QUALITY = Service(
    "air-quality service",
    "forecast.air_quality_url",
    "/v1/air-quality",
    {**_asked(AIR_FIELDS), "forecast_days": "5"},
    takes_elevation=False,
)
PLACE_SEARCH = Service(
    "place search",
    "forecast.geocoding_url",
    "/v1/search",
    {"count": "10", "language": "en", "format": "json"},
    takes_elevation=False,
)

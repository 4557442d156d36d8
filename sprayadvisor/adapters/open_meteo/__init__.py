"""The weather services: asked politely, read strictly."""

from sprayadvisor.adapters.open_meteo.air_quality import read_air_quality
from sprayadvisor.adapters.open_meteo.client import OpenMeteo
from sprayadvisor.adapters.open_meteo.ensemble import ensemble_service, read_runs
from sprayadvisor.adapters.open_meteo.fields import AIR_QUALITY, FORECAST, PLACE_SEARCH
from sprayadvisor.adapters.open_meteo.frozen import same_values
from sprayadvisor.adapters.open_meteo.outlook import read_outlook
from sprayadvisor.adapters.open_meteo.parse import parse_forecast
from sprayadvisor.adapters.open_meteo.places import PlaceSearch

__all__ = [
    "AIR_QUALITY",
    "FORECAST",
    "PLACE_SEARCH",
    "OpenMeteo",
    "PlaceSearch",
    "ensemble_service",
    "parse_forecast",
    "read_air_quality",
    "read_outlook",
    "read_runs",
    "same_values",
]

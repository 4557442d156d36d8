"""The forecast service: asked politely, read strictly."""

from sprayadvisor.adapters.open_meteo.client import OpenMeteo
from sprayadvisor.adapters.open_meteo.outlook import read_outlook
from sprayadvisor.adapters.open_meteo.parse import parse_forecast

__all__ = ["OpenMeteo", "parse_forecast", "read_outlook"]

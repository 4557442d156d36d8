"""The forecast service: asked politely, read strictly."""

from sprayadvisor.adapters.open_meteo.parse import parse_forecast

__all__ = ["parse_forecast"]

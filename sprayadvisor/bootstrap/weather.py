"""The weather services, and what is kept of their answers."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from sprayadvisor.bootstrap.ground import Ground

if TYPE_CHECKING:
    from sprayadvisor.adapters.open_meteo import OpenMeteo
    from sprayadvisor.adapters.store.budget import SqlBudget
    from sprayadvisor.adapters.store.snapshots import SqlSnapshots
    from sprayadvisor.services.places import Places
    from sprayadvisor.services.weather import Weather


class WeatherServices(Ground):
    """Whoever is asked for weather and places."""

    @cached_property
    def snapshots(self) -> SqlSnapshots:
        """The weather as it was received."""
        from sprayadvisor.adapters.store.snapshots import SqlSnapshots

        return SqlSnapshots(self.engine)

    @property
    def _weather_key(self) -> str | None:
        """The key of the weather services, where there is one."""
        key = self.settings.forecast.api_key
        return key.get_secret_value() if key else None

    @cached_property
    def budget(self) -> SqlBudget:
        """What may be asked of the weather services."""
        from sprayadvisor.adapters.store.budget import SqlBudget
        from sprayadvisor.services.ports.budget import LIMITS

        own = self.settings.forecast
        limits = LIMITS[own.effective_plan]
        if own.calls_per_month is not None:
            limits = replace(limits, month=own.calls_per_month)
        return SqlBudget(self.engine, limits)

    @cached_property
    def forecast(self) -> OpenMeteo:
        """The forecast service."""
        from sprayadvisor.adapters.open_meteo import OpenMeteo

        address = self.settings.forecast.endpoints().forecast
        return OpenMeteo(address, self._weather_key, budget=self.budget)

    @cached_property
    def air_quality(self) -> OpenMeteo:
        """The air-quality service; nothing waits long for what no verdict needs."""
        from sprayadvisor.adapters.open_meteo import AIR_QUALITY, OpenMeteo

        address = self.settings.forecast.endpoints().air_quality
        return OpenMeteo(
            address,
            self._weather_key,
            service=AIR_QUALITY,
            timeout=(3.0, 8.0),
            deadline_s=15.0,
            budget=self.budget,
        )

    @cached_property
    def place_search(self) -> OpenMeteo:
        """The search for places by name; a person waits for it, so not for long."""
        from sprayadvisor.adapters.open_meteo import PLACE_SEARCH, OpenMeteo

        address = self.settings.forecast.endpoints().geocoding
        return OpenMeteo(
            address,
            self._weather_key,
            service=PLACE_SEARCH,
            timeout=(3.0, 5.0),
            deadline_s=8.0,
            budget=self.budget,
        )

    @cached_property
    def places(self) -> Places:
        """Places by name."""
        from sprayadvisor.adapters.open_meteo import PlaceSearch
        from sprayadvisor.services.places import Places

        return Places(PlaceSearch(self.place_search))

    @cached_property
    def ensemble(self) -> OpenMeteo | None:
        """The ensemble service, where the settings name a model."""
        from sprayadvisor.adapters.open_meteo import OpenMeteo, ensemble_service

        model = self.settings.forecast.ensemble_model
        if model is None:
            return None
        return OpenMeteo(
            self.settings.forecast.endpoints().ensemble,
            self._weather_key,
            service=ensemble_service(model),
            budget=self.budget,
        )

    @cached_property
    def weather(self) -> Weather:
        """The weather at each site."""
        from sprayadvisor.adapters.open_meteo import (
            read_air_quality,
            read_outlook,
            read_runs,
            same_values,
        )
        from sprayadvisor.services.weather import Weather

        return Weather(
            client=self.forecast,
            snapshots=self.snapshots,
            now=self.now,
            read=read_outlook,
            air_client=self.air_quality,
            read_air=read_air_quality,
            same=same_values,
            ensemble=(self.ensemble, read_runs) if self.ensemble else None,
        )

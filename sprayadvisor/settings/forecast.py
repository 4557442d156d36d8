"""The table of the settings that says where the weather comes from."""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple, Self

from pydantic import Field, SecretStr, model_validator

from sprayadvisor.settings import crosscheck
from sprayadvisor.settings.fields import Section, WebAddress


class Endpoints(NamedTuple):
    """Addresses of the weather service, without a slash at the end."""

    forecast: str
    air_quality: str
    geocoding: str
    ensemble: str


class Forecast(Section):
    """Where the weather comes from."""

    plan: Annotated[Literal["free", "customer", "own"] | None, Field(examples=["customer"])] = None
    """free (for non-commercial use only), customer (needs a key), own (your own server).
    Left out: customer if there is a key, own if there is a base_url, else free."""
    api_key: Annotated[SecretStr | None, Field(min_length=1, examples=["a long secret"])] = None
    """Key of the customer plan.
    Better kept in a file named by SPRAYADVISOR_FORECAST__API_KEY_FILE."""
    base_url: Annotated[WebAddress | None, Field(examples=["http://127.0.0.1:8080"])] = None
    """Forecast address, in place of the plan's."""
    air_quality_url: Annotated[WebAddress | None, Field(examples=["http://127.0.0.1:8080"])] = None
    """Air-quality address, in place of the plan's."""
    geocoding_url: Annotated[WebAddress | None, Field(examples=["http://127.0.0.1:8080"])] = None
    """Address for finding places by name, in place of the plan's."""
    ensemble_url: Annotated[WebAddress | None, Field(examples=["http://127.0.0.1:8080"])] = None
    """Ensemble address, in place of the plan's."""
    ensemble_model: Annotated[
        str | None, Field(pattern=r"^[a-z0-9_]{3,60}$", examples=["icon_seamless_eps"])
    ] = None
    """Ensemble model whose runs give the odds, where your plan has ensembles; a call then counts
    as several hundred. Left out: odds from the usual errors of a forecast."""
    calls_per_month: Annotated[int | None, Field(ge=1, examples=[1_000_000])] = None
    """Calls your plan allows in a month; four fifths of it are used at most.
    Left out: 300000 on the free plan, 1000000 on customer, no end on own."""

    @property
    def effective_plan(self) -> Literal["free", "customer", "own"]:
        """The plan, worked out from key and address where it is left out."""
        if self.plan:
            return self.plan
        if self.api_key:
            return "customer"
        return "own" if self.base_url else "free"

    def endpoints(self) -> Endpoints:
        """Return the four addresses: the plan's, save where one is given.

        On the plan "own" one server answers for all four.
        """
        given = (self.base_url, self.air_quality_url, self.geocoding_url, self.ensemble_url)
        names = ("api", "air-quality-api", "geocoding-api", "ensemble-api")
        prefix = "customer-" if self.effective_plan == "customer" else ""
        hosted = [f"https://{prefix}{name}.open-meteo.com" for name in names]
        plan = [self.base_url] * 4 if self.effective_plan == "own" else hosted
        return Endpoints(*(own or usual or "" for own, usual in zip(given, plan, strict=True)))

    @model_validator(mode="after")
    def _agree(self) -> Self:
        crosscheck.refuse(crosscheck.forecast(self))
        return self

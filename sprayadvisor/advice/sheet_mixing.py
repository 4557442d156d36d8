"""The tables of a sheet about the cup: what is mixed in, how much, how long it can be sprayed."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from sprayadvisor.advice.sheet_base import Minutes, Name, Printed, TempC


class Spread(Printed):
    """How much ready mixed paint a coat takes."""

    ml_m2_coat: float = Field(gt=0, le=5000, description="for one coat on one square metre, ml")
    left_ml: float = Field(0.0, ge=0, le=500, description="left in cup and gun each time, ml")
    least_ml: float = Field(gt=0, le=2000, description="smallest amount that can be mixed, ml")


class PotLife(Printed):
    """How long the mixed paint can be sprayed."""

    at_20_c_min: Minutes = Field(description="at 20 °C, minutes")
    at_30_c_min: Minutes = Field(description="at 30 °C, minutes")

    @model_validator(mode="after")
    def _shorter_when_warm(self) -> Self:
        if self.at_30_c_min > self.at_20_c_min:
            raise ValueError("at_30_c_min is longer than at_20_c_min; swap them")
        return self


class Choice(Printed):
    """One hardener, thinner or additive and the panel temperatures it is made for."""

    what: Literal["hardener", "thinner", "additive"] = Field(description="what is chosen")
    name: Name = Field(description="what stands on the tin")
    from_c: TempC | None = Field(None, description="for panels from, °C")
    below_c: TempC | None = Field(None, description="for panels below, °C")
    or_drier_than_pct: float | None = Field(
        None, ge=1, le=99, description="at any temperature in air drier than this, %"
    )

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.from_c is not None and self.below_c is not None and self.from_c >= self.below_c:
            raise ValueError("from_c is not below below_c; swap them")
        return self

    def suits(self, panel_temp_c: float, rh_pct: float = float("nan")) -> bool:
        """Return whether this choice is made for what a coat meets; never for NaN alone."""
        low = -273.15 if self.from_c is None else self.from_c
        high = 1e3 if self.below_c is None else self.below_c
        drier = self.or_drier_than_pct is not None and rh_pct < self.or_drier_than_pct
        return low <= panel_temp_c < high or drier

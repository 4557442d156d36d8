"""A product data sheet: what one paint product wants, as printed, with two bounds to every limit.

Between the *inside* bound and the *stop* bound the work can be done but the maker will not stand
behind it. A limit with only an inside bound on a side never stops the work on that side. Every
table names the page it was read from; ``revision`` there overrides the sheet's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

Minutes = Annotated[float, Field(gt=0, le=2880, description="minutes")]
TempC = Annotated[float, Field(ge=-40, le=120, description="°C")]
# Quantities a sheet may set limits on, with the range a bound can sensibly lie in.
LIMIT_RANGES: dict[str, tuple[float, float, str]] = {
    "panel_temp_c": (-40.0, 120.0, "°C"),
    "air_temp_c": (-40.0, 60.0, "°C"),
    "rh_pct": (0.0, 100.0, "%"),
    "dew_margin_k": (0.0, 20.0, "K"),
    "wind_ms": (0.0, 30.0, "m/s"),
    "gust_ms": (0.0, 40.0, "m/s"),
}


class Strict(BaseModel):
    """What all tables of a data file share: nothing unknown, nothing infinite, nothing changes."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, strict=True)


class Printed(Strict):
    """A table of numbers read from one page."""

    page: int = Field(ge=1, description="page of the product data sheet the numbers stand on")
    revision: str | None = Field(None, description="revision of that page, if not the sheet's own")


class Limit(Printed):
    """Two bounds to each side: inside the sheet, and where to stop."""

    inside_min: float | None = Field(None, description="lowest value inside the sheet")
    inside_max: float | None = Field(None, description="highest value inside the sheet")
    stop_min: float | None = Field(None, description="below this, stop")
    stop_max: float | None = Field(None, description="above this, stop")

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        low = [bound for bound in (self.stop_min, self.inside_min) if bound is not None]
        high = [bound for bound in (self.inside_max, self.stop_max) if bound is not None]
        if not low + high:
            raise ValueError("has no bound; give inside_min, inside_max, stop_min or stop_max")
        if low != sorted(low):
            raise ValueError("stop_min lies above inside_min; the stop must be the wider bound")
        if high != sorted(high):
            raise ValueError("inside_max lies above stop_max; the stop must be the wider bound")
        if low and high and max(low) >= min(high):
            raise ValueError("the lowest allowed value is not below the highest; swap or mend them")
        return self


class Flash(Printed):
    """Flash-off between coats and before what comes next, at the reference air."""

    between_min: Minutes
    before_next_min: Minutes
    latest_min: Minutes | None = Field(
        None,
        description="covered or under the lamp no later than this after the last coat, minutes",
    )
    quickest_share: float = Field(
        1.0, gt=0, le=1, description="share of the printed time that must pass even when it is warm"
    )
    reference_temp_c: TempC = 20.0
    reference_rh_pct: float = Field(50.0, ge=1, le=99)

    @model_validator(mode="after")
    def _reachable(self) -> Self:
        if self.latest_min is not None and self.latest_min <= self.before_next_min:
            raise ValueError(
                "latest_min is not longer than before_next_min; nothing could be on time"
            )
        return self


class Cure(Printed):
    """Air-drying from the last coat on, at the reference temperature of the metal."""

    dust_free_min: Minutes
    rain_safe_min: Minutes
    workable_min: Minutes = Field(description="until it may be sanded or polished, minutes")
    reference_temp_c: TempC = 20.0
    activation_kj_mol: float = Field(50.0, ge=30, le=85)
    stall_temp_c: TempC = 5.0

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.dust_free_min <= self.rain_safe_min <= self.workable_min:
            raise ValueError(
                "times run backwards; dust_free_min, rain_safe_min and workable_min must rise"
            )
        if self.stall_temp_c >= self.reference_temp_c:
            raise ValueError("stall_temp_c is not below reference_temp_c; it would never dry")
        return self


class Lamp(Printed):
    """Bake under an infrared lamp, counted at the temperature of the metal."""

    flash_first_min: Minutes
    bake_min: Minutes
    metal_temp_c: TempC
    plastic_bake_min: Minutes | None = None
    plastic_temp_c: TempC | None = None
    most_temp_c: TempC = 70.0

    @model_validator(mode="after")
    def _bearable(self) -> Self:
        if self.metal_temp_c > self.most_temp_c:
            raise ValueError("metal_temp_c lies above most_temp_c; the bake would harm the paint")
        return self


class PotLife(Printed):
    """How long the mixed paint can be sprayed."""

    at_20_c_min: Minutes
    at_30_c_min: Minutes


class Choice(Printed):
    """One hardener, thinner or additive and the panel temperatures it is made for."""

    what: Literal["hardener", "thinner", "additive"]
    name: str = Field(min_length=1)
    from_c: TempC | None = None
    below_c: TempC | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.from_c is not None and self.below_c is not None and self.from_c >= self.below_c:
            raise ValueError("from_c is not below below_c; swap them")
        return self

    def suits(self, panel_temp_c: float) -> bool:
        """Return whether this choice is made for the temperature; never for NaN."""
        low = -273.15 if self.from_c is None else self.from_c
        high = 1e3 if self.below_c is None else self.below_c
        return low <= panel_temp_c < high


class Coats(Printed):
    """How many coats the sheet allows."""

    least: int = Field(ge=1, le=6)
    most: int = Field(ge=1, le=6)

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.least > self.most:
            raise ValueError("least is more than most; swap them")
        return self


class Sheet(Strict):
    """One product data sheet."""

    id: str = Field(pattern=r"^[a-z0-9][a-z0-9-]*$", description="name used by processes")
    name: str = Field(min_length=1)
    kind: Literal["filler", "primer", "promoter", "base", "clear", "blender"]
    carrier: Literal["solvent", "water"]
    two_pack: bool = Field(description="hardened with isocyanate")
    revision: str = Field(min_length=1)
    invented: bool = Field(False, description="demo values that no maker has printed")
    limits: dict[str, Limit]
    coats: Coats
    flash: Flash
    cure: Cure | None = Field(None, description="missing where the product is always painted over")
    lamp: Lamp | None = None
    pot_life: PotLife | None = None
    choices: tuple[Choice, ...] = ()
    remarks: str = ""

    @model_validator(mode="after")
    def _limits_make_sense(self) -> Self:
        for quantity, limit in self.limits.items():
            _check_quantity(quantity, limit)
        for quantity in ("panel_temp_c", "rh_pct", "dew_margin_k"):
            if quantity not in self.limits:
                raise ValueError(f"limits.{quantity} is missing; no verdict can be had without it")
        if self.kind == "clear" and self.cure is None:
            raise ValueError("a clear without [cure] never gets dust-free; add the table")
        return self

    def origin(self, table: Printed) -> Origin:
        """Return where the numbers of one of this sheet's tables stand."""
        return Origin("sheet", self.name, table.page, table.revision or self.revision)


def _check_quantity(quantity: str, limit: Limit) -> None:
    """Refuse a limit on something unknown, or a bound that no weather can reach."""
    if quantity not in LIMIT_RANGES:
        raise ValueError(f"limits.{quantity} is not known; use one of {', '.join(LIMIT_RANGES)}")
    low, high, unit = LIMIT_RANGES[quantity]
    for name in ("inside_min", "inside_max", "stop_min", "stop_max"):
        bound = getattr(limit, name)
        if bound is not None and not low <= bound <= high:
            raise ValueError(
                f"limits.{quantity}.{name} is {bound:g}; "
                f"it must lie between {low:g} and {high:g} {unit}"
            )


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a bound comes from, so that a verdict can name it.

    ``kind`` is ``sheet``, ``process``, ``policy`` (the user's own), ``booking``, ``site`` (what was
    said of it) or ``practice`` (common practice, no source).
    """

    kind: Literal["sheet", "process", "policy", "booking", "site", "practice"]
    name: str = ""
    page: int | None = None
    revision: str = ""

    def __str__(self) -> str:
        """Return the origin in words."""
        if self.kind == "sheet":
            return f"{self.name}, rev. {self.revision}, p. {self.page}"
        if self.kind == "process":
            return f"process “{self.name}”"
        return {
            "policy": "your own policy",
            "booking": "the booking",
            "site": "what you said of the site",
            "practice": "common practice",
        }[self.kind]

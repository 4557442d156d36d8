"""A product data sheet: what one paint product wants, as printed, with two bounds to every limit.

Between the *inside* bound and the *stop* bound the work can be done but the maker will not stand
behind it. A limit with only an inside bound on a side never stops the work on that side. Every
table names the page it was read from; ``revision`` there overrides the sheet's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Self

from pydantic import Field, model_validator

from sprayadvisor.advice.flaw import refuse
from sprayadvisor.advice.sheet_base import Id, Minutes, Name, Printed, Strict, TempC, Words
from sprayadvisor.advice.sheet_mixing import Choice, PotLife, Spread
from sprayadvisor.advice.sheet_rules import limit_flaws, table_flaws

PLASTIC_MOST_C = 70.0  # bumpers lose their shape above 65 to 70 °C: common practice, no source


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

    def bound(self, name: str) -> float | None:
        """Return one of the four bounds by its name."""
        value: float | None = getattr(self, name)
        return value


class Flash(Printed):
    """Flash-off between coats and before what comes next, at the reference air."""

    between_min: Minutes = Field(description="between two coats of this product, minutes")
    before_next_min: Minutes = Field(description="before the next product, minutes")
    latest_min: Minutes | None = Field(
        None,
        description="covered or under the lamp no later than this after the last coat, minutes",
    )
    blower_between_min: Minutes | None = Field(
        None, description="between two coats under a blower, minutes"
    )
    blower_before_next_min: Minutes | None = Field(
        None, description="before the next product under a blower, minutes"
    )
    quickest_share: float = Field(
        1.0, gt=0, le=1, description="share of the printed time that must pass even when it is warm"
    )
    reference_temp_c: TempC = Field(20.0, description="the minutes hold at this metal, °C")
    reference_rh_pct: float = Field(
        50.0, ge=1, le=99, description="the minutes hold at this humidity, %"
    )

    @model_validator(mode="after")
    def _sooner_under_a_blower(self) -> Self:
        for name in ("between_min", "before_next_min"):
            under, still = getattr(self, f"blower_{name}"), getattr(self, name)
            if under is not None and under > still:
                raise ValueError(f"blower_{name} is longer than {name}; swap them")
        return self

    @model_validator(mode="after")
    def _reachable(self) -> Self:
        if self.latest_min is not None and self.latest_min <= self.before_next_min:
            raise ValueError(
                "latest_min is not longer than before_next_min; nothing could be on time"
            )
        return self


class Edge(Printed):
    """How soon a blended edge must follow the last coat below it."""

    within_min: Minutes = Field(description="begins no later than this after that coat, minutes")
    hot_within_min: Minutes | None = Field(None, description="the same on hot metal, minutes")
    hot_from_c: TempC | None = Field(None, description="metal this warm is hot, °C")

    @model_validator(mode="after")
    def _hot_is_whole(self) -> Self:
        if (self.hot_within_min is None) != (self.hot_from_c is None):
            raise ValueError(
                "hot metal needs both hot_within_min and hot_from_c; give both or neither"
            )
        if self.hot_within_min is not None and self.hot_within_min > self.within_min:
            raise ValueError("hot_within_min is longer than within_min; swap them")
        return self


class Recoat(Printed):
    """How long sanded paint may be left before it must be rubbed down again."""

    rekey_after_h: float = Field(gt=0, le=720, description="hours until it must be keyed again")


class Cure(Printed):
    """Air-drying from the last coat on, at the reference temperature of the metal."""

    dust_free_min: Minutes = Field(description="until nothing sticks to it, minutes")
    rain_safe_min: Minutes = Field(description="until rain does no harm, minutes")
    workable_min: Minutes = Field(description="until it may be sanded or polished, minutes")
    reference_temp_c: TempC = Field(20.0, description="the minutes hold at this metal, °C")
    activation_kj_mol: float = Field(
        50.0,
        ge=30,
        le=85,
        description="how much faster warmth makes it, kJ/mol; 50 doubles by 10 K",
    )
    stall_temp_c: TempC = Field(5.0, description="at colder metal it stands still, °C")

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

    flash_first_min: Minutes = Field(description="flash-off before the lamp, minutes")
    bake_min: Minutes = Field(description="bake of one place on metal, minutes")
    metal_temp_c: TempC = Field(description="temperature of the metal in the bake, °C")
    plastic_bake_min: Minutes | None = Field(None, description="bake of one place on plastic, min")
    plastic_temp_c: TempC | None = Field(None, description="temperature of plastic in it, °C")
    most_temp_c: TempC = Field(70.0, description="hottest the paint may get, °C")

    @model_validator(mode="after")
    def _bearable(self) -> Self:
        if self.metal_temp_c > self.most_temp_c:
            raise ValueError("metal_temp_c lies above most_temp_c; the bake would harm the paint")
        if (self.plastic_bake_min is None) != (self.plastic_temp_c is None):
            raise ValueError(
                "a bake on plastic needs both plastic_bake_min and plastic_temp_c; "
                "give both or neither"
            )
        return self

    @model_validator(mode="after")
    def _spares_plastic(self) -> Self:
        if self.plastic_temp_c is None or self.plastic_bake_min is None:
            return self
        most = min(self.most_temp_c, PLASTIC_MOST_C)
        if self.plastic_temp_c > most:
            raise ValueError(
                f"plastic_temp_c is {self.plastic_temp_c:g}; plastic bears {most:g} °C at most"
            )
        if self.plastic_temp_c <= self.metal_temp_c and self.plastic_bake_min < self.bake_min:
            raise ValueError(
                "plastic_bake_min is shorter than bake_min though the plastic is no hotter; "
                "swap or mend them"
            )
        return self

    def bakes_plastic(self) -> bool:
        """Return whether plastic bears this bake."""
        return self.plastic_temp_c is not None or self.metal_temp_c <= PLASTIC_MOST_C


class Coats(Printed):
    """How many coats the sheet allows."""

    least: int = Field(ge=1, le=6, description="fewest coats")
    most: int = Field(ge=1, le=6, description="most coats")
    most_area_m2: float | None = Field(
        None, gt=0, le=10, description="largest repair it is meant for, m²; missing without one"
    )

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.least > self.most:
            raise ValueError("least is more than most; swap them")
        return self


class Sheet(Strict):
    """One product data sheet."""

    id: Id = Field(description="name used by processes")
    name: Name = Field(description="what stands on the tin")
    kind: Literal["filler", "primer", "promoter", "base", "clear", "blender"] = Field(
        description="what the product is for"
    )
    carrier: Literal["solvent", "water"] = Field(description="what has to leave in a flash-off")
    two_pack: bool = Field(description="hardened with isocyanate")
    revision: Name = Field(description="revision of the sheet")
    invented: bool = Field(False, description="demo values that no maker has printed")
    limits: dict[str, Limit] = Field(description="two bounds to each limit, by quantity")
    coats: Coats = Field(description="how many coats are allowed")
    flash: Flash = Field(description="flash-off times")
    cure: Cure | None = Field(None, description="missing where the product is always painted over")
    lamp: Lamp | None = Field(None, description="missing where no lamp is allowed")
    pot_life: PotLife | None = Field(None, description="missing where nothing is mixed in")
    spread: Spread | None = Field(None, description="missing where no amount is told")
    edge: Edge | None = Field(None, description="for a blender alone")
    recoat: Recoat | None = Field(None, description="missing where it may be left for long")
    choices: tuple[Choice, ...] = Field((), description="hardeners, thinners, additives")
    remarks: Words = Field("", description="what else the painter should know")

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        refuse([*limit_flaws(self.limits), *table_flaws(self)])
        return self

    def origin(self, table: Printed) -> Origin:
        """Return where the numbers of one of this sheet's tables stand."""
        return Origin("sheet", self.name, table.page, table.revision or self.revision)


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

"""A process: the ordered stages of one kind of repair, as a painter would list them.

A stage follows the one before it. It may be allowed to wait (``may_wait_min``), be bound to start
soon after the last work before it (``within_min``), or run alongside an earlier flash, lamp or
cooling stage while the painter's hands are free.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from sprayadvisor.advice.flaw import refuse
from sprayadvisor.advice.process_rules import process_flaws
from sprayadvisor.advice.sheet_base import Id, Name, Strict, TempC, Words

LONGEST_WAIT_MIN = 60
Need = Literal["no_rain", "dry", "card_light", "paint_light", "soft_light"]
# What a panel may be warmed to before it is painted: paint and plastic bear it for hours.
WarmTempC = Annotated[float, Field(ge=5, le=60, description="°C")]
COOL_TO_C = 40.0  # fresh paint can be unmasked: common practice, no source
WholeMinutes = Annotated[int, Field(ge=1, le=480)]
# Where no lamp runs, what a lamp stage becomes: its id with one of these behind it.
AIR_DRYING = ("dust-free", "rain-safe", "workable")
# What each kind of stage must say, and what only it may say.
_MUST: dict[str, tuple[str, ...]] = {
    "hand": ("minutes",),
    "check": ("minutes",),
    "coat": ("sheet", "coats", "minutes_each"),
    "flash": ("sheet", "until"),
    "lamp": (),
    "cool": ("minutes",),
}
_ONLY: dict[str, tuple[str, ...]] = {
    "coats": ("coat",),
    "minutes_each": ("coat",),
    "area_share": ("coat",),
    "until": ("flash",),
    "sheet": ("coat", "flash", "lamp"),
    "minutes": ("hand", "check", "cool"),
    "alongside": ("hand", "check"),
    "may_wait_min": ("hand", "check", "coat"),
    "no_return": ("hand", "coat"),
    "film_up": ("hand",),
    "film_down": ("hand",),
    "hard": ("hand", "check"),
    "warm_to_c": ("lamp",),
    "cool_to_c": ("cool",),
    "quench": ("cool",),
}
# What goes with ``warm_to_c`` alone.
_WARMING = ("warm_below_c", "soak_min")


class PanelRange(Strict):
    """Panel temperatures a stage can be done at, °C."""

    least: TempC | None = Field(None, description="lowest, °C")
    most: TempC | None = Field(None, description="highest, °C")

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.least is None and self.most is None:
            raise ValueError("has neither least nor most; give one or remove the table")
        if self.least is not None and self.most is not None and self.least >= self.most:
            raise ValueError("least is not below most; swap or mend them")
        return self


class Stage(Strict):
    """One stage of a repair."""

    id: Id = Field(description="name other stages and reports use")
    name: Name = Field(description="what the painter calls it")
    kind: Literal["hand", "check", "coat", "flash", "lamp", "cool"] = Field(
        description="hand work, comparing colours, spraying, flashing off, lamp or cooling"
    )
    minutes: WholeMinutes | None = Field(None, description="how long it takes, minutes")
    sheet: str | None = Field(None, description="role of the sheet, a key of [sheets]")
    coats: int | None = Field(None, ge=1, le=6, description="how many coats")
    minutes_each: WholeMinutes | None = Field(
        None, description="spraying time of one coat, minutes"
    )
    until: Literal["coat", "next", "lamp"] | None = Field(
        None,
        description="what this flash-off is for: a coat of the same, the next product, the lamp",
    )
    needs: tuple[Need, ...] = Field((), description="what the weather and the light must give")
    least_air_c: TempC | None = Field(None, description="lowest air temperature for it, °C")
    panel_c: PanelRange | None = Field(None, description="panel temperatures it can be done at, °C")
    within_min: WholeMinutes | None = Field(
        None, description="starts no later than this after the last work before it, minutes"
    )
    may_wait_min: int = Field(
        0,
        ge=0,
        le=LONGEST_WAIT_MIN,
        description="may wait so long before it starts, minutes",
    )
    area_share: float | None = Field(
        None, gt=0, le=1, description="share of the repair's area that is sprayed; all unless said"
    )
    safe_stop: bool = Field(False, description="the job may be left once this stage is done")
    no_return: bool = Field(False, description="from the start of this stage there is no way back")
    warm_to_c: WarmTempC | None = Field(
        None, description="the lamp warms bare metal to this before a coat, °C; it bakes nothing"
    )
    warm_below_c: WarmTempC | None = Field(
        None, description="only metal colder than this is warmed, °C; all that is below warm_to_c"
    )
    soak_min: WholeMinutes | None = Field(
        None, description="how long it is held so warm, until the frame behind is, minutes"
    )
    cool_to_c: WarmTempC | None = Field(
        None, description="cools at least to this, °C; 40 unless said"
    )
    quench: bool = Field(False, description="cooled with a wet cloth")
    alongside: str | None = Field(None, description="id of the stage this is done during")
    film_up: bool = Field(False, description="masking film hangs from here on")
    film_down: bool = Field(False, description="masking film comes off in this stage")
    hard: bool = Field(
        False, description="needs the paint hard: another day where it only air-dries"
    )

    @model_validator(mode="after")
    def _says_what_its_kind_needs(self) -> Self:
        for name in _MUST[self.kind]:
            if getattr(self, name) is None:
                raise ValueError(f"a {self.kind} stage needs {name}; add it")
        for name, kinds in _ONLY.items():
            given = getattr(self, name)
            if given is not None and given is not False and given != 0 and self.kind not in kinds:
                raise ValueError(f"{name} does not go with a {self.kind} stage; remove it")
        if self.kind == "lamp" and (self.sheet is None) == (self.warm_to_c is None):
            raise ValueError(
                "a lamp stage needs either sheet, to bake paint, or warm_to_c, to warm metal "
                "before a coat; give one of them"
            )
        if self.safe_stop and self.kind in ("coat", "flash"):
            raise ValueError(f"a {self.kind} stage leaves wet paint; remove safe_stop")
        if len(set(self.needs)) < len(self.needs):
            raise ValueError("needs names something twice; name it once")
        return self

    @model_validator(mode="after")
    def _warms_sensibly(self) -> Self:
        for name in _WARMING:
            if getattr(self, name) is not None and self.warm_to_c is None:
                raise ValueError(f"{name} goes with warm_to_c alone; add that or remove {name}")
        if (self.warm_below_c or 0.0) > (self.warm_to_c or 0.0):
            raise ValueError("warm_below_c is above warm_to_c; lower it")
        return self

    @model_validator(mode="after")
    def _can_be_on_time(self) -> Self:
        if self.within_min is not None and self.may_wait_min > self.within_min:
            raise ValueError("may_wait_min is longer than within_min; lower it")
        if self.alongside is None:
            return self
        for name in ("may_wait_min", "within_min", "safe_stop"):
            if getattr(self, name):
                raise ValueError(
                    f"a stage alongside another begins and ends with it; remove {name}"
                )
        return self

    @property
    def bakes(self) -> bool:
        """Whether the lamp hardens paint here, and does not only warm metal."""
        return self.kind == "lamp" and self.warm_to_c is None

    @property
    def compiled_ids(self) -> tuple[str, ...]:
        """Every name this stage can have in a plan."""
        if self.bakes:
            return (self.id, *(f"{self.id}-{end}" for end in AIR_DRYING))
        coats = range(1, (self.coats or 0) + 1)
        if len(coats) < 2:
            return (self.id,)
        return (
            self.id,
            *(self.coat_id(number) for number in coats),
            *(f"{self.coat_id(number)}-flash" for number in coats[:-1]),
        )

    def coat_id(self, number: int) -> str:
        """Return the name of one of its coats in a plan, counted from 1."""
        return self.id if self.coats == 1 else f"{self.id}-{number}"


class Process(Strict):
    """The ordered stages of one kind of repair."""

    id: Id = Field(description="name used by bookings")
    name: Name = Field(description="what the painter calls it")
    summary: Words = Field("", description="what it is for")
    invented: bool = Field(False, description="demo values that no shop has timed")
    sheets: dict[str, str] = Field(
        description="role of a product in this process = id of its sheet"
    )
    stages: tuple[Stage, ...] = Field(min_length=1, description="in the order of the work")

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        refuse(process_flaws(self.stages, self.sheets))
        return self

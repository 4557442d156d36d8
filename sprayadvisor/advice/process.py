"""A process: the ordered stages of one kind of repair, as a painter would list them.

A stage follows the one before it. It may be allowed to wait (``may_wait_min``), be bound to start
soon after the last work before it (``within_min``), or run alongside an earlier flash, lamp or
cooling stage while the painter's hands are free.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from sprayadvisor.advice.sheet import Strict, TempC

LONGEST_WAIT_MIN = 60
Need = Literal["no_rain", "dry", "card_light", "paint_light", "soft_light"]
WholeMinutes = Annotated[int, Field(ge=1, le=480)]
# What each kind of stage must say, and what only it may say.
_MUST: dict[str, tuple[str, ...]] = {
    "hand": ("minutes",),
    "check": ("minutes",),
    "coat": ("sheet", "coats", "minutes_each"),
    "flash": ("sheet", "until"),
    "lamp": ("sheet",),
    "cool": ("minutes",),
}
_ONLY: dict[str, tuple[str, ...]] = {
    "coats": ("coat",),
    "minutes_each": ("coat",),
    "until": ("flash",),
    "sheet": ("coat", "flash", "lamp"),
    "minutes": ("hand", "check", "cool"),
    "alongside": ("hand", "check"),
}


class PanelRange(Strict):
    """Panel temperatures a stage can be done at, °C."""

    least: TempC | None = None
    most: TempC | None = None


class Stage(Strict):
    """One stage of a repair."""

    id: str = Field(pattern=r"^[a-z0-9][a-z0-9-]*$")
    name: str = Field(min_length=1, description="what the painter calls it")
    kind: Literal["hand", "check", "coat", "flash", "lamp", "cool"]
    minutes: WholeMinutes | None = None
    sheet: str | None = Field(None, description="role of the sheet, a key of [sheets]")
    coats: int | None = Field(None, ge=1, le=6)
    minutes_each: WholeMinutes | None = Field(None, description="spraying time of one coat")
    until: Literal["coat", "next", "lamp"] | None = Field(
        None,
        description="what this flash-off is for: a coat of the same, the next product, the lamp",
    )
    needs: tuple[Need, ...] = ()
    least_air_c: TempC | None = None
    panel_c: PanelRange | None = None
    within_min: WholeMinutes | None = Field(
        None, description="starts no later than this after the last work before it, minutes"
    )
    may_wait_min: int = Field(0, ge=0, description="may wait so long before it starts, minutes")
    safe_stop: bool = Field(False, description="the job may be left once this stage is done")
    no_return: bool = Field(False, description="from the start of this stage there is no way back")
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
            if getattr(self, name) is not None and self.kind not in kinds:
                raise ValueError(f"{name} does not go with a {self.kind} stage; remove it")
        if self.may_wait_min and self.kind in ("flash", "lamp", "cool"):
            raise ValueError(f"a {self.kind} stage runs by itself; remove may_wait_min")
        if self.may_wait_min > LONGEST_WAIT_MIN:
            raise ValueError(
                f"may_wait_min is {self.may_wait_min}; at most {LONGEST_WAIT_MIN} can be planned"
            )
        if self.within_min is not None and self.may_wait_min > self.within_min:
            raise ValueError("may_wait_min is longer than within_min; lower it")
        if self.alongside is not None and self.may_wait_min:
            raise ValueError("a stage alongside another cannot wait; remove may_wait_min")
        return self


class Process(Strict):
    """The ordered stages of one kind of repair."""

    id: str = Field(pattern=r"^[a-z0-9][a-z0-9-]*$")
    name: str = Field(min_length=1)
    summary: str = ""
    invented: bool = Field(False, description="demo values that no shop has timed")
    sheets: dict[str, str] = Field(
        description="role of a product in this process = id of its sheet"
    )
    stages: tuple[Stage, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        seen: dict[str, Stage] = {}
        for stage in self.stages:
            _check_in_its_place(stage, seen, self.sheets)
            seen[stage.id] = stage
        _check_commitment(self.stages)
        return self


def _check_in_its_place(stage: Stage, before: dict[str, Stage], roles: dict[str, str]) -> None:
    """Refuse a stage that contradicts the stages before it."""
    where = f"stage “{stage.id}”"
    if stage.id in before:
        raise ValueError(f"{where} stands twice; give each stage its own id")
    if stage.sheet is not None and stage.sheet not in roles:
        raise ValueError(f"{where} uses the sheet role “{stage.sheet}”; add it to [sheets]")
    if stage.kind in ("flash", "lamp"):
        coated = any(s.kind == "coat" and s.sheet == stage.sheet for s in before.values())
        if not coated:
            raise ValueError(
                f"{where} comes before any coat of “{stage.sheet}”; move it behind one"
            )
    if stage.within_min is not None and not before:
        raise ValueError(f"{where} is first and follows nothing; remove within_min")
    if stage.alongside is not None:
        _check_alongside(stage, before, where)


def _check_alongside(stage: Stage, before: dict[str, Stage], where: str) -> None:
    """Refuse hand work alongside something that does not run by itself just before it."""
    host = before.get(stage.alongside or "")
    if host is None:
        raise ValueError(
            f"{where} runs alongside “{stage.alongside}”, which does not come before it"
        )
    if host.kind not in ("flash", "lamp", "cool"):
        raise ValueError(
            f"{where} runs alongside “{host.id}”, where no hands are free; "
            "choose a flash, lamp or cool stage"
        )
    behind = list(before.values())
    between = behind[behind.index(host) + 1 :]
    if any(other.alongside != host.id for other in between):
        raise ValueError(
            f"{where} runs alongside “{host.id}” but does not follow it; move it there"
        )


def _check_commitment(stages: tuple[Stage, ...]) -> None:
    """Refuse waiting or leaving between a point of no return and the end of the bake."""
    committed: Stage | None = None
    for stage in stages:
        if committed is not None and stage.may_wait_min:
            raise ValueError(
                f"stage “{stage.id}” may wait after “{committed.id}”, the point of no return; "
                "remove may_wait_min"
            )
        if stage.safe_stop and stage.kind in ("coat", "flash"):
            raise ValueError(
                f"stage “{stage.id}” leaves wet paint; it cannot be a safe_stop; remove it"
            )
        if stage.no_return:
            committed = stage
        elif stage.kind in ("lamp", "cool"):
            committed = None

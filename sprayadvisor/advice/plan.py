"""A plan: a process compiled with its sheets, the kit and the policy for one job.

The plan is all that the play needs to know. It is a list of stages with fixed minutes or a drying
clock, cut into blocks where work may wait; spans, each a check held from the beginning of one
stage to the end of another; and deadlines, the longest time from the end of one stage to the
beginning of another.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from sprayadvisor.advice.checks import Check
from sprayadvisor.advice.sheet import Origin, Sheet

# Paint that is not dry a day after is not waited for, whatever comes then: common practice.
GIVEN_UP_MIN = 24 * 60


@dataclass(frozen=True, slots=True)
class Clock:
    """A stage that is over when drying has gone far enough.

    Attributes:
        kind: ``flash`` (solvent or water leaves) or ``cure`` (the paint hardens).
        need_min: printed minutes at the reference conditions.
        cap: fastest rate that counts; 1 keeps the printed time as a floor.
        carrier: for a flash, what has to leave.
        reference_temp_c: temperature the printed minutes hold at, °C.
        reference_rh_pct: humidity the printed minutes hold at, %.
        activation_kj_mol: for a cure, its activation energy.
        stall_temp_c: for a cure, the panel temperature below which it stands still.
        boost: factor on the rate by a blower; 1 without.
        since: index of the stage from whose end the clock counts; None counts from the beginning of
            its own stage.
        panel: name of the array the panel temperature is read from.
        given_up_min: how long after the beginning of its count it is waited for.
    """

    kind: Literal["flash", "cure"]
    need_min: float
    cap: float = 1.0
    carrier: Literal["solvent", "water"] = "solvent"
    reference_temp_c: float = 20.0
    reference_rh_pct: float = 50.0
    activation_kj_mol: float = 50.0
    stall_temp_c: float = 5.0
    boost: float = 1.0
    since: int | None = None
    panel: str = "panel_temp_c"
    given_up_min: int = GIVEN_UP_MIN

    @property
    def rate_key(self) -> tuple[object, ...]:
        """What two clocks must share to run at the same rate."""
        if self.kind == "flash":
            return (
                self.kind,
                self.panel,
                self.cap,
                self.carrier,
                self.reference_temp_c,
                self.reference_rh_pct,
                self.boost,
            )
        return (
            self.kind,
            self.panel,
            self.cap,
            self.reference_temp_c,
            self.activation_kj_mol,
            self.stall_temp_c,
        )


@dataclass(frozen=True, slots=True)
class Pace:
    """Work with the lamp, which lasts as long as the weather it begins in makes it.

    Attributes:
        kind: ``warm`` before a coat, ``bake`` after it, or ``cool`` with the lamp off.
        goal_temp_c: temperature of the metal to reach, °C.
        heat_j_m2k: heat capacity of what warms or cools, J/m²K.
        absorbed_wm2: taken up under the lamp, W/m²; 0 for cooling.
        hold_min: minutes of each place at that temperature.
        places: how often the lamp is set up.
        below_c: for warming, the metal that is this warm is left as it is.
        from_temp_c: for cooling, where it begins.
        share: for cooling, of the time that air alone takes.
    """

    kind: Literal["warm", "bake", "cool"]
    goal_temp_c: float
    heat_j_m2k: float
    absorbed_wm2: float = 0.0
    hold_min: float = 0.0
    places: int = 1
    below_c: float = 0.0
    from_temp_c: float = 0.0
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Warmth:
    """A panel just warmed, as one coat and its flash-off meet it.

    Attributes:
        stage: id of the stage that warmed it.
        coat: id of the coat.
        pace: what it was warmed to, and from what on.
        heat_j_m2k: heat capacity of what the lamp has soaked, J/m²K.
        minutes: since the lamp went off when that coat has flashed off, at most.
        window_min: since the warming began, at most.
    """

    stage: str
    coat: str
    pace: Pace
    heat_j_m2k: float
    minutes: float
    window_min: float

    @property
    def panel(self) -> str:
        """Name of the array of the panel temperature that is left at the end."""
        return f"panel_temp_c at {self.coat}"

    @property
    def hottest(self) -> str:
        """Name of the array of the panel temperature as the lamp goes off; all coats share it."""
        return f"hottest panel_temp_c after {self.stage}"

    @property
    def dew_margin(self) -> str:
        """Name of the array of the dew margin that is left at the end."""
        return f"dew_margin_k at {self.coat}"


@dataclass(frozen=True, slots=True)
class PlanStage:
    """One stage as it is played.

    It begins when stage ``after`` ends (None: the block's own beginning), or, with ``alongside``,
    when that stage begins. It lasts ``minutes``, or until ``clock`` is done, or, if that is more
    than its minutes, what its ``pace`` says; ``least_min`` is the shortest it may last because of
    the hand work alongside it. What runs alongside has no pace. ``dust_free`` marks the air-drying
    at whose end nothing sticks to the clear any more. ``area_share`` is how much
    of the repair a coat covers.
    """

    id: str
    name: str
    kind: Literal["hand", "check", "coat", "flash", "warm", "lamp", "cool"]
    after: int | None
    minutes: int | None = None
    clock: Clock | None = None
    pace: Pace | None = None
    alongside: int | None = None
    least_min: int = 0
    role: str | None = None
    safe_stop: bool = False
    no_return: bool = False
    dust_free: bool = False
    area_share: float = 1.0

    @property
    def may_be_nothing(self) -> bool:
        """Whether it may be over as it begins: dry already, or warm already."""
        if self.clock is not None:
            return self.clock.since is not None
        return self.pace is not None and not self.minutes and not self.least_min


@dataclass(frozen=True, slots=True)
class Span:
    """A check held from the beginning of stage ``first`` to the end of stage ``last``."""

    check: Check
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Deadline:
    """Stage ``stage`` begins no later than ``minutes`` after stage ``since`` of its block ended."""

    stage: int
    since: int
    minutes: float
    origin: Origin


@dataclass(frozen=True, slots=True)
class Block:
    """Stages ``first`` up to but not including ``stop`` that follow each other without waiting.

    The block as a whole may wait up to ``may_wait_min`` after the block before it, but begins no
    later than ``within_min`` after the end of stage ``within_since``, where those are given.
    """

    first: int
    stop: int
    may_wait_min: int = 0
    within_min: int | None = None
    within_since: int | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """A process ready to be played for one job.

    ``reserved`` is, by role, what keeps it from being a plain *go* in any weather.
    """

    process: str
    stages: tuple[PlanStage, ...]
    blocks: tuple[Block, ...]
    spans: tuple[Span, ...]
    deadlines: tuple[Deadline, ...] = ()
    sheets: dict[str, Sheet] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    power: tuple[str, ...] = ()
    reserved: tuple[tuple[str, str], ...] = ()
    uses_lamp: bool = False
    warmths: tuple[Warmth, ...] = ()

    @property
    def sprays(self) -> bool:
        """Whether the compressor can run, as far as one is needed."""
        return all(role for role, _ in self.reserved)

    @property
    def reservations(self) -> tuple[str, ...]:
        """Why what is sprayed in it can never be a plain *go*, whatever the weather."""
        sprayed = {stage.role for stage in self.stages if stage.kind == "coat"}
        return tuple(
            why for role, why in self.reserved if role in sprayed or (sprayed and not role)
        )

    def first_coat(self, role: str | None = None) -> int | None:
        """Return the index of the first coat, of a sheet's role where one is given."""
        for index, stage in enumerate(self.stages):
            if stage.kind == "coat" and role in (None, stage.role):
                return index
        return None

    def warmed_for(self, coat: int) -> int | None:
        """Return the stage that warms the panel for a coat, None where none does."""
        before = (i for i in reversed(range(coat)) if self.stages[i].alongside is None)
        found = next((i for i in before if self.stages[i].kind not in ("hand", "check")), None)
        return found if found is not None and self.stages[found].kind == "warm" else None

    def deadlines_of(self, stage: int) -> tuple[Deadline, ...]:
        """Return every deadline of a stage, that of the block it begins among them."""
        found = [deadline for deadline in self.deadlines if deadline.stage == stage]
        for block in self.blocks:
            since, within = block.within_since, block.within_min
            if block.first == stage and since is not None and within is not None:
                found.append(Deadline(stage, since, within, Origin("process", self.process)))
        return tuple(found)

    def commitment(self) -> tuple[int, int] | None:
        """Return the first stage without return and the last wet one of its block.

        Wet is what is sprayed, flashes or bakes; None where no stage is without return.
        """
        for block in self.blocks:
            for index in range(block.first, block.stop):
                if self.stages[index].no_return:
                    after = range(index, block.stop)
                    wet = [j for j in after if self.stages[j].kind in ("coat", "flash", "lamp")]
                    return index, wet[-1] if wet else index
        return None

"""What stands beside an answer at the car, as values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sprayadvisor.advice.checks import Check


@dataclass(frozen=True, slots=True)
class ReadValue:
    """One value that was read, with its distances to both bounds of a sheet.

    Attributes:
        check: the sheet's limit.
        value: as read.
        inside_margin: distance to the inside bound, negative beyond.
        stop_margin: distance to the stop; infinite without one.
        read: whether it was read; else it is what is expected.
    """

    check: Check
    value: float
    inside_margin: float
    stop_margin: float
    read: bool = True


@dataclass(frozen=True, slots=True)
class AsRead:
    """What was read, against the sheet of the coat that comes next.

    Attributes:
        coat: name of that coat.
        values: one for each quantity that was read and has a limit there.
    """

    coat: str
    values: tuple[ReadValue, ...]


@dataclass(frozen=True, slots=True)
class StageNow:
    """A stage of the lamp, begun now.

    Attributes:
        kind: ``warm``, ``bake`` or ``cool``.
        goal_temp_c: the panel is warmed to this, baked at it, or cooled down to it, °C.
        hold_min: for a bake, how long at that temperature, each place.
        ends_at: when it is over in the middle of the members, UTC; None where it never is.
        most_temp_c: hotter than this the panel must not get, °C.
        plastic: whether any panel is plastic.
        read_temp_c: the panel as read, °C; NaN where it was not.
        from_temp_c: where cooling begins by the plan, °C.
    """

    kind: str
    goal_temp_c: float
    hold_min: float
    ends_at: datetime | None
    most_temp_c: float
    plastic: bool
    read_temp_c: float
    from_temp_c: float = 0.0


@dataclass(frozen=True, slots=True)
class DustFree:
    """When nothing sticks to the last coat any more.

    Attributes:
        minutes: from now, in the middle of the members.
        slow_minutes: in the slowest tenth.
        at: when, UTC, in the middle.
        by_lamp: whether it is the end of a bake.
    """

    minutes: float
    slow_minutes: float
    at: datetime
    by_lamp: bool


@dataclass(frozen=True, slots=True)
class FlashOff:
    """A flash-off that counts anew.

    Attributes:
        printed_min: as the sheet prints it.
        expected_min: what it comes to here, no shorter than until now; NaN where it has no end.
        at: when it is over, UTC; None where it is not played to its end.
    """

    printed_min: float
    expected_min: float
    at: datetime | None

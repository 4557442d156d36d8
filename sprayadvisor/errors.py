"""Every error this project raises on purpose, and how they relate.

    SprayadvisorError            one clear sentence for the person who must act
    ├── FaultsError              several faults found in one go, each with its place and its mend
    │   ├── SettingsError        the settings file or a SPRAYADVISOR_ variable
    │   ├── DataFileError        a sheet or a process
    │   └── BookingFileError     a file of bookings
    ├── InputError               something a person typed (also a ValueError)
    │   └── RangeError           a number outside what physics allows
    ├── BookingError             no such job, or the job cannot be taken as given
    ├── WeatherError             no usable answer from the forecast service
    │   ├── WeatherUnreachable   no connection, time-out, 5xx, garbled body: worth another try
    │   ├── WeatherBusy          a limit was hit; ``retry_after_s`` says when it falls away
    │   ├── WeatherRefused       the request itself is wrong; trying again cannot help
    │   └── WeatherMalformed     an answer with the wrong shape or units: never guessed at
    ├── StoreError               the database or a folder cannot be read or written
    └── DeliveryError            a message could not be handed over; ``permanent`` decides

Anything else that escapes is a defect and is meant to be loud.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class SprayadvisorError(Exception):
    """Root of the tree. ``str(error)`` is one sentence that names the thing and the mend."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong in one place.

    Attributes:
        where: file name, or the name of an environment variable.
        field: dotted path of the field, empty where the whole file is meant.
        problem: what is wrong, without a full stop.
        remedy: what to do about it, without a full stop.
        line: line in the file, counted from 1, where it is known.
    """

    where: str
    field: str
    problem: str
    remedy: str
    line: int | None = None

    def __str__(self) -> str:
        """Return ``file:line: field: problem; remedy.`` leaving out what is not known."""
        place = f"{self.where}:{self.line}" if self.line else self.where
        parts = [part for part in (place, self.field) if part]
        return f"{': '.join(parts)}: {self.problem}; {self.remedy}."


@dataclass(frozen=True, slots=True)
class RowFault(Fault):
    """One thing wrong in a table, as somebody who looks at a spreadsheet is told."""

    def __str__(self) -> str:
        """Return ``file, line 3, column: problem; remedy.`` naming the column once."""
        parts = [self.where]
        if self.line:
            parts.append(f"line {self.line}")
        if self.field and not self.problem.startswith(self.field):
            parts.append(self.field)
        end = "" if self.remedy.endswith("?") else "."
        return f"{', '.join(parts)}: {self.problem}; {self.remedy}{end}"


class FaultsError(SprayadvisorError):
    """Faults that were found together and are told together."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class SettingsError(FaultsError):
    """The settings cannot be used."""


class DataFileError(FaultsError):
    """A sheet or a process cannot be used; nothing of it was loaded."""


class BookingFileError(FaultsError):
    """A file of bookings cannot be used; nothing of it was taken."""


class InputError(SprayadvisorError, ValueError):
    """Something a person typed cannot be understood or cannot be true.

    Attributes:
        field: of the form, where one is at fault; else empty.
    """

    def __init__(self, sentence: str, *, field: str = "") -> None:
        self.field = field
        super().__init__(sentence)


class RangeError(InputError):
    """A scalar outside its physical range."""

    def __init__(self, name: str, value: float, low: float, high: float, unit: str) -> None:
        self.name, self.value, self.low, self.high, self.unit = name, value, low, high, unit
        super().__init__(f"{name} is {value:g} {unit}; it must lie between {low:g} and {high:g}.")


class BookingError(SprayadvisorError):
    """A booking does not exist or cannot be taken as it is."""


class WeatherError(SprayadvisorError):
    """The forecast service gave nothing that may be used."""


class WeatherUnreachable(WeatherError):  # noqa: N818 - the tree reads better without a suffix
    """No connection, a time-out, a server fault or a garbled body."""


class WeatherBusy(WeatherError):  # noqa: N818
    """A call limit was hit; after ``retry_after_s`` seconds it falls away."""

    def __init__(self, sentence: str, retry_after_s: float) -> None:
        self.retry_after_s = retry_after_s
        super().__init__(sentence)


class WeatherRefused(WeatherError):  # noqa: N818
    """The request is wrong or not allowed; the same request will fail again."""


class WeatherMalformed(WeatherError):  # noqa: N818
    """The answer has the wrong shape, units or values."""


class StoreError(SprayadvisorError):
    """The database or a folder cannot be read or written."""


class DeliveryError(SprayadvisorError):
    """A message could not be handed over.

    Attributes:
        permanent: the same message will be refused again.
        doubtful: it may have arrived all the same.
        for_all: the way out is at fault and not the message, so others would fare no better.
        wait_s: try again no sooner than after so many seconds, for a person must mend something.
    """

    def __init__(
        self,
        sentence: str,
        *,
        permanent: bool,
        doubtful: bool = False,
        for_all: bool = False,
        wait_s: float = 0.0,
    ) -> None:
        self.permanent, self.doubtful = permanent, doubtful
        self.for_all, self.wait_s = for_all, wait_s
        super().__init__(sentence)

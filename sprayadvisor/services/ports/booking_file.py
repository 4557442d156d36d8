"""A file of bookings: a table of texts, with a row for each job."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from sprayadvisor.errors import Fault


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a file.

    Attributes:
        line: on which it begins, counted from 1.
        texts: what stands in it, by column; a column that is empty there is left out.
    """

    line: int
    texts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class BookingTable:
    """A file as it was read.

    Attributes:
        read_as: encoding and separator that were taken, in words.
        rows: those that could be read, in their order.
        faults: one for each row that could not.
    """

    read_as: str
    rows: tuple[Row, ...]
    faults: tuple[Fault, ...]


class BookingFile(Protocol):
    """Reads and writes files of bookings."""

    def read(self, path: Path, columns: Collection[str], needed: Collection[str]) -> BookingTable:
        """Return what stands in a file.

        Args:
            path: the file.
            columns: every column there may be.
            needed: those that must be there.

        Raises:
            BookingFileError: nothing in it can be trusted, with every reason that was found.
        """
        ...

    def written(self, columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> str:
        """Return the text of a file that reads back as these rows."""
        ...

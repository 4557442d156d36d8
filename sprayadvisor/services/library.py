"""Sheets and processes to read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from sprayadvisor.advice.process import Process
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.render.told_process import ToldProcess, tell_process
from sprayadvisor.render.told_sheet import ToldSheet, tell_sheet
from sprayadvisor.units import Display


class SheetsOf(Protocol):
    """Knows the sheets of a process."""

    def sheets_of(self, process: Process) -> Mapping[str, Sheet]:
        """Return every sheet a process names, by role."""
        ...


@dataclass(frozen=True, slots=True)
class Library:
    """Tells sheets and processes in words.

    Attributes:
        catalogue: which sheets a process uses.
        display: how numbers are shown.
    """

    catalogue: SheetsOf
    display: Display

    def sheet(self, sheet: Sheet) -> ToldSheet:
        """Return a sheet in words."""
        return tell_sheet(sheet, self.display)

    def process(self, process: Process, *, lamp: bool = True, plastic: bool = False) -> ToldProcess:
        """Return a process in words, as it goes with or without a lamp, on metal or plastic."""
        sheets = self.catalogue.sheets_of(process)
        return tell_process(process, sheets, self.display, lamp=lamp, plastic=plastic)

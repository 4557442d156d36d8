"""Sheets and processes from TOML files: read whole, checked whole, or refused with every fault."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Generic, Literal, TypeVar

from sprayadvisor.adapters.toml_model import as_model, id_meant_by, read_toml
from sprayadvisor.adapters.whole_files import write_whole
from sprayadvisor.advice.fits import misfits
from sprayadvisor.advice.process import Process
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.errors import DataFileError, Fault

T = TypeVar("T", Sheet, Process)
Kind = Literal["sheet", "process"]
MODELS: dict[Kind, type[Sheet | Process]] = {"sheet": Sheet, "process": Process}
SCHEMA_DIALECT = "https://json-schema.org/draft/2020-12/schema"


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Every sheet and process that could be loaded, and what was wrong with the others.

    A broken file spoils only what names it: a job whose process is among ``faults`` is *unknown*.
    """

    sheets: Mapping[str, Sheet]
    processes: Mapping[str, Process]
    faults: tuple[Fault, ...] = field(default=())

    def sheets_of(self, process: Process) -> dict[str, Sheet]:
        """Return the sheets of a process by role."""
        return {role: self.sheets[name] for role, name in process.sheets.items()}


class DataFiles:
    """The sheets and processes in the folders of one user, and single files held against them.

    Args:
        sheet_folders: a later folder overrides an earlier one by id.
        process_folders: likewise.
    """

    def __init__(self, sheet_folders: Sequence[Path], process_folders: Sequence[Path]) -> None:
        self._folders = tuple(sheet_folders), tuple(process_folders)

    @cached_property
    def catalogue(self) -> Catalogue:
        """Everything in the folders."""
        return load_catalogue(*self._folders)

    def sheet(self, path: Path) -> Sheet:
        """Return the sheet in a file.

        Raises:
            DataFileError: with every fault of the file.
        """
        return load_sheet(path)

    def process(self, path: Path) -> Process:
        """Return the process in a file, held against the sheets in the folders.

        Raises:
            DataFileError: with every fault of the file.
        """
        return load_process(path, self.catalogue.sheets)

    def schema(self, kind: Kind) -> str:
        """Return the JSON Schema of a sheet or a process."""
        return schema_text(MODELS[kind])

    def write_schema(self, kind: Kind, folder: Path) -> Path:
        """Write a JSON Schema into a folder and return its file.

        Raises:
            StoreError: it cannot be written.
        """
        path = folder / f"{kind}.schema.json"
        write_whole(path, self.schema(kind).encode())
        return path


def load_sheet(path: Path) -> Sheet:
    """Return the sheet in ``path``.

    Raises:
        DataFileError: with every fault of the file.
    """
    return as_model(read_toml(path), Sheet)


def load_process(path: Path, sheets: Mapping[str, Sheet]) -> Process:
    """Return the process in ``path``, held against the sheets it names.

    Raises:
        DataFileError: with every fault of the file.
    """
    data = read_toml(path)
    process = as_model(data, Process)
    if flaws := misfits(process, sheets):
        raise DataFileError(data.faults(flaws))
    return process


def load_catalogue(sheet_folders: Sequence[Path], process_folders: Sequence[Path]) -> Catalogue:
    """Return everything in the folders; a later folder overrides an earlier one by id.

    Nothing is raised for a broken file: its faults are kept with the catalogue. What it would have
    overridden is then not used either, for it is not what the user means.
    """
    sheets = _Shelf[Sheet](load_sheet)
    for folder in sheet_folders:
        sheets.take(folder)
    processes = _Shelf[Process](lambda path: load_process(path, sheets.loaded))
    for folder in process_folders:
        processes.take(folder)
    return Catalogue(sheets.loaded, processes.loaded, (*sheets.faults, *processes.faults))


def schema_text(model: type[Sheet | Process]) -> str:
    """Return the JSON Schema of a data file, for editors.

    Its ``$id`` is a name, not an address: nothing is to be fetched from there.
    """
    kind = model.__name__.lower()
    own = {
        "$schema": SCHEMA_DIALECT,
        "$id": f"urn:sprayadvisor:schema:{kind}",
        "title": f"Sprayadvisor {kind}",
    }
    schema = own | {k: v for k, v in model.model_json_schema().items() if k not in own}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


@dataclass(slots=True)
class _Shelf(Generic[T]):
    """What is loaded of one kind, folder by folder."""

    load: Callable[[Path], T]
    loaded: dict[str, T] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def take(self, folder: Path) -> None:
        """Load the TOML files of a folder over what is there."""
        try:
            paths = sorted(path for path in folder.iterdir() if _is_data(path))
        except OSError as error:
            problem = f"the folder cannot be read ({error.strerror})"
            self.faults.append(Fault(str(folder), "", problem, "create it or correct the settings"))
            return
        seen: dict[str, Path] = {}
        for path in paths:
            name = id_meant_by(path)
            self.loaded.pop(name, None)
            self._take_file(path, seen)

    def _take_file(self, path: Path, seen: dict[str, Path]) -> None:
        """Load a file; where two of a folder have the same id nobody knows which is meant."""
        try:
            item = self.load(path)
        except DataFileError as error:
            self.faults += error.faults
            return
        other = seen.setdefault(item.id, path)
        if other is path:
            self.loaded[item.id] = item
            return
        self.loaded.pop(item.id, None)
        problem = f"“{item.id}” is the id in {other.name} too, so neither is used"
        self.faults.append(Fault(str(path), "id", problem, "give each file an id of its own"))


def _is_data(path: Path) -> bool:
    """Return whether a file is meant to be read; editors leave hidden ones beside it."""
    return path.suffix == ".toml" and not path.name.startswith(".")

"""Sheets and processes from TOML files: read whole, checked whole, or refused with every fault."""

from __future__ import annotations

import difflib
import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from sprayadvisor.advice.process import Process
from sprayadvisor.advice.sheet import Sheet
from sprayadvisor.errors import DataFileError, Fault

M = TypeVar("M", bound=BaseModel)
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


def load_sheet(path: Path) -> Sheet:
    """Return the sheet in ``path``.

    Raises:
        DataFileError: with every fault of the file.
    """
    return _load(path, Sheet)


def load_process(path: Path, sheets: Mapping[str, Sheet]) -> Process:
    """Return the process in ``path``, held against the sheets it names.

    Raises:
        DataFileError: with every fault of the file.
    """
    process = _load(path, Process)
    faults = [Fault(str(path), *problem) for problem in _against_sheets(process, sheets)]
    if faults:
        raise DataFileError(faults)
    return process


def load_catalogue(sheet_folders: Sequence[Path], process_folders: Sequence[Path]) -> Catalogue:
    """Return everything in the folders; a later folder overrides an earlier one by id.

    Nothing is raised for a broken file: its faults are kept with the catalogue.
    """
    faults: list[Fault] = []
    sheets: dict[str, Sheet] = {}
    for path in _files(sheet_folders, faults):
        try:
            sheet = load_sheet(path)
            sheets[sheet.id] = sheet
        except DataFileError as error:
            faults += error.faults
    processes: dict[str, Process] = {}
    for path in _files(process_folders, faults):
        try:
            process = load_process(path, sheets)
            processes[process.id] = process
        except DataFileError as error:
            faults += error.faults
    return Catalogue(sheets, processes, tuple(faults))


def schema_text(model: type[Sheet | Process]) -> str:
    """Return the JSON Schema of a data file, for editors."""
    schema = {"$schema": SCHEMA_DIALECT, **model.model_json_schema()}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _files(folders: Sequence[Path], faults: list[Fault]) -> list[Path]:
    """Return the TOML files of the folders in a settled order."""
    found: list[Path] = []
    for folder in folders:
        if not folder.is_dir():
            faults.append(Fault(str(folder), "", "there is no such folder", "create or correct it"))
            continue
        found += sorted(folder.glob("*.toml"))
    return found


def _load(path: Path, model: type[M]) -> M:
    """Return the file as a model, or raise with every fault in it."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        remedy = "make it a readable UTF-8 file"
        raise DataFileError([Fault(str(path), "", f"cannot be read ({error})", remedy)]) from error
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DataFileError([_syntax_fault(path, error)]) from error
    try:
        # By way of JSON, because strict models take a list for a tuple only from there.
        return model.model_validate_json(json.dumps(data, default=str))
    except ValidationError as error:
        raise DataFileError(_faults(path, text, model, error)) from error


def _syntax_fault(path: Path, error: tomllib.TOMLDecodeError) -> Fault:
    """Return a fault for a file that is not TOML."""
    found = re.search(r"\(at line (\d+), column \d+\)", str(error))
    line = int(found[1]) if found else None
    problem = re.sub(r" \(at .*\)$", "", str(error))
    return Fault(str(path), "", f"is not valid TOML ({problem})", "correct the line", line)


def _faults(path: Path, text: str, model: type[BaseModel], error: ValidationError) -> list[Fault]:
    """Return one fault for each thing pydantic found."""
    faults = []
    for item in error.errors(include_url=False):
        where = list(item["loc"])
        dotted = ".".join(str(part) for part in where)
        problem, remedy = _sentence(item["type"], item["msg"], where, model)
        faults.append(Fault(str(path), dotted, problem, remedy, _line_of(text, where)))
    return faults


def _sentence(
    kind: str, message: str, where: Sequence[int | str], model: type[BaseModel]
) -> tuple[str, str]:
    """Return problem and remedy for one validation error."""
    if kind == "missing":
        return "is missing", "add it"
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(str(where[-1]), _all_keys(model), 1)
        return "is not known", f"did you mean “{near[0]}”" if near else "remove it"
    if kind == "value_error":
        problem, _, remedy = message.removeprefix("Value error, ").partition("; ")
        return problem, remedy or "correct it"
    plain = message[0].lower() + message[1:]
    return plain.replace("input should", "it should"), "correct the value"


def _all_keys(model: type[BaseModel]) -> list[str]:
    """Return every key that may stand anywhere in such a file."""
    schema = model.model_json_schema()
    parts = [schema, *schema.get("$defs", {}).values()]
    return sorted({key for part in parts for key in part.get("properties", {})})


def _line_of(text: str, where: Sequence[int | str]) -> int | None:
    """Return the line the innermost named part of ``where`` stands on, if it is found."""
    lines = text.splitlines()
    at = 0
    line: int | None = None
    for part in where:
        for number in range(at, len(lines)):
            if _names(lines[number], part):
                at, line = number + (1 if isinstance(part, int) else 0), number + 1
                break
        if isinstance(part, int) and line is not None:
            at = _nth_table(lines, str(where[where.index(part) - 1]), part)
            line = at + 1
    return line


def _names(line: str, part: int | str) -> bool:
    """Return whether a line opens the table or sets the key ``part``."""
    if isinstance(part, int):
        return False
    name = re.escape(part)
    return bool(re.match(rf"\s*(\[+([\w.-]+\.)?{name}[\].]|{name}\s*=)", line))


def _nth_table(lines: Sequence[str], name: str, index: int) -> int:
    """Return the line on which table ``index`` of the array ``[[name]]`` opens."""
    opens = [i for i, line in enumerate(lines) if line.strip() == f"[[{name}]]"]
    return opens[index] if index < len(opens) else 0


def _against_sheets(process: Process, sheets: Mapping[str, Sheet]) -> list[tuple[str, str, str]]:
    """Return (field, problem, remedy) of everything a process asks that its sheets do not give."""
    found: list[tuple[str, str, str]] = []
    for role, name in process.sheets.items():
        if name not in sheets:
            near = difflib.get_close_matches(name, sheets, 1)
            remedy = f"did you mean “{near[0]}”" if near else "add the sheet or correct the name"
            found.append((f"sheets.{role}", f"there is no usable sheet “{name}”", remedy))
            continue
        found += _against_sheet(process, role, sheets[name])
    return found


def _against_sheet(process: Process, role: str, sheet: Sheet) -> list[tuple[str, str, str]]:
    """Return what a process asks of one sheet that the sheet does not allow."""
    found = []
    stages = [stage for stage in process.stages if stage.sheet == role]
    coats = sum(stage.coats or 0 for stage in stages)
    if not sheet.coats.least <= coats <= sheet.coats.most:
        allowed = f"{sheet.coats.least} to {sheet.coats.most}"
        found.append(
            (f"sheets.{role}", f"{coats} coats are planned", f"the sheet allows {allowed}")
        )
    for stage in stages:
        if stage.kind == "lamp" and (sheet.lamp is None or sheet.cure is None):
            problem = f"stage “{stage.id}” bakes “{sheet.id}”, which lacks [lamp] or [cure]"
            found.append((f"stages.{stage.id}", problem, "remove the stage or complete the sheet"))
        if stage.until == "lamp" and sheet.lamp is None:
            problem = f"stage “{stage.id}” waits for a lamp that “{sheet.id}” does not allow"
            found.append((f"stages.{stage.id}", problem, "let it flash until “next”"))
    return found

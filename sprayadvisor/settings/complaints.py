"""From what pydantic reports to faults that name file, line, field and mend."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from sprayadvisor.errors import Fault
from sprayadvisor.settings.crosscheck import Clash
from sprayadvisor.settings.model import Settings
from sprayadvisor.settings.names import PREFIX, leaves, nearest_setting
from sprayadvisor.settings.tomlfile import TomlFile


@dataclass(frozen=True, slots=True)
class Places:
    """Where values came from."""

    file: TomlFile
    sources: Mapping[str, str]

    def fault(self, path: tuple[str, ...], problem: str, remedy: str) -> Fault:
        """Return a fault at the place that sets a field, or where it would be set."""
        dotted = ".".join(path)
        if variable := self.sources.get(dotted):
            return Fault(variable, dotted, problem, remedy)
        if self.file.path is not None:
            return Fault(str(self.file.path), dotted, problem, remedy, self.file.line_of(path))
        return Fault(PREFIX + "__".join(path).upper(), dotted, problem, remedy)


def complaints(error: ValidationError, values: dict[str, Any], places: Places) -> list[Fault]:
    """Return every fault in ``values``, given the error that trying them raised.

    A table with a bad value is never held against itself by pydantic. So the bad values are taken
    out and the rest is tried once more, for the clashes that do not touch them.
    """
    details = error.errors(include_url=False)
    bad = {_path(detail) for detail in details if detail["type"] != "clash"}
    faults = [_fault(detail, places) for detail in details if detail["type"] != "clash"]
    told = [(path, clash) for path, clash in _clashes(details)]
    if bad:
        told += _clashes_without(values, bad)
    for path, clash in dict.fromkeys(told):
        touched = {(*path, name) for name in clash.fields}
        if not touched & bad:
            faults.append(places.fault(_shown(path, clash, places), clash.problem, clash.remedy))
    return faults


def _clashes_without(
    values: dict[str, Any], bad: set[tuple[str, ...]]
) -> list[tuple[tuple[str, ...], Clash]]:
    """Return the clashes among values, the bad ones left out."""
    try:
        Settings(**_pruned(values, bad))
    except ValidationError as error:
        return list(_clashes(error.errors(include_url=False)))
    return []


def _clashes(details: list[ErrorDetails]) -> Iterator[tuple[tuple[str, ...], Clash]]:
    """Yield every clash with the path of its table."""
    for detail in details:
        if detail["type"] == "clash":
            for clash in detail["ctx"]["clashes"]:
                yield _path(detail), clash


def _shown(path: tuple[str, ...], clash: Clash, places: Places) -> tuple[str, ...]:
    """Return the field of a clash that someone set, the first named if none or all are."""
    fields = [(*path, name) for name in clash.fields]
    set_here = (f for f in fields if ".".join(f) in places.sources or places.file.holds(f))
    return next(set_here, fields[0])


def _path(detail: ErrorDetails) -> tuple[str, ...]:
    """Return the path of a field; the place within a list is left out."""
    return tuple(part for part in detail["loc"] if isinstance(part, str))


def _pruned(
    values: dict[str, Any], bad: set[tuple[str, ...]], above: tuple[str, ...] = ()
) -> dict[str, Any]:
    """Return nested values without those at the bad paths."""
    kept = {}
    for name, value in values.items():
        path = (*above, name)
        if path not in bad:
            kept[name] = _pruned(value, bad, path) if isinstance(value, dict) else value
    return kept


def _fault(detail: ErrorDetails, places: Places) -> Fault:
    """Return the fault for one bad value."""
    path = _path(detail)
    problem, remedy = _sentence(detail, path)
    return places.fault(path, problem, remedy)


def _sentence(detail: ErrorDetails, path: tuple[str, ...]) -> tuple[str, str]:
    """Return problem and remedy; a secret's value appears in neither."""
    context = detail.get("ctx", {})
    shown = "the value" if _is_secret(path) else repr(detail["input"])
    match detail["type"]:
        case "misfit":
            return context["problem"], context["remedy"]
        case "missing":
            return "is missing", "add it"
        case "extra_forbidden":
            near = nearest_setting(path)
            return "no setting has this name", f"perhaps {near} is meant" if near else "remove it"
        case "model_type" | "model_attributes_type":
            return "is not a table", f"write it as [{'.'.join(path)}] with its settings below"
        case "finite_number" | "float_parsing" | "float_type" | "int_parsing" | "int_type":
            return f"{shown} is not a number", "give a plain number such as 12"
        case "bool_parsing" | "bool_type":
            return f"{shown} is neither true nor false", "write true or false"
        case "too_short" | "string_too_short":
            return "is too short", f"it must have {context['min_length']} characters or more"
    return f"{shown} does not fit", re.sub(r"^\w+ should", "it must", detail["msg"])


def _is_secret(path: tuple[str, ...]) -> bool:
    """Return whether a field's value must not be shown."""
    return any(leaf.path == path and leaf.secret for leaf in leaves())

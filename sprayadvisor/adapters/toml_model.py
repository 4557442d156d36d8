"""One TOML file as a checked model, or every fault in it as a sentence with its line."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from sprayadvisor import tomltext
from sprayadvisor.advice.flaw import Flaw, Place, mend_name
from sprayadvisor.errors import DataFileError, Fault

M = TypeVar("M", bound=BaseModel)

_ID = re.compile(r"""^\s*id\s*=\s*["']([^"'\n]*)["']""", re.MULTILINE)
_PLAIN = {
    "missing": ("is missing", "add it"),
    "string_type": ("is not text", "put it in quotation marks"),
    "int_type": ("is not a whole number", "give one, such as 12"),
    "float_type": ("is not a number", "give a plain one, such as 12 or 4.5"),
    "finite_number": ("is not a finite number", "give a plain one, such as 12 or 4.5"),
    "bool_type": ("is neither true nor false", "write true or false"),
    "model_type": ("is not a table", "write it as a table with keys of its own"),
    "dict_type": ("is not a table", "write it as a table with keys of its own"),
    "tuple_type": ("is not a list", "put it in square brackets"),
    "string_too_short": ("is empty", "say something"),
    "too_short": ("is empty", "add something"),
}
_BOUNDS = {
    "greater_than": ("gt", "it must be more than"),
    "greater_than_equal": ("ge", "it must be at least"),
    "less_than": ("lt", "it must be less than"),
    "less_than_equal": ("le", "it must be at most"),
}


@dataclass(frozen=True, slots=True)
class TomlData:
    """A file that is TOML, whatever it says."""

    path: Path
    text: str
    values: dict[str, Any]

    def faults(self, flaws: Iterable[Flaw]) -> list[Fault]:
        """Return each flaw at its place in the file."""
        return [
            Fault(
                str(self.path),
                ".".join(_spoken(flaw.place, self.values)),
                flaw.problem,
                flaw.remedy,
                tomltext.line_of(self.text, flaw.place),
            )
            for flaw in flaws
        ]


def read_toml(path: Path) -> TomlData:
    """Return what a file says.

    Raises:
        DataFileError: it cannot be read or is not TOML.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        fault = Fault(str(path), "", "is not UTF-8 text", "save it as UTF-8")
        raise DataFileError([fault]) from error
    except OSError as error:
        why = f"cannot be read ({error.strerror})"
        raise DataFileError(
            [Fault(str(path), "", why, "correct the path or its rights")]
        ) from error
    values = tomltext.parse(text)
    if isinstance(values, tomltext.Broken):
        problem = f"is not TOML ({values.what})"
        remedy = "correct the line; text needs quotation marks"
        raise DataFileError([Fault(str(path), "", problem, remedy, values.line)])
    return TomlData(path, text, values)


def as_model(data: TomlData, model: type[M]) -> M:
    """Return a file as a model.

    Raises:
        DataFileError: with every fault that was found.
    """
    try:
        return model.model_validate(_tupled(data.values))
    except ValidationError as error:
        flaws = (flaw for item in error.errors(include_url=False) for flaw in _flaws(item, model))
        raise DataFileError(data.faults(flaws)) from error


def id_meant_by(path: Path) -> str:
    """Return the id a file gives, even one that is not TOML; else what its name suggests."""
    try:
        found = _ID.search(path.read_text(encoding="utf-8-sig", errors="replace"))
    except OSError:
        return path.stem
    return found[1] if found else path.stem


def _tupled(value: Any) -> Any:  # noqa: ANN401 - whatever TOML can hold
    """Return a value with tuples for lists, which is all that a strict model takes."""
    if isinstance(value, dict):
        return {key: _tupled(entry) for key, entry in value.items()}
    return tuple(map(_tupled, value)) if isinstance(value, list) else value


def _spoken(place: Place, values: Any) -> Iterator[str]:  # noqa: ANN401 - whatever TOML can hold
    """Yield the parts of a place; what stands in a list goes by its id, or is counted from 1."""
    for part in place:
        try:
            values = values[part]
        except (LookupError, TypeError):
            values = None
        if isinstance(part, str):
            yield part
        else:
            name = values.get("id") if isinstance(values, Mapping) else None
            yield name if isinstance(name, str) and name else str(part + 1)


def _flaws(item: ErrorDetails, model: type[BaseModel]) -> list[Flaw]:
    """Return what one thing that pydantic found means."""
    place, kind, context = item["loc"], item["type"], item.get("ctx", {})
    if kind == "flaws":
        found: tuple[Flaw, ...] = context["flaws"]
        return [Flaw((*place, *flaw.place), flaw.problem, flaw.remedy) for flaw in found]
    if kind in _PLAIN:
        return [Flaw(place, *_PLAIN[kind])]
    if kind == "extra_forbidden":
        return [
            Flaw(place, "is not known", mend_name(str(place[-1]), _keys(model, place), "remove it"))
        ]
    if kind == "value_error":
        problem, _, remedy = str(context["error"]).partition("; ")
        return [Flaw(place, problem, remedy)]
    return [Flaw(place, f"is {_shown(item['input'])}", _must(kind, context, item["msg"]))]


def _must(kind: str, context: Mapping[str, Any], message: str) -> str:
    """Return what a value must be."""
    if kind in _BOUNDS:
        name, words = _BOUNDS[kind]
        return f"{words} {context[name]:g}"
    if kind == "literal_error":
        return f"write {context['expected']}"
    if kind == "string_pattern_mismatch":
        is_id = context["pattern"].startswith("^[a-z")
        return "use small letters, digits and hyphens" if is_id else "put it in one line"
    return message[:1].lower() + message[1:]


def _shown(value: object) -> str:
    """Return a value as the file might have it, shortened."""
    try:
        shown = repr(value)
    except ValueError:  # a number of thousands of digits
        return "a huge number"
    return shown if len(shown) <= 40 else f"{shown[:37]}…"


def _keys(model: type[BaseModel], place: Place) -> list[str]:
    """Return the keys that the table at a place may have."""
    schema = model.model_json_schema()
    node = schema
    for part in place[:-1]:
        if isinstance(part, int):
            node = _resolved(node["items"], schema)
        else:
            below = node.get("properties", {}).get(part) or node["additionalProperties"]
            node = _resolved(below, schema)
    return sorted(node["properties"])


def _resolved(node: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    """Return the table a part of a schema stands for."""
    for choice in node.get("anyOf", [node]):
        if "$ref" in choice:
            found: dict[str, Any] = schema["$defs"][choice["$ref"].rsplit("/", 1)[-1]]
            return found
    return node

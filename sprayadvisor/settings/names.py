"""The names of all settings: dotted in the file, with double underscores in the environment."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import get_args

from pydantic import BaseModel, SecretStr
from pydantic.fields import FieldInfo

from sprayadvisor.settings.model import Settings

PREFIX = "SPRAYADVISOR_"
CONFIG = f"{PREFIX}CONFIG"


@dataclass(frozen=True, slots=True)
class Leaf:
    """One setting: the way to it and what is known about it."""

    path: tuple[str, ...]
    field: FieldInfo

    @property
    def dotted(self) -> str:
        """The name in the file."""
        return ".".join(self.path)

    @property
    def variable(self) -> str:
        """The name in the environment."""
        return PREFIX + "__".join(self.path).upper()

    @property
    def secret(self) -> bool:
        """Whether the value must never be shown; such a one may also come from a file."""
        return SecretStr in types_in(self.field.annotation)

    @property
    def path_like(self) -> bool:
        """Whether the value is a folder, or several."""
        return Path in types_in(self.field.annotation)


def types_in(annotation: object) -> set[object]:
    """Return an annotation and all it is made of."""
    return {annotation}.union(*(types_in(part) for part in get_args(annotation)))


def table_of(annotation: object) -> type[BaseModel] | None:
    """Return the model behind an annotation, None where it is a plain value."""
    tables = [t for t in types_in(annotation) if isinstance(t, type) and issubclass(t, BaseModel)]
    return tables[0] if tables else None


def _walk(model: type[BaseModel], above: tuple[str, ...] = ()) -> Iterator[Leaf]:
    """Yield every setting below a model, in the order in which it was written down."""
    for name, field in model.model_fields.items():
        table = table_of(field.annotation)
        if table:
            yield from _walk(table, (*above, name))
        else:
            yield Leaf((*above, name), field)


@cache
def leaves() -> tuple[Leaf, ...]:
    """Return every setting there is."""
    return tuple(_walk(Settings))


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that looks most like ``name``; None where none does."""
    found = difflib.get_close_matches(name, list(known), 1, 0.6)
    return found[0] if found else None


def nearest_setting(path: tuple[str, ...]) -> str | None:
    """Return the dotted name that an unknown one was probably meant to be.

    A key in the wrong table counts as near: the last part is looked up on its own.
    """
    by_name = nearest(".".join(path), (leaf.dotted for leaf in leaves()))
    tables = {".".join(leaf.path[:-1]) for leaf in leaves()} - {""}
    by_key = {leaf.path[-1]: leaf.dotted for leaf in reversed(leaves())}
    same_key = nearest(path[-1], by_key)
    return by_name or nearest(".".join(path), tables) or (by_key[same_key] if same_key else None)

"""A settings file from values: short, and with the meaning of each line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from sprayadvisor.settings.example import comment_lines, literal
from sprayadvisor.settings.model import Settings
from sprayadvisor.settings.names import table_of

_HEAD = """\
# Settings of Sprayadvisor, made from your answers. What is not here has its usual value;
# "sprayadvisor settings example" prints every setting with its meaning.
"""


def settings_toml(values: Mapping[str, Any]) -> str:
    """Return the text of a settings file with these values, table by table.

    Args:
        values: nested as in the file; names that no setting has are left out.
    """
    return "\n".join([_HEAD, *_table(Settings, values, ())]).rstrip() + "\n"


def _table(
    model: type[BaseModel], values: Mapping[str, Any], path: tuple[str, ...]
) -> Iterator[str]:
    """Yield the lines of one table: its own settings first, then the tables within."""
    given = [(name, field) for name, field in model.model_fields.items() if name in values]
    for name, field in given:
        if table_of(field.annotation) is None:
            yield from comment_lines(field.description or "")
            yield f"{name} = {literal(values[name])}"
    for name, field in given:
        if values[name] and (table := table_of(field.annotation)):
            yield ""
            yield f"[{'.'.join((*path, name))}]"
            yield from _table(table, values[name], (*path, name))

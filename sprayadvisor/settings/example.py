"""The example file, written from the settings themselves so that it cannot fall behind them."""

from __future__ import annotations

import inspect
import json
from collections.abc import Iterator
from datetime import time

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from sprayadvisor.settings.model import Settings
from sprayadvisor.settings.names import table_of

_HEAD = """\
# Settings of Sprayadvisor. Every setting is here, with what it means and its usual value;
# a line that begins with "# name =" shows how to set what is otherwise left out.
#
# Each can also be set in the environment, which wins over this file: [mail] host is
# SPRAYADVISOR_MAIL__HOST. Passwords and keys can be read from a file that a variable names:
# SPRAYADVISOR_MAIL__PASSWORD_FILE. Times of day are "HH:MM"; folders count from this file.
#
# This text is made by "sprayadvisor settings example". Names and places in it are invented.
"""


def example_toml() -> str:
    """Return the text of the example file."""
    return "\n".join([_HEAD, *_table(Settings, ())]).rstrip() + "\n"


def _table(
    model: type[BaseModel], path: tuple[str, ...], usual: BaseModel | None = None
) -> Iterator[str]:
    """Yield the lines of a table: its own settings first, then the tables within.

    ``usual`` holds the table's own defaults, where they differ from the model's.
    """
    fields = model.model_fields.items()
    for name, field in fields:
        if table_of(field.annotation) is None:
            yield from _setting(name, field, getattr(usual, name, None))
    for name, field in fields:
        if table := table_of(field.annotation):
            inner = (*path, name)
            yield ""
            yield from comment_lines(field.description or inspect.getdoc(table) or "")
            if any(table_of(each.annotation) is None for each in table.model_fields.values()):
                yield f"[{'.'.join(inner)}]"
            yield from _table(table, inner, getattr(usual, name, field.default))


def _setting(name: str, field: FieldInfo, usual: object) -> Iterator[str]:
    """Yield one setting with its meaning; behind a mark where it is usually left out."""
    yield from comment_lines(field.description or "")
    if not field.is_required():
        usual = field.default
    shown = field.examples[0] if field.examples else usual
    left_out = not field.is_required() and usual in (None, PydanticUndefined)
    yield f"{'# ' if left_out else ''}{name} = {literal(shown)}"


def comment_lines(text: str) -> Iterator[str]:
    """Yield text as comment lines."""
    for line in inspect.cleandoc(text).splitlines():
        yield f"# {line}".rstrip()


def literal(value: object) -> str:
    """Return a value as TOML writes it."""
    if isinstance(value, time):
        return f'"{value:%H:%M}"'
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(literal(each) for each in value)}]"
    return json.dumps(value, ensure_ascii=False)

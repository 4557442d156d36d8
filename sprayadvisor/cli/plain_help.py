"""What an option takes, in the help's own column: in a painter's words, not in a programmer's."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import typer

_BY_TYPE = {
    "<path>": "path",
    "<str>": "text",
    "<list[str]>": "text",
    "<int range>": "number",
    "<%Y-%m-%d>": "YYYY-MM-DD",
}
_BY_NAME = {
    "day": "YYYY-MM-DD",
    "arrive": "HH:MM-HH:MM",
    **dict.fromkeys(
        ("at", "matt", "shade_before", "shade_after", "car_there_from", "back_by",
         "driven_until", "washed_until", "evening_brief", "morning_brief"),
        "HH:MM",
    ),
    **dict.fromkeys(("panel", "air", "humidity", "wind", "mist", "stripe", "area"), "number"),
}  # fmt: skip


def say_in_plain_words(command: Any) -> None:  # noqa: ANN401 - typer has no type for it
    """Let every option of a command and of those below it say what it takes."""
    for one in _with_those_below(command):
        for option in one.get_params(typer.Context(one)):
            _say(option)


def _with_those_below(command: Any) -> Iterator[Any]:  # noqa: ANN401 - as above
    yield command
    for below in getattr(command, "commands", {}).values():
        yield from _with_those_below(below)


def _say(option: Any) -> None:  # noqa: ANN401 - as above
    """Set the word of one option; a switch takes nothing, and of an argument its name says it."""
    if option.param_type_name == "argument":
        option.display_type_rich = lambda **_: ""
        return
    if option.metavar is not None:
        return
    if getattr(option, "is_flag", False):
        option.metavar = ""
        return
    name, kind = option.name.strip("_"), str(option.display_type(None))
    option.metavar = _BY_NAME.get(name) if kind == "<str>" else None
    option.metavar = option.metavar or _BY_TYPE.get(kind, kind.strip("<>").replace("|", ", "))

"""What is wrong in a sheet or a process, with its place and its mend."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

from pydantic_core import PydanticCustomError

Place = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Flaw:
    """One thing wrong.

    Attributes:
        place: keys and places in lists that lead to it, counted from 0.
        problem: what is wrong, without a full stop.
        remedy: what to do about it, without a full stop.
    """

    place: Place
    problem: str
    remedy: str


def refuse(flaws: Iterable[Flaw]) -> None:
    """Raise one error that carries every flaw of a table, if there is one.

    Raises:
        PydanticCustomError: of type ``flaws``, with the flaws in its context.
    """
    found = tuple(flaws)
    if found:
        told = "; ".join(f"{flaw.problem}; {flaw.remedy}" for flaw in found)
        raise PydanticCustomError("flaws", "{told}", {"told": told, "flaws": found})


def mend_name(name: str, known: Iterable[str], otherwise: str) -> str:
    """Return a remedy for a name that is not known: the nearest that is, or ``otherwise``."""
    near = difflib.get_close_matches(name, known, 1)
    return f"perhaps “{near[0]}” is meant" if near else otherwise

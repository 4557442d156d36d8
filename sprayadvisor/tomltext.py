"""TOML text: its values, or what is wrong with it, and the line on which each value stands.

``tomllib`` forgets where it found things, and a complaint without a line is half a complaint.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

Path = tuple[str | int, ...]

_AT_LINE = re.compile(r"^(?P<what>.*?) \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")
_TOKEN = re.compile(
    r"""
      (?P<string>"{3}(?:\\.|[^\\])*?"{3,5}|\'{3}.*?\'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*')
    | (?P<skip>\#[^\n]*|[ \t\r]+)
    | (?P<newline>\n)
    | (?P<mark>[\[\]{},=.])
    | (?P<bare>[^\s\[\]{},=."'\#]+)
    """,
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Broken:
    """Why a text is not TOML, beginning with a small letter, and on which line if that is known."""

    what: str
    line: int | None


def parse(text: str) -> dict[str, Any] | Broken:
    """Return the values in a TOML text, or why there are none."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        return Broken("tables or lists are nested too deep", None)
    except ValueError as error:  # TOMLDecodeError, or a number of thousands of digits
        told = str(error)
    found = _AT_LINE.match(told)
    what = found["what"] if found else told
    line = int(found["line"]) if found and found["line"] else len(text.splitlines()) or None
    return Broken(what[:1].lower() + what[1:], line)


def line_of(text: str, path: Path) -> int | None:
    """Return the line that sets a value, or else the one that opens the innermost table around it.

    Args:
        text: valid TOML.
        path: keys, and places in lists counted from 0.
    """
    lines = _Scan(list(_tokens(text))).lines()
    known = (path[:length] for length in range(len(path), 0, -1))
    return next((lines[place] for place in known if place in lines), None)


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    line: int

    def key(self) -> str:
        """Return the token as a part of a key."""
        if self.kind == "bare":
            return self.text
        return str(tomllib.loads(f"k = {self.text}")["k"])


def _tokens(text: str) -> Iterator[_Token]:
    """Yield the tokens of valid TOML; a newline closes it, so that every statement has an end."""
    line = 1
    for found in _TOKEN.finditer(text + "\n"):
        if found.lastgroup != "skip":
            yield _Token(str(found.lastgroup), found[0], line)
        line += found[0].count("\n")


@dataclass(slots=True)
class _Scan:
    """One way through the tokens of valid TOML, noting the line of every path."""

    tokens: list[_Token]
    at: int = 0
    found: dict[Path, int] = field(default_factory=dict)
    last_of: dict[Path, int] = field(default_factory=dict)

    def lines(self) -> dict[Path, int]:
        """Return the line of every table, list and value."""
        table: Path = ()
        while self.at < len(self.tokens):
            if self._takes("["):
                table = self._header()
            elif self.tokens[self.at].kind == "newline":
                self.at += 1
            else:
                self._setting(table)
        return self.found

    def _takes(self, mark: str) -> bool:
        """Step over a mark if it is next."""
        token = self.tokens[self.at]
        is_next = token.kind == "mark" and token.text == mark
        self.at += is_next
        return is_next

    def _header(self) -> Path:
        """Read ``[table]`` or ``[[list]]`` from behind the first bracket; return the table."""
        in_list = self._takes("[")
        line = self.tokens[self.at].line
        path = self._key((), "]")
        if in_list:
            self.at += 1
            self.last_of[path] = self.last_of.get(path, -1) + 1
            path = (*path, self.last_of[path])
        self.found[path] = line
        return path

    def _key(self, path: Path, end: str) -> Path:
        """Read a dotted key and the mark behind it; return the path below ``path``."""
        while not self._takes(end):
            token = self.tokens[self.at]
            self.at += 1
            if token.kind != "mark":
                if path in self.last_of:
                    path = (*path, self.last_of[path])
                path = (*path, token.key())
                self.found.setdefault(path, token.line)
        return path

    def _setting(self, table: Path) -> None:
        """Read ``key = value`` below a table."""
        self._value(self._key(table, "="))

    def _value(self, path: Path) -> None:
        """Read a value; what stands in a list or an inline table has a path of its own."""
        self.found.setdefault(path, self.tokens[self.at].line)
        if self._takes("["):
            self._list(path)
        elif self._takes("{"):
            while not self._ends("}"):
                self._setting(path)
        else:
            while not self._at_end_of_value():
                self.at += 1

    def _list(self, path: Path) -> None:
        """Read the values of a list from behind its bracket."""
        index = 0
        while not self._ends("]"):
            self._value((*path, index))
            index += 1

    def _ends(self, mark: str) -> bool:
        """Step over commas and newlines, and over the closing mark if it is next."""
        while self.tokens[self.at].kind == "newline" or self._takes(","):
            self.at += self.tokens[self.at].kind == "newline"
        return self._takes(mark)

    def _at_end_of_value(self) -> bool:
        """Return whether a plain value is over."""
        token = self.tokens[self.at]
        return token.kind == "newline" or (token.kind == "mark" and token.text in ",]}")

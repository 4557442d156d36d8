"""The lines of TOML text, held against the standard library's reading of it."""

from __future__ import annotations

import pytest

from sprayadvisor.shipped import shipped
from sprayadvisor.tomltext import Broken, line_of, parse

ODD = '''# [limits.not]
title = "a = [b] # c"
"odd key".'x.y' = 1
dates = 2026-03-29 07:30:00
many = [
  1, # one
  [2.5,
   3],
  { a = 1, b = { c = 2 } },
]
text = """
[fake]
fake = 1
quoted \\""" end"""""
raw = \'\'\'
x = 1'\'\'\'

[limits.panel]
low.er = 1
[a]
[[a.b]]
name = "first"
[[a.b]]
name = "second"
[a.b.deep]
n = 1
[[a.b.list]]
k = 1
[[a.b.list]]
k = 2
[ z . "y" ]
w = 1
'''
PLACES = {
    ("title",): 2,
    ("odd key", "x.y"): 3,
    ("odd key",): 3,
    ("dates",): 4,
    ("many",): 5,
    ("many", 0): 6,
    ("many", 1, 0): 7,
    ("many", 1, 1): 8,
    ("many", 2, "a"): 9,
    ("many", 2, "b", "c"): 9,
    ("text",): 11,
    ("raw",): 15,
    ("limits", "panel"): 18,
    ("limits", "panel", "low"): 19,
    ("limits", "panel", "low", "er"): 19,
    ("a",): 20,
    ("a", "b", 0): 21,
    ("a", "b", 0, "name"): 22,
    ("a", "b", 1): 23,
    ("a", "b", 1, "name"): 24,
    ("a", "b", 1, "deep", "n"): 26,
    ("a", "b", 1, "list", 0, "k"): 28,
    ("a", "b", 1, "list", 1): 29,
    ("a", "b", 1, "list", 1, "k"): 30,
    ("z", "y", "w"): 32,
}


def leaves(value, path=()):
    """Yield the path of everything in a value that holds nothing further."""
    if isinstance(value, dict | list):
        pairs = value.items() if isinstance(value, dict) else enumerate(value)
        for key, below in pairs:
            yield from leaves(below, (*path, key))
    else:
        yield path


@pytest.mark.parametrize(("path", "line"), PLACES.items())
def test_the_line_of_every_place(path, line):
    """Tables, lists of tables, dotted keys and inline tables, past strings that look like them."""
    assert line_of(ODD, path) == line


def test_no_value_is_overlooked():
    """Every leaf that the standard library finds has a line of its own or is on that list."""
    values = parse(ODD)
    assert {p for p in leaves(values) if p not in PLACES} == set()


@pytest.mark.parametrize(
    ("path", "line"),
    [(("a", "b", 1, "nothing"), 23), (("a", "nothing", "x"), 20), (("nothing",), None), ((), None)],
)
def test_what_is_missing_stands_where_it_would(path, line):
    """The innermost table around it, or nothing."""
    assert line_of(ODD, path) == line


@pytest.mark.parametrize("folder", ["config/sheets", "config/processes"])
def test_shipped_files_line_by_line(folder):
    """Every value of every shipped file stands on a line that names its key."""
    for file in shipped(folder).glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        lines = text.splitlines()
        seen = set()
        for path in leaves(parse(text)):
            line = line_of(text, path)
            key = next(part for part in reversed(path) if isinstance(part, str))
            assert key in lines[line - 1], (file, path)
            seen.add(line)
        settings = {n for n, line in enumerate(lines, 1) if "=" in line.split("#")[0]}
        assert seen == settings


@pytest.mark.parametrize(
    ("text", "what", "line"),
    [
        ("a = 1\na = 2\n", "cannot overwrite a value", 2),
        ("x = 1\nb = [\n", "invalid value", 2),
        ("x = " + "[" * 9999, "tables or lists are nested too deep", None),
        ("x = " + "9" * 9999, "exceeds the limit (4300 digits) for integer string conversion", 1),
        ("=", "invalid statement", 1),
    ],
)
def test_what_is_no_toml(text, what, line):
    """The problem is told with its line, whatever the parser makes of it."""
    broken = parse(text)
    assert isinstance(broken, Broken)
    assert broken.what.startswith(what)
    assert broken.line == line

"""Bookings as CSV: what spreadsheets write, read strictly; and what they may open, without harm.

The form is RFC 4180 with any of three separators. A cell that a spreadsheet would take for a
formula gets an apostrophe in front, which is taken off again on the way in; the signs are those of
the OWASP page "CSV Injection".
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from sprayadvisor.errors import BookingFileError, Fault, RowFault
from sprayadvisor.services.ports.booking_file import BookingTable, Row

MOST_BYTES = 2_000_000
MOST_ROWS = 5_000
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}

_MARKS = (
    (codecs.BOM_UTF8, "utf-8", "UTF-8 with a byte order mark"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16"),
)
_FORMULA = re.compile(r"'*[=+\-@\t\r\n＝＋－＠]")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
_SAVE_AGAIN = 'save it from the spreadsheet as "CSV UTF-8"'


@dataclass(frozen=True, slots=True)
class CsvBookings:
    """``BookingFile`` as CSV; its contract is there.

    Attributes:
        separator: what is written between cells; reading finds out for itself.
        numbers: columns that hold numbers, whose minus is no formula.
    """

    separator: str = ","
    numbers: Collection[str] = ()

    def read(self, path: Path, columns: Collection[str], needed: Collection[str]) -> BookingTable:
        """Return what stands in a file."""
        text, encoding = _decoded(path, _content(path))
        separator = _separator(text, columns)
        records = _Records(str(path), text, separator)
        header = _header(str(path), next(iter(records), None), columns, needed)
        rows: list[Row] = []
        faults: list[Fault] = []
        for line, cells in records:
            if any(cell.strip() for cell in cells):
                _sort_in(_row(str(path), line, cells, header, separator), rows, faults)
        if len(rows) + len(faults) > MOST_ROWS:
            raise _refused(path, f"it has more than {MOST_ROWS} rows", "split it in several")
        name = next(name for name, sign in SEPARATORS.items() if sign == separator)
        return BookingTable(f"{encoding}, {name}s", tuple(rows), (*faults, *records.faults))

    def written(self, columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> str:
        """Return the text of a file that reads back as these rows."""
        out = io.StringIO(newline="")
        writer = csv.writer(out, delimiter=self.separator, lineterminator="\r\n")
        writer.writerow(columns)
        for row in rows:
            writer.writerow([self._safe(name, row.get(name, "")) for name in columns])
        return out.getvalue()

    def _safe(self, column: str, text: str) -> str:
        """Return a cell that no spreadsheet takes for a formula."""
        if column in self.numbers and _NUMBER.fullmatch(text):
            return text
        return f"'{text}" if _FORMULA.match(text) else text


def _content(path: Path) -> bytes:
    """Return the bytes of a file that is there, not empty and not too big."""
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
            size = file.seek(0, io.SEEK_END)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise _refused(path, f"it cannot be read ({why})", "correct the path") from error
    if size > MOST_BYTES:
        problem = f"it has {size / 1e6:.1f} MB, and {MOST_BYTES / 1e6:g} MB are the most"
        raise _refused(path, problem, "split it in several")
    return content


def _decoded(path: Path, content: bytes) -> tuple[str, str]:
    """Return the text and the name of its encoding."""
    mark, encoding, name = next(
        (each for each in _MARKS if content.startswith(each[0])), (b"", "utf-8", "UTF-8")
    )
    try:
        text = content[len(mark) :].decode(encoding)
    except UnicodeDecodeError:
        if mark:
            raise _refused(path, f"it begins as {name} and is none", _SAVE_AGAIN) from None
        text, name = _windows(path, content), "Windows-1252"
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        problem = "there is a NUL byte, so this is no text, or UTF-16 without its mark"
        raise _refused(path, problem, _SAVE_AGAIN, line)
    if not text.strip():
        raise _refused(path, "the file is empty", "put the columns in its first line")
    return text, name


def _windows(path: Path, content: bytes) -> str:
    """Return text that is not UTF-8 as Windows-1252, which knows nearly every byte."""
    try:
        return content.decode("cp1252")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        problem = "a letter there is neither UTF-8 nor Windows-1252"
        raise _refused(path, problem, _SAVE_AGAIN, line) from None


def _separator(text: str, columns: Collection[str]) -> str:
    """Return the separator with which the first line names most columns."""
    first = text.lstrip("\r\n").splitlines()[0]

    def known(sign: str) -> tuple[int, int]:
        names = [_plain(name) for name in first.replace('"', "").split(sign)]
        return sum(name in columns for name in names), len(names)

    return max(SEPARATORS.values(), key=known)


@dataclass(slots=True)
class _Records:
    """The records of a text, each with the line it begins on; blank lines are passed over.

    Where a quotation mark is not closed the rest cannot be told apart: that is one fault, and the
    end.
    """

    where: str
    text: str
    separator: str
    faults: list[Fault] = field(default_factory=list)
    _each: Iterator[tuple[int, list[str]]] | None = None

    def __iter__(self) -> Iterator[tuple[int, list[str]]]:
        """Go on where the last one stopped."""
        self._each = self._each or self._walk()
        return self._each

    def _walk(self) -> Iterator[tuple[int, list[str]]]:
        source = io.StringIO(self.text, newline="")
        reader = csv.reader(source, delimiter=self.separator, strict=True)
        line = 1
        try:
            for cells in reader:
                if cells:
                    yield line, cells
                line = reader.line_num + 1
        except csv.Error as error:
            problem, remedy = _broken(str(error))
            self.faults.append(RowFault(self.where, "", problem, remedy, line))


def _broken(told: str) -> tuple[str, str]:
    """Return what is wrong with a record that cannot be read, and the mend."""
    if "field limit" in told:
        return (
            "a cell is far too long, so nothing from here on was read",
            "close its quotation mark",
        )
    return (
        "a quotation mark stands alone, so nothing from here on was read",
        "close it, or double each one that belongs to the text",
    )


def _header(
    where: str,
    record: tuple[int, list[str]] | None,
    columns: Collection[str],
    needed: Collection[str],
) -> list[str]:
    """Return the names of the columns, every one of them known.

    Raises:
        BookingFileError: with everything that is wrong with them.
    """
    line, cells = record or (1, [])
    names = [_plain(cell) for cell in cells]
    while names and not names[-1]:
        names.pop()
    wrong = [
        RowFault(where, "", f"column {place} has no name", "name it or remove it", line)
        for place, name in enumerate(names, 1)
        if not name
    ]
    for name, times in Counter(names).items():
        if name and name not in columns:
            wrong.append(RowFault(where, "", *_unknown(name), line))
        elif name and times > 1:
            problem = f"the column {name} is there {times} times"
            wrong.append(RowFault(where, "", problem, "keep one of them", line))
    if missing := [name for name in needed if name not in names]:
        problem = f"there is no column {', no column '.join(missing)}"
        wrong.append(RowFault(where, "", problem, "add it to the first line", line))
    if wrong:
        raise BookingFileError(wrong)
    return names


def _unknown(name: str) -> tuple[str, str]:
    """Return what to say of a column nobody knows."""
    shown = name if len(name) <= 40 else f"{name[:40]}…"
    return f"no column is called {shown!r}", "correct its name or remove it; see: job columns"


def _plain(name: str) -> str:
    """Return a column's name without the liberties people take with it."""
    return re.sub(r"[\s-]+", "_", name.strip().lower())


def _row(
    where: str, line: int, cells: list[str], header: list[str], separator: str
) -> Row | RowFault:
    """Return one row, or why it is none."""
    while len(cells) > len(header) and not cells[-1].strip():
        cells.pop()
    if len(cells) != len(header):
        problem = f"there are {len(cells)} cells for {len(header)} columns"
        sign = "tab" if separator == "\t" else f"{separator!r}"
        remedy = f"put a text that holds a {sign} in quotation marks"
        if len(cells) < len(header):
            remedy = "write a separator for an empty cell too"
        return RowFault(where, "", problem, remedy, line)
    return Row(line, {name: _own(c) for name, c in zip(header, cells, strict=True) if c.strip()})


def _sort_in(found: Row | RowFault, rows: list[Row], faults: list[Fault]) -> None:
    if isinstance(found, Row):
        rows.append(found)
    else:
        faults.append(found)


def _own(cell: str) -> str:
    """Return a cell without the apostrophe that kept it from being a formula."""
    text = cell.strip(" ")
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


def _refused(path: Path, problem: str, remedy: str, line: int | None = None) -> BookingFileError:
    """Return why a file as a whole is of no use."""
    return BookingFileError([RowFault(str(path), "", problem, remedy, line)])

"""CSV: what spreadsheets write is read, what cannot be trusted is refused in a sentence."""

import csv
import io

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sprayadvisor.adapters import csv_bookings
from sprayadvisor.adapters.csv_bookings import CsvBookings
from sprayadvisor.errors import BookingFileError
from sprayadvisor.services.ports.booking_file import Row

COLUMNS = ("ref", "site", "longitude", "note")
TEXT = "ref;site;longitude\nA1;Mühle;-8,92\n"
cells = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)


@pytest.fixture
def read(tmp_path):
    """Return what reads a content as a file called jobs.csv."""

    def read(content, needed=("ref",)):
        path = tmp_path / "jobs.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return CsvBookings().read(path, COLUMNS, needed)

    return read


def sentences(error):
    """Return the sentences of a refusal, without the folder."""
    return [str(fault).rpartition("/")[2] for fault in error.value.faults]


@pytest.mark.parametrize(
    ("encoding", "told"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8-sig", "UTF-8 with a byte order mark"),
        ("utf-16", "UTF-16"),
        ("cp1252", "Windows-1252"),
    ],
)
def test_encodings_are_found_out_and_told(read, encoding, told):
    """The same text comes out of each encoding, and which was taken is said."""
    table = read(TEXT.encode(encoding))
    assert table.read_as == f"{told}, semicolons"
    assert table.rows == (Row(2, {"ref": "A1", "site": "Mühle", "longitude": "-8,92"}),)


def test_utf16_the_other_way_round(read):
    """Big-endian is known by its mark too."""
    assert read(b"\xfe\xff" + TEXT.encode("utf-16-be")).read_as == "UTF-16, semicolons"


@pytest.mark.parametrize(("sign", "name"), [(",", "commas"), (";", "semicolons"), ("\t", "tabs")])
def test_separators_are_found_out(read, sign, name):
    """Whatever stands between the known columns is the separator."""
    table = read(f'"Ref"{sign}Site\r\nA1{sign}"a{sign} b"\r\n')
    assert table.read_as == f"UTF-8, {name}"
    assert table.rows[0].texts == {"ref": "A1", "site": f"a{sign} b"}


def test_examples_of_the_standard(read):
    """Quotes, line breaks and separators inside a cell. Source: RFC 4180, section 2, 5 to 7."""
    table = read('ref,site,note\r\n"aaa","b\r\nbb","ccc"\r\n"aaa","b""bb","c,c"\r\nzzz,yyy,xxx')
    assert [row.line for row in table.rows] == [2, 4, 5]
    assert [tuple(row.texts.values()) for row in table.rows] == [
        ("aaa", "b\r\nbb", "ccc"),
        ("aaa", 'b"bb', "c,c"),
        ("zzz", "yyy", "xxx"),
    ]


def test_blank_lines_and_empty_ends_are_no_matter(read):
    """Rows of nothing are passed over; separators too many at the end are no cells."""
    table = read("\nref;site;;\n\nA1;x;;;\n;;;\n \nA2;;\n")
    assert table.rows == (Row(4, {"ref": "A1", "site": "x"}), Row(7, {"ref": "A2"}))
    assert table.faults == ()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", ["jobs.csv: the file is empty; put the columns in its first line."]),
        (b"\xef\xbb\xbf \r\n", ["jobs.csv: the file is empty; put the columns in its first line."]),
        (
            b"ref\nA\0B\n",
            [
                (
                    "jobs.csv, line 2: there is a NUL byte, so this is no text, or UTF-16 without "
                    'its mark; save it from the spreadsheet as "CSV UTF-8".'
                )
            ],
        ),
        (
            b"ref\n\xfc\x81\n",
            [
                (
                    "jobs.csv, line 2: a letter there is neither UTF-8 nor Windows-1252; save it "
                    'from the spreadsheet as "CSV UTF-8".'
                )
            ],
        ),
        (
            b"\xff\xferef",
            [
                (
                    "jobs.csv: it begins as UTF-16 and is none; save it from the spreadsheet as "
                    '"CSV UTF-8".'
                )
            ],
        ),
        (
            "ref;;Site;site;colour\n",
            [
                "jobs.csv, line 1: column 2 has no name; name it or remove it.",
                "jobs.csv, line 1: the column site is there 2 times; keep one of them.",
                (
                    "jobs.csv, line 1: no column is called 'colour'; correct its name or remove "
                    "it; see: job columns."
                ),
            ],
        ),
        (
            "site;" + "x" * 50,
            [
                (
                    f"jobs.csv, line 1: no column is called '{'x' * 40}…'; correct its name or "
                    "remove it; see: job columns."
                ),
                "jobs.csv, line 1: there is no column ref; add it to the first line.",
            ],
        ),
        (
            '"ref;site\nA;b\n',
            ["jobs.csv, line 1: there is no column ref; add it to the first line."],
        ),
    ],
)
def test_what_cannot_be_trusted_is_refused(read, content, said):
    """A file of which nothing can be used: a sentence for each reason, all at once."""
    with pytest.raises(BookingFileError) as error:
        read(content)
    assert sentences(error) == said


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (
            "ref;site\nA1;x;y\nA2;x\n",
            (
                "jobs.csv, line 2: there are 3 cells for 2 columns; put a text that holds a ';' in "
                "quotation marks."
            ),
        ),
        (
            "ref\tsite\nA1\tx\ty\nA2\tx\n",
            (
                "jobs.csv, line 2: there are 3 cells for 2 columns; put a text that holds a tab in "
                "quotation marks."
            ),
        ),
        (
            "ref;site\nA2;x\nA1\n",
            (
                "jobs.csv, line 3: there are 1 cells for 2 columns; write a separator for an empty "
                "cell too."
            ),
        ),
        (
            'ref;site\nA2;x\nA1;"a\nb;c\n',
            (
                "jobs.csv, line 3: a quotation mark stands alone, so nothing from here on was "
                "read; close it, or double each one that belongs to the text."
            ),
        ),
        (
            'ref;site\nA2;x\nA1;"a"b\n',
            (
                "jobs.csv, line 3: a quotation mark stands alone, so nothing from here on was "
                "read; close it, or double each one that belongs to the text."
            ),
        ),
        (
            f"ref;site\nA2;x\nA1;{'a' * 140_000}\n",
            (
                "jobs.csv, line 3: a cell is far too long, so nothing from here on was read; close "
                "its quotation mark."
            ),
        ),
    ],
)
def test_bad_rows_leave_the_others(read, content, said):
    """A row that cannot be told apart is one fault; the others are read."""
    table = read(content)
    assert [str(fault).rpartition("/")[2] for fault in table.faults] == [said]
    assert [row.texts["ref"] for row in table.rows] == ["A2"]


def test_ten_megabytes_are_refused_unread(read):
    """A file far too big is told with its size."""
    with pytest.raises(BookingFileError) as error:
        read(b"ref\n" + b"A" * 10_000_000)
    assert sentences(error) == [
        "jobs.csv: it has 10.0 MB, and 2 MB are the most; split it in several."
    ]


def test_rows_without_end_are_refused(read, monkeypatch):
    """More rows than any round has are no file of bookings."""
    monkeypatch.setattr(csv_bookings, "MOST_ROWS", 2)
    with pytest.raises(BookingFileError) as error:
        read("ref\nA\nB\nC\n")
    assert sentences(error) == ["jobs.csv: it has more than 2 rows; split it in several."]


def test_missing_file_and_folder(tmp_path):
    """What cannot be opened is named."""
    with pytest.raises(BookingFileError, match=r"no such file or directory.*; correct the path"):
        CsvBookings().read(tmp_path / "none.csv", COLUMNS, ())
    with pytest.raises(BookingFileError, match=r"is a directory.*; correct the path"):
        CsvBookings().read(tmp_path, COLUMNS, ())


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
def test_formulas_are_made_harmless(sign):
    """No written cell begins as a formula does. Source: OWASP, CSV Injection."""
    text = CsvBookings().written(["note"], [{"note": f"{sign}cmd|' /C calc'!A0"}])
    cell = list(csv.reader(io.StringIO(text, newline="")))[1][0]
    assert cell[0] == "'"


def test_numbers_stay_numbers():
    """A minus before a number in a column of numbers is no formula; elsewhere it may be one."""
    file = CsvBookings(numbers=("longitude",))
    text = file.written(["longitude", "note"], [{"longitude": "-8.92", "note": "-8.92"}])
    assert text == "longitude,note\r\n-8.92,'-8.92\r\n"
    assert "'-8+1" in file.written(["longitude"], [{"longitude": "-8+1"}])


@given(texts=st.lists(cells, min_size=1, max_size=3), separator=st.sampled_from(",;\t"))
def test_written_reads_back(tmp_path_factory, texts, separator):
    """Any text comes back, without the blanks around it; so it does through another reader."""
    texts = [text.strip() for text in texts]
    rows = [{"ref": f"A{n}", "note": text} for n, text in enumerate(texts)]
    file = CsvBookings(separator)
    written = file.written(("ref", "note"), rows)
    path = tmp_path_factory.mktemp("csv") / "jobs.csv"
    path.write_bytes(written.encode("utf-8-sig"))
    back = file.read(path, COLUMNS, ("ref", "note"))
    assert [row.texts.get("note", "") for row in back.rows] == texts
    # Source: pandas, an independent reader of the same form.
    frame = pd.read_csv(path, sep=separator, dtype=str, keep_default_na=False)
    assert [each.removeprefix("'") for each in frame["note"]] == [
        each.removeprefix("'") for each in texts
    ]

"""
Bytes to rows. Quoting: RFC 4180, section 2 (its examples are marked); letters: Python's codecs and
the byte order marks of the Unicode standard.
"""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.csv_text import CsvError, Row, decode, read_rows

TEXT = "Product,Place\r\nNoémie Filler,“Kühlschrank” 2 – 8 °C\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_file_is_read_however_its_letters_are_written(encoding: str) -> None:
    assert decode(TEXT.encode(encoding)) == TEXT


def test_utf_16_of_either_order_is_known_by_its_mark() -> None:
    assert decode(b"\xff\xfe" + TEXT.encode("utf-16-le")) == TEXT
    assert decode(b"\xfe\xff" + TEXT.encode("utf-16-be")) == TEXT


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "The file is empty"),
        (b" \r\n ", "The file is empty"),
        (b"\xef\xbb\xbf", "The file is empty"),
        (b"\xff\xfe", "The file is empty"),
        (b"PK\x03\x04\x14\x00\x06\x00", "a spreadsheet, not a CSV file. Save it"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a spreadsheet, not a CSV file. Save it"),
        (b"%PDF-1.7", "This is a PDF"),
        (b"Lot\x81", "letters of this file cannot be read. Save it"),
        (b"\xff\xfeL", "letters of this file cannot be read"),
        (TEXT.encode("utf-16-le"), "is not text"),
        (TEXT.encode("utf-32"), "is not text"),
    ],
)
def test_what_is_no_csv_file_is_refused_with_what_to_do(data: bytes, message: str) -> None:
    with pytest.raises(CsvError, match=message):
        decode(data)


QUOTED = [
    ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]),
    ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [("aaa", "b\r\nbb", "ccc"), ("zzz", "yyy", "xxx")]),
    ('"aaa","b""bb","ccc"', [("aaa", 'b"bb', "ccc")]),
]


@pytest.mark.parametrize(("text", "cells"), QUOTED)
def test_quoted_cells_as_in_the_examples_of_rfc_4180(
    text: str, cells: list[tuple[str, ...]]
) -> None:
    assert [row.cells for row in read_rows(text, ",")] == cells


def test_rows_are_numbered_as_the_spreadsheet_shows_them() -> None:
    text = 'a;b\n\n"two\nlines";c\r;;\r\n  ;d\n'
    assert list(read_rows(text, ";")) == [
        Row(1, ("a", "b")),
        Row(3, ("two\nlines", "c")),
        Row(5, ("", "d")),
    ]


def test_an_apostrophe_put_before_a_formula_is_taken_off_again() -> None:
    (row,) = read_rows("'=A1\t'-12\t'+1\t'@x\t'twas\t'\t' =", "\t")
    assert row.cells == ("=A1", "-12", "+1", "@x", "'twas", "'", "' =")


@pytest.mark.parametrize("text", ['a,b\n"open,c\nd,e\n', 'a,b\n"closed"c,d\n'])
def test_a_quotation_mark_that_swallows_rows_is_refused(text: str) -> None:
    with pytest.raises(CsvError, match="Row 2 cannot be told apart"):
        list(read_rows(text, ","))


CELLS = st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=8).filter(
    lambda cell: not cell.startswith("'") and cell == cell.strip()
)


@given(st.lists(st.lists(CELLS, min_size=1, max_size=4), max_size=6), st.sampled_from(",;\t"))
def test_what_the_standard_library_writes_is_read_back(
    table: list[list[str]], separator: str
) -> None:
    file = io.StringIO(newline="")
    csv.writer(file, delimiter=separator).writerows(table)
    text = file.getvalue()
    assert [list(row.cells) for row in read_rows(text, separator)] == table
    if text:
        assert decode(text.encode("utf-8-sig")) == text

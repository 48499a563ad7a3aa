"""How a file is written. Rows are compared with Python's csv; the letters with Python's codecs."""

import csv
from io import StringIO

import pytest

from planning.csv_text import CsvError
from planning.imports.reading import Letters, letters_of, rows_of_file, sample_of, separator_of

WESTERN = "Name;Ort\nZoë Müller;Köln\nJosé Núñez;Málaga\nFrançoise Lefèvre;Orléans\n"
CENTRAL = "Name;Ort\nŁukasz Wiśniewski;Łódź\nJiří Dvořák;Třebíč\nŽofia Kováčová;Žilina\n"
CYRILLIC = "Имя;Город\nИван Петров;Москва\nАнна Смирнова;Тверь\n"


@pytest.mark.parametrize("mark", ["utf-8", "utf-8-sig"])
def test_utf_8_is_known_with_and_without_its_mark(mark):
    data = WESTERN.encode(mark)
    # Cut in the middle of letters.
    assert letters_of(data[i : i + 3] for i in range(0, len(data), 3)) is Letters.UTF_8


@pytest.mark.parametrize("order", ["utf-16"])
def test_utf_16_is_known_by_its_mark(order):
    assert letters_of([WESTERN.encode(order)]) is Letters.UTF_16


@pytest.mark.parametrize(
    ("text", "letters"),
    [(WESTERN, Letters.WESTERN), (CENTRAL, Letters.CENTRAL), (CYRILLIC, Letters.CYRILLIC)],
)
def test_old_code_pages_are_guessed(text, letters):
    assert letters_of([text.encode(letters.value)]) is letters


def test_letters_that_come_late_are_seen():
    plain = b"Name;Town\n" + b"Ann Example;Larkstone\n" * 5_000
    assert letters_of([plain, "Zoë Müller;Köln\n".encode("cp1252")]) is Letters.WESTERN


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"  \n", "empty"),
        (b"PK\x03\x04rest", "spreadsheet"),
        (b"%PDF-1.7", "PDF"),
        (b"Name\0Born", "not text"),
        ("Name;Born".encode("utf-16-le"), "not text"),
    ],
)
def test_what_is_no_csv_is_refused_in_words(data, words):
    with pytest.raises(CsvError, match=words):
        letters_of([data])


@pytest.mark.parametrize(
    ("sample", "separator"),
    [
        ("Name,Born\nAnn,1980\n", ","),
        ("Name;Born;Address\nAnn;1980;1 Road, Town, Land\nBea;1981;2 Road, Town, Land\n", ";"),
        ("Name\tBorn\nAnn\t1980\n", "\t"),
        ("sep=;\nName;Born\nAnn;1980\n", ";"),
        ('"Name, first";Born\n"Example, Ann";1980\n', ";"),
        ("Name\nAnn\n", ","),
    ],
)
def test_the_separator_is_found(sample, separator):
    assert separator_of(sample) == separator


def test_a_sep_line_is_no_row_and_is_counted():
    text = "sep=;\r\nName;Born\r\nAnn;1980\r\n"
    rows = list(rows_of_file(StringIO(text, newline=""), ";"))
    assert [(row.number, row.cells) for row in rows] == [
        (2, ("Name", "Born")), (3, ("Ann", "1980")),
    ]  # fmt: skip


def test_quoted_cells_are_read_as_rfc_4180_says():
    # RFC 4180, section 2: line ends, separators and doubled quotation marks inside quotes.
    cells = ['Ann "Annie" Example', "1 Road\r\nLarkstone", "a,b"]
    written = StringIO(newline="")
    csv.writer(written).writerows([["A", "B", "C"], cells])
    written.seek(0)
    assert [row.cells for row in rows_of_file(written, ",")][1] == tuple(cells)


def test_a_sample_is_bounded():
    lines = ("x" * 50_000 for _ in range(1_000))
    assert len(sample_of(lines)) < 40_000

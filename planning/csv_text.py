"""
A table from a CSV file as spreadsheet programs write it: bytes to text, text to numbered rows.

Accepted are UTF-8 with or without a mark, UTF-16 with its mark, and the old Western code page 1252;
commas, semicolons or tabs between cells. Row numbers are those the spreadsheet shows: the headings
are row 1, and empty rows count.

Source: RFC 4180 for quoting.
"""

from __future__ import annotations

import codecs
import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from io import StringIO

SEPARATORS = (",", ";", "\t")
_SAVE_AS = "Save it in the spreadsheet program as “CSV UTF-8” and choose that file."
# First bytes of files that are not text: a zip (.xlsx, .ods), an old workbook (.xls), a PDF.
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_PDF = b"%PDF"
# A cell that begins so is a formula to a spreadsheet; our own files put an apostrophe before it.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


class CsvError(ValueError):
    """The file as a whole cannot be read; the message says what to do."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row with at least one cell that is not blank; `number` as the spreadsheet counts."""

    number: int
    cells: tuple[str, ...]


def decode(data: bytes) -> str:
    """
    The text of a file, without its byte order mark.

    Raises:
        CsvError: empty, a workbook or another file that is not text.
    """
    refuse_other_files(data)
    try:
        text = _text_of(data)
    except UnicodeDecodeError as error:
        raise CsvError(f"The letters of this file cannot be read. {_SAVE_AS}") from error
    if "\0" in text:
        raise CsvError(f"This file is not text. {_SAVE_AS}")
    if not text.strip():
        raise CsvError("The file is empty.")
    return text


def refuse_other_files(data: bytes) -> None:
    """
    Look at the beginning of a file.

    Raises:
        CsvError: empty, a workbook or a PDF.
    """
    if not data.strip():
        raise CsvError("The file is empty.")
    if data.startswith(_WORKBOOKS):
        raise CsvError(f"This is a spreadsheet, not a CSV file. {_SAVE_AS}")
    if data.startswith(_PDF):
        raise CsvError("This is a PDF, not a CSV file. Choose the list as a CSV file.")


def read_rows(text: str, separator: str) -> Iterator[Row]:
    """The rows of a text that is there as a whole, as `rows_of`."""
    # Universal line ends, untranslated: a line end inside a quoted cell belongs to the cell.
    return rows_of(StringIO(text, newline=""), separator)


def rows_of(lines: Iterable[str], separator: str) -> Iterator[Row]:
    """
    The rows that are not blank, cells stripped of blanks around them and of the apostrophe by which
    our own exports keep a spreadsheet from computing.

    Raises:
        CsvError: a quotation mark that is not closed, or text behind a closing one. From there on
            no row could be told from another, so the whole file is refused.
    """
    reader = csv.reader(lines, delimiter=separator, strict=True)
    number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            stripped = tuple(_unguarded(cell) for cell in cells)
            if any(stripped):
                yield Row(number, stripped)
    except csv.Error as error:
        raise CsvError(
            f"Row {number + 1} cannot be told apart from the next: check its quotation marks. "
            "A quotation mark inside a quoted cell is written twice."
        ) from error


def _text_of(data: bytes) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252")


def _unguarded(cell: str) -> str:
    cell = cell.strip()
    guarded = cell.startswith("'") and cell[1:].startswith(FORMULA_SIGNS)
    return cell[1:].strip() if guarded else cell

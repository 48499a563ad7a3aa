"""
How a CSV file is written: its letters and its separator, found without the whole in memory.

Sources: RFC 4180 for rows and quotation marks, RFC 3629 for what is UTF-8; a first line `sep=;` is
what spreadsheet programs write and take for themselves. Which of the old code pages a file is in
cannot be known for certain: charset-normalizer guesses, and the page asks a person to look.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterable, Iterator
from itertools import chain

from charset_normalizer import from_bytes

from planning.csv_text import SEPARATORS, CsvError, Row, refuse_other_files, rows_of
from planning.vocabulary import Term

SAMPLE_BYTES = 16_384
LOOKED_AT_LINES = 25
_SEPARATOR_LINE = re.compile(r'"?sep=(?P<separator>.)"?\s*', re.IGNORECASE)


class Letters(Term):
    """How letters are written in a file; the value is the codec's name."""

    UTF_8 = "utf-8-sig", "UTF-8"
    UTF_16 = "utf-16", "UTF-16"
    WESTERN = "cp1252", "Western European (Windows 1252)"
    CENTRAL = "cp1250", "Central European (Windows 1250)"
    BALTIC = "cp1257", "Baltic (Windows 1257)"
    TURKISH = "cp1254", "Turkish (Windows 1254)"
    CYRILLIC = "cp1251", "Cyrillic (Windows 1251)"
    GREEK = "cp1253", "Greek (Windows 1253)"
    DOS = "cp850", "Western European (DOS 850)"
    MAC = "mac_roman", "Western European (Mac)"


# In the order in which equally likely ones are preferred: that of the enum.
_CODE_PAGES = [one.value for one in Letters if one not in (Letters.UTF_8, Letters.UTF_16)]


def letters_of(pieces: Iterable[bytes]) -> Letters:
    """
    How the letters of a file are written, from its bytes piece by piece.

    Raises:
        CsvError: empty, a workbook or another file that is not text.
    """
    pieces = iter(pieces)
    first = next(pieces, b"")
    refuse_other_files(first)
    if first.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return Letters.UTF_16
    decoder = codecs.getincrementaldecoder("utf-8")()
    is_utf_8, telling = True, bytearray()
    for piece in chain([first], pieces):
        if b"\0" in piece:
            raise CsvError("This file is not text. Save it as “CSV UTF-8” and choose that file.")
        if is_utf_8:
            try:
                decoder.decode(piece)
            except UnicodeDecodeError:
                is_utf_8 = False
        if len(telling) < SAMPLE_BYTES:
            telling += b"\n".join(line for line in piece.splitlines() if not line.isascii())
    if is_utf_8 and not decoder.getstate()[0]:
        return Letters.UTF_8
    return _likeliest(bytes(telling[:SAMPLE_BYTES]))


def _likeliest(sample: bytes) -> Letters:
    """A short sample tells little by itself, so it is looked at as if it went on."""
    sample *= max(1, SAMPLE_BYTES // max(1, 2 * len(sample)))
    found = {
        name: match.chaos
        for match in from_bytes(sample, cp_isolation=_CODE_PAGES)
        for name in match.could_be_from_charset
    }
    known = [name for name in _CODE_PAGES if name in found]
    return Letters(min(known, key=found.__getitem__)) if known else Letters.WESTERN


def separator_of(sample: str) -> str:
    """
    The separator of the first lines of a file; a comma if there is none.

    csv.Sniffer looks first. It is taken in by commas inside of cells, so what it says counts only
    where no other separator cuts the headings into more columns.
    """
    if match := _SEPARATOR_LINE.fullmatch(sample.partition("\n")[0]):
        return match["separator"]
    try:
        sniffed = csv.Sniffer().sniff(sample, delimiters="".join(SEPARATORS)).delimiter
    except csv.Error:
        sniffed = ","
    heading = sample.partition("\n")[0]
    counts = {one: len(next(csv.reader([heading], delimiter=one), [])) for one in SEPARATORS}
    return max(SEPARATORS, key=lambda one: (counts[one], one == sniffed))


def sample_of(lines: Iterable[str]) -> str:
    """The first lines, as far as a separator is looked for."""
    kept, length = [], 0
    for _, line in zip(range(LOOKED_AT_LINES), lines, strict=False):
        kept.append(line[:SAMPLE_BYTES])
        length += len(line)
        if length > SAMPLE_BYTES:
            break
    return "".join(kept)


def rows_of_file(lines: Iterable[str], separator: str) -> Iterator[Row]:
    """
    The rows that are not blank, headings first, one after the other; a `sep=` line is no row.

    Row numbers are those of the file, so a `sep=` line makes the headings row 2.

    Raises:
        CsvError: as `planning.csv_text.rows_of`.
    """
    for row in rows_of(lines, separator):
        if row.number > 1 or not _SEPARATOR_LINE.fullmatch(separator.join(row.cells)):
            yield row

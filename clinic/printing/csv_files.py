"""Tables handed out as CSV, line by line, so that one of any length needs little memory."""

import csv
from codecs import BOM_UTF8
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from django.http import StreamingHttpResponse


class _Echo:
    """A file that hands each written line straight on, for streaming."""

    def write(self, line: str) -> str:
        return line


def csv_lines(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> Iterator[str]:
    """
    Header and rows as text, without a byte order mark, which programs would take for content.

    What people typed goes through `as_text` first.
    """
    writer = csv.writer(_Echo())
    yield writer.writerow(columns)
    for row in rows:
        yield writer.writerow(row)


def as_text(typed: str) -> str:
    """A typed name or number that a spreadsheet would read as a formula is marked as text."""
    return f"'{typed}" if typed.startswith(("=", "+", "-", "@", "\t", "\r")) else typed


def csv_download(name: str, lines: Iterable[str]) -> StreamingHttpResponse:
    """
    The answer that saves `name`.csv, in UTF-8 with a byte order mark in front: spreadsheet programs
    know UTF-8 by it.
    """
    response = StreamingHttpResponse(
        chain([BOM_UTF8], lines), content_type="text/csv; charset=utf-8"
    )
    response["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return response

"""
An opening stock list, read from CSV: what the clinic has on its shelves when it begins.

Columns by their headings, in any order and case: product or GTIN (either is enough), lot, expiry,
quantity; and if wanted place, serial, received. Every row that is not blank becomes either a line
or a bad row that says what to change: nothing is dropped, and nothing is guessed. Which product a
line means, and whether its lot is known already, is asked where the products are.

Dates are YYYY-MM-DD, or day first DD/MM/YYYY. A date with the month first is not understood, and if
a list holds one, its other dates are doubted too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from planning.csv_text import SEPARATORS, CsvError, Row, read_rows
from planning.stock_cells import (
    CellError,
    is_month_first,
    read_code,
    read_date,
    read_gtin,
    read_quantity,
    read_words,
)
from planning.stock_lines import (
    BadRow,
    Column,
    Doubt,
    Problem,
    StockLine,
    contradictions,
    repeated,
    row_numbers,
)

Value = TypeVar("Value")


_OTHER_HEADINGS = {
    "product name": Column.PRODUCT,
    "name": Column.PRODUCT,
    "lot number": Column.LOT,
    "batch": Column.LOT,
    "batch number": Column.LOT,
    "expiry date": Column.EXPIRY,
    "expires": Column.EXPIRY,
    "use by": Column.EXPIRY,
    "units": Column.QUANTITY,
    "room": Column.PLACE,
    "serial number": Column.SERIAL,
    "received on": Column.RECEIVED,
    "date received": Column.RECEIVED,
}
_NEEDED = (Column.LOT, Column.EXPIRY, Column.QUANTITY)
MOST_AT_ONCE = 500  # units in one line; a slip of the keyboard otherwise


@dataclass(frozen=True, slots=True)
class StockList:
    """
    What a file holds. Each row that is not blank is in exactly one of `lines` and `bad_rows`.

    `unknown_columns` are headings whose cells were not read.
    """

    lines: tuple[StockLine, ...]
    bad_rows: tuple[BadRow, ...]
    doubts: tuple[Doubt, ...]
    unknown_columns: tuple[str, ...]


def read_stock_list(text: str, *, most_at_once: int = MOST_AT_ONCE) -> StockList:
    """
    The list in a text from `planning.csv_text.decode`.

    Raises:
        CsvError: no headings, a needed column missing or given twice, no row below them, or
            quotation marks that do not close; the message names what is missing.
    """
    heading, *body = list(read_rows(text, separator_of(text))) or [Row(1, ())]
    columns, unknown = columns_of(heading)
    if not body:
        raise CsvError("There is no row below the headings.")
    lines: list[StockLine] = []
    bad: dict[int, BadRow] = {}
    for row in body:
        result = _RowReader(row, columns, len(heading.cells), most_at_once).read()
        if isinstance(result, BadRow):
            bad[row.number] = result
        else:
            lines.append(result)
    cells = {row.number: row.cells for row in body}
    for number, problem in contradictions(lines):
        known = bad[number].problems if number in bad else ()
        bad[number] = BadRow(number, (*known, problem), cells[number])
    good = [line for line in lines if line.number not in bad]
    return StockList(
        lines=tuple(good),
        bad_rows=tuple(bad[number] for number in sorted(bad)),
        doubts=(*repeated(good), *_other_order_of_dates(body, columns, good)),
        unknown_columns=unknown,
    )


def separator_of(text: str) -> str:
    """The separator by which most headings are known; a comma if none are."""

    def known(separator: str) -> int:
        try:
            heading = next(read_rows(text, separator), Row(1, ()))
        except CsvError:
            return 0  # quoted cells do not end where this separator wants them to
        return sum(_column_of(cell) is not None for cell in heading.cells)

    return max(SEPARATORS, key=known)


def _column_of(heading: str) -> Column | None:
    words = " ".join(heading.replace("_", " ").split()).casefold()
    by_label = {column.label.casefold(): column for column in Column}
    return by_label.get(words) or _OTHER_HEADINGS.get(words)


def columns_of(heading: Row) -> tuple[dict[Column, int], tuple[str, ...]]:
    """Where each column stands, and the headings that are not known."""
    places: dict[Column, int] = {}
    unknown = []
    for index, cell in enumerate(heading.cells):
        column = _column_of(cell)
        if column is None:
            unknown += [cell] if cell else []
        elif column in places:
            raise CsvError(f"Two columns are headed {column.label}: leave one of them out.")
        else:
            places[column] = index
    missing = [column.label for column in _NEEDED if column not in places]
    if Column.PRODUCT not in places and Column.GTIN not in places:
        missing.insert(0, "Product or GTIN")
    if missing:
        found = ", ".join(filter(None, heading.cells))[:200] or "none"
        raise CsvError(
            f"The first row must hold the headings. Missing: {', '.join(missing)}. Found: {found}."
        )
    return places, tuple(unknown)


class _RowReader:
    """Reads one row, gathering every problem instead of stopping at the first."""

    def __init__(self, row: Row, columns: dict[Column, int], width: int, most: int) -> None:
        self._row, self._columns, self._width, self._most = row, columns, width, most
        self._problems: list[Problem] = []

    def read(self) -> StockLine | BadRow:
        self._check_width()
        product = self._cell(Column.PRODUCT, read_words, "")
        gtin = self._cell(Column.GTIN, read_gtin, "")
        if not self._typed(Column.PRODUCT) and not self._typed(Column.GTIN):
            self._add(Column.PRODUCT, "type the product's name or its GTIN.")
        lot = self._cell(Column.LOT, lambda text: read_code(text, "lot"), "", needed=True)
        expires_on = self._cell(Column.EXPIRY, read_date, date.max, needed=True)
        quantity = self._cell(
            Column.QUANTITY, lambda text: read_quantity(text, self._most), 0, needed=True
        )
        serial = self._cell(Column.SERIAL, lambda text: read_code(text, "serial"), "")
        if serial and quantity > 1:
            self._add(Column.QUANTITY, "a serial number is on one unit: give each its own row.")
        place = self._cell(Column.PLACE, read_words, "")
        received_on = self._cell(Column.RECEIVED, read_date, None)
        if self._problems:
            return BadRow(self._row.number, tuple(self._problems), self._row.cells)
        return StockLine(
            number=self._row.number,
            product=product,
            gtin=gtin,
            lot=lot,
            expires_on=expires_on,
            quantity=quantity,
            place=place,
            serial=serial,
            received_on=received_on,
        )

    def _typed(self, column: Column) -> str:
        index = self._columns.get(column)
        cells = self._row.cells
        return cells[index] if index is not None and index < len(cells) else ""

    def _cell(
        self, column: Column, read: Callable[[str], Value], empty: Value, *, needed: bool = False
    ) -> Value:
        typed = self._typed(column)
        try:
            return read(typed) if typed or needed else empty
        except CellError as error:
            self._add(column, str(error))
            return empty

    def _add(self, column: Column, message: str) -> None:
        self._problems.append(Problem(column.label, self._typed(column), message))

    def _check_width(self) -> None:
        beyond = [cell for cell in self._row.cells[self._width :] if cell]
        if beyond:
            message = "there are more cells than headings: quote a cell that holds the separator."
            self._problems.append(Problem("Beyond the headings", beyond[0], message))


def _other_order_of_dates(
    body: Iterable[Row], columns: dict[Column, int], good: Iterable[StockLine]
) -> list[Doubt]:
    """If one date can only be month first, the others may have been written so too."""
    places = [columns[column] for column in (Column.EXPIRY, Column.RECEIVED) if column in columns]
    dates = {
        row.number: [row.cells[place] for place in places if place < len(row.cells)] for row in body
    }
    if not any(is_month_first(text) for texts in dates.values() for text in texts):
        return []
    doubted = [line for line in good if any("/" in text for text in dates[line.number])]
    if not doubted:
        return []
    return [
        Doubt(
            tuple(line.number for line in doubted),
            "Another row has the month first. Check that the dates with “/” have the day first in "
            f"{row_numbers(doubted)}.",
        )
    ]

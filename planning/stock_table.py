"""
The rows of an opening stock list as they were written, to be corrected and written again.

Rows keep their numbers: one that is taken out leaves a blank row behind, so that "row 17" means the
same row as in the spreadsheet the list came from.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from io import StringIO

from planning.csv_text import FORMULA_SIGNS, Row, read_rows
from planning.stock_lines import BadRow, Column
from planning.stock_list import columns_of, separator_of

REASON = "Reason"


@dataclass(frozen=True, slots=True)
class StockTable:
    """
    A list's cells by row number; the first row holds the headings, blank rows are not in it.

    `columns` says where the known columns stand, counted from 0.
    """

    rows: Mapping[int, tuple[str, ...]]
    columns: Mapping[Column, int]

    @property
    def headings(self) -> tuple[str, ...]:
        return self.rows[self._heading_row]

    @property
    def _heading_row(self) -> int:
        return min(self.rows)

    @property
    def text(self) -> str:
        """As CSV with commas; says the same when it is read again."""
        return _written(self.rows.get(number, ()) for number in range(1, max(self.rows) + 1))

    def cell(self, number: int, column: Column) -> str:
        """What stands there; "" where the row is shorter or the list has no such column."""
        cells, index = self.rows.get(number, ()), self.columns.get(column)
        return cells[index] if index is not None and index < len(cells) else ""

    def with_cells(self, changes: Mapping[tuple[int, Column], str]) -> StockTable:
        """The table with other cells; what it has no row or column for is passed over."""
        rows = dict(self.rows)
        for (number, column), value in changes.items():
            if number in rows and number != self._heading_row and column in self.columns:
                index = self.columns[column]
                cells = [*rows[number], *[""] * (index + 1 - len(rows[number]))]
                cells[index] = " ".join(value.split())
                rows[number] = tuple(cells)
        return replace(self, rows=rows)

    def renamed(self, column: Column, names: Mapping[str, str]) -> StockTable:
        """The table with other names in one column, wherever they stand."""
        return self.with_cells(
            {
                (number, column): names[typed]
                for number in self.rows
                if (typed := self.cell(number, column)) in names
            }
        )

    def without(self, numbers: Collection[int]) -> StockTable:
        """The table without these rows; the headings stay."""
        rows = {
            number: cells
            for number, cells in self.rows.items()
            if number not in numbers or number == self._heading_row
        }
        return replace(self, rows=rows)


def read_table(text: str) -> StockTable:
    """
    The cells of a list that `read_stock_list` reads.

    Raises:
        CsvError: as there.
    """
    rows = list(read_rows(text, separator_of(text))) or [Row(1, ())]
    columns, _ = columns_of(rows[0])
    return StockTable({row.number: row.cells for row in rows}, columns)


def bad_rows_csv(table: StockTable, bad_rows: Iterable[BadRow]) -> str:
    """The bad rows under their headings, each with what is wrong with it in a last column."""
    rows = [[*table.headings, REASON]]
    for bad in bad_rows:
        cells = [*bad.cells, *[""] * (len(table.headings) - len(bad.cells))]
        rows.append([*cells, " ".join(str(problem) for problem in bad.problems)])
    return _written([_guarded(cell) for cell in row] for row in rows)


def _guarded(cell: str) -> str:
    """What a spreadsheet would compute is marked as text; reading takes the mark away again."""
    return f"'{cell}" if cell.startswith(FORMULA_SIGNS) else cell


def _written(rows: Iterable[Iterable[str]]) -> str:
    written = StringIO()
    csv.writer(written, lineterminator="\n").writerows(rows)
    return written.getvalue()

"""
An opening stock list compared with the books: which product, lot and place each row means.

Nothing is guessed. A name that is not known exactly makes a bad row that tells which names are
near; what may be right but should be looked at is a doubt.
"""

import difflib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from clinic.places.models import Place
from clinic.products.models import Product
from clinic.quarantine.queries import holding, reaches_lot, reaches_serial
from clinic.receiving.services.deliveries import DeliveryLine, cold_advice
from clinic.receiving.services.list_books import Books
from clinic.stock.models import Lot
from clinic.stock.validators import FARTHEST_YEARS, MOST_AT_ONCE
from planning.csv_text import CsvError
from planning.lot_numbers import readings
from planning.stock_lines import (
    BadRow,
    Column,
    Doubt,
    Problem,
    StockLine,
    contradictions,
    row_numbers,
)
from planning.stock_list import read_stock_list
from planning.stock_table import StockTable, read_table

MOST_ROWS, MOST_UNITS = 10_000, 50_000
_NEAR, _LIKENESS = 3, 0.6


@dataclass
class UnknownName:
    """A name that the clinic does not know, those that resemble it, and how many rows give it."""

    column: Column
    name: str
    near: list[str]
    rows: int = 0


@dataclass(frozen=True)
class CheckedList:
    """
    Each row that is not blank is in exactly one of `lines` and `bad_rows`.

    Attributes:
        lines: what would be received, with the row it stands in.
        unknown_names: each name that is not known once, with the number of its rows.
        unknown_columns: headings whose cells were not read.
    """

    table: StockTable
    lines: list[tuple[int, DeliveryLine]]
    bad_rows: list[BadRow]
    doubts: list[Doubt]
    unknown_names: list[UnknownName]
    unknown_columns: tuple[str, ...]

    @property
    def is_ready(self) -> bool:
        return bool(self.lines) and not self.bad_rows

    @property
    def rows(self) -> int:
        return len(self.lines) + len(self.bad_rows)

    @property
    def units(self) -> int:
        return sum(line.quantity for _, line in self.lines)


def check_list(text: str, *, today: date) -> CheckedList:
    """
    What a list in a text from `planning.csv_text.decode` would bring, and what is wrong with it.

    Raises:
        CsvError: it cannot be read at all, or holds more than one act takes in.
    """
    table, read = read_table(text), read_stock_list(text, most_at_once=MOST_AT_ONCE)
    if len(read.lines) + len(read.bad_rows) > MOST_ROWS:
        raise CsvError(
            f"A list holds at most {MOST_ROWS:,} rows: divide it, and take in each part."
        )
    checks = _Checks(table, Books.about(read.lines), today)
    for line in read.lines:
        checks.look_at(line)
    checks.compare_with_each_other()
    if sum(line.quantity for line in checks.good.values()) > MOST_UNITS:
        raise CsvError(f"A list brings at most {MOST_UNITS:,} units: divide it.")
    bad = sorted([*read.bad_rows, *checks.bad_rows], key=lambda row: row.number)
    good = set(checks.good) - {row.number for row in bad}
    return CheckedList(
        table=table,
        lines=[(number, line) for number, line in checks.good.items() if number in good],
        bad_rows=bad,
        doubts=[*read.doubts, *checks.doubts(good)],
        unknown_names=checks.unknown_names(),
        unknown_columns=read.unknown_columns,
    )


@dataclass
class _Checks:
    """Gathers, row by row, what would be received and what is in the way."""

    table: StockTable
    books: Books
    today: date
    good: dict[int, DeliveryLine] = field(default_factory=dict)
    bad_rows: list[BadRow] = field(default_factory=list)
    _read: dict[int, StockLine] = field(default_factory=dict)
    _unknown: dict[tuple[Column, str], UnknownName] = field(default_factory=dict)

    def look_at(self, line: StockLine) -> None:
        problems: list[Problem] = []
        product = self._product(line, problems)
        place = self._place(line, problems)
        self._check_days(line, problems)
        if product:
            self._check_lot(line, product, problems)
        if product is None or problems:
            self._refuse(line.number, problems)
            return
        self._read[line.number] = replace(line, gtin=str(product.pk))
        self.good[line.number] = DeliveryLine(
            product=product, number=line.lot, expires_on=line.expires_on, quantity=line.quantity,
            place=place, serials=[line.serial] if line.serial else [],
            received_on=line.received_on,
        )  # fmt: skip

    def _refuse(self, number: int, problems: Sequence[Problem]) -> None:
        self.bad_rows.append(BadRow(number, tuple(problems), self.table.rows[number]))

    def _product(self, line: StockLine, problems: list[Problem]) -> Product | None:
        by_gtin, by_name = self.books.by_gtin.get(line.gtin), self.books.by_name.get(line.product)
        if line.gtin and by_gtin is None:
            words = "no product has it. Enter it with the product, or compare the digits."
            problems.append(Problem(Column.GTIN.label, line.gtin, words))
            return None
        if by_gtin and by_name and by_gtin != by_name:
            words = f"the GTIN of this row is that of {by_gtin.name}: one of the two is wrong."
            problems.append(Problem(Column.PRODUCT.label, line.product, words))
            return None
        product = by_gtin or by_name
        if product is None:
            in_use = [one.name for one in self.books.by_name.values() if one.is_active]
            problems.append(self._unknown_name(Column.PRODUCT, line.product, in_use))
        elif not product.is_active:
            words = "this product is no longer in use: take it into use again under Products."
            problems.append(Problem(Column.PRODUCT.label, product.name, words))
        return product

    def _place(self, line: StockLine, problems: list[Problem]) -> Place | None:
        if not line.place:
            return None
        places = self.books.places.get(line.place, [])
        if len(places) == 1:
            return places[0]
        if places:
            words = f"several sites have it: write {' or '.join(f'“{one}”' for one in places)}."
            problems.append(Problem(Column.PLACE.label, line.place, words))
        else:
            problems.append(self._unknown_name(Column.PLACE, line.place, self.books.places))
        return None

    def _unknown_name(self, column: Column, name: str, known: Iterable[str]) -> Problem:
        """What to say of a name; the near ones are looked for once, whatever the number of rows."""
        if (column, name) not in self._unknown:
            folded = {one.casefold(): one for one in known}
            found = difflib.get_close_matches(name.casefold(), folded, n=_NEAR, cutoff=_LIKENESS)
            self._unknown[column, name] = UnknownName(column, name, [folded[one] for one in found])
        unknown = self._unknown[column, name]
        unknown.rows += 1
        near = f" Near: {', '.join(unknown.near)}." if unknown.near else ""
        return Problem(column.label, name, f"no {column.label.lower()} has this name.{near}")

    def _check_days(self, line: StockLine, problems: list[Problem]) -> None:
        if abs(line.expires_on.year - self.today.year) > FARTHEST_YEARS:
            words = f"more than {FARTHEST_YEARS} years away: compare the year with the box."
            problems.append(Problem(Column.EXPIRY.label, line.expires_on.isoformat(), words))
        if line.received_on and line.received_on > self.today:
            words = "this day is still to come."
            problems.append(Problem(Column.RECEIVED.label, line.received_on.isoformat(), words))

    def _check_lot(self, line: StockLine, product: Product, problems: list[Problem]) -> None:
        standing = self.books.standing.get(product.pk, [])
        lot = self.books.lots.get((product.pk, line.lot))
        by = holding(lot or Lot(product=product, number=line.lot), standing) or next(
            (
                quarantine
                for quarantine in standing
                if reaches_lot(quarantine, line.lot) and reaches_serial(quarantine, line.serial)
            ),
            None,
        )
        if by:
            words = f"in quarantine: {by.reason} Set the units apart and take the row out."
            problems.append(Problem(Column.LOT.label, line.lot, words))
        if lot is None:
            return
        if lot.expires_on != line.expires_on:
            words = f"this lot is known with the expiry {lot.expires_on}: compare with the box."
            problems.append(Problem(Column.EXPIRY.label, line.expires_on.isoformat(), words))
        if line.serial and (lot.pk, line.serial) in self.books.serials:
            words = "a unit of this lot with this number is in the books already."
            problems.append(Problem(Column.SERIAL.label, line.serial, words))

    def compare_with_each_other(self) -> None:
        """Rows that name one product in two ways, and cannot all be right."""
        found: dict[int, list[Problem]] = defaultdict(list)
        for number, problem in contradictions(self._read.values()):
            found[number].append(problem)
        for number, problems in found.items():
            del self.good[number]
            self._refuse(number, problems)

    def unknown_names(self) -> list[UnknownName]:
        """Those of most rows first."""
        return sorted(self._unknown.values(), key=lambda unknown: -unknown.rows)

    def doubts(self, good: set[int]) -> list[Doubt]:
        """Questions about the rows that could be received."""
        lines = [self._read[number] for number in sorted(good)]
        asked = [
            (
                [line for line in lines if self._lot_of(line)],
                "The lot is in the books already: these units come on top of what is there. Was "
                "this list, or a part of it, taken in before?",
            ),
            (
                [line for line in lines if line.expires_on < self.today],
                "The expiry has passed: the units are taken into the books, and none of them can "
                "be opened. Are the dates as printed?",
            ),
        ]
        told = [
            Doubt(tuple(line.number for line in rows), f"{words} See {row_numbers(rows)}.")
            for rows, words in asked
            if rows
        ]
        return [*told, *self._warm(good), *self._alike(lines)]

    def _warm(self, good: set[int]) -> list[Doubt]:
        """Products of the cold chain in a place that is no fridge, each once; unless not said."""
        rows: dict[tuple[str, str], list[StockLine]] = defaultdict(list)
        for number in sorted(good):
            product, place = self.good[number].product, self.good[number].place
            if place and (advice := cold_advice(product, place)):
                rows[product.name, advice].append(self._read[number])
        return [
            Doubt(
                tuple(line.number for line in of_product),
                f"{name}, in a place that is no fridge. {advice} See {row_numbers(of_product)}.",
            )
            for (name, advice), of_product in rows.items()
        ]

    def _lot_of(self, line: StockLine) -> Lot | None:
        return self.books.lots.get((int(line.gtin), line.lot))

    def _alike(self, lines: Sequence[StockLine]) -> list[Doubt]:
        """Lot numbers that differ from others of the product and may be the same lot."""
        rows: dict[tuple[int, str], list[StockLine]] = defaultdict(list)
        for line in lines:
            rows[int(line.gtin), line.lot].append(line)
        readers: dict[tuple[int, str], set[str]] = defaultdict(set)
        for product, number in {*rows, *self.books.lots}:
            for reading in readings(number):
                readers[product, reading].add(number)
        doubts, asked = [], set()
        for (product, number), of_lot in rows.items():
            others = set().union(*(readers[product, reading] for reading in readings(number)))
            others.discard(number)
            if others and (product, frozenset({number, *others})) not in asked:
                asked.add((product, frozenset({number, *others})))
                shown = ", ".join(f"“{other}”" for other in sorted(others))
                words = f"“{number}” resembles {shown} of the same product: compare with the boxes."
                numbers = tuple(line.number for line in of_lot)
                doubts.append(Doubt(numbers, f"{words} See {row_numbers(of_lot)}."))
        return doubts

"""
The lines of an opening stock list, what is wrong with rows that are none, and what lines say
against each other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import date

from planning.vocabulary import Term

MOST_NAMED = 8  # rows in one message


class Column(Term):
    """A column of the list, with the heading it is written under."""

    PRODUCT = "product", "Product"
    GTIN = "gtin", "GTIN"
    LOT = "lot", "Lot"
    EXPIRY = "expiry", "Expiry"
    QUANTITY = "quantity", "Quantity"
    PLACE = "place", "Place"
    SERIAL = "serial", "Serial"
    RECEIVED = "received", "Received"


@dataclass(frozen=True, slots=True)
class StockLine:
    """
    One good row: so many units of one lot.

    `number` is the row in the spreadsheet. Text that was not given is "". Of `product` and `gtin`
    (fourteen digits) at least one is given; a line with a serial is about one unit.
    """

    number: int
    product: str
    gtin: str
    lot: str
    expires_on: date
    quantity: int
    place: str = ""
    serial: str = ""
    received_on: date | None = None

    @property
    def product_key(self) -> str:
        """One product within this list, as far as the list itself tells."""
        return self.gtin or self.product.casefold()


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong in one cell: its column, its value as typed, and what to do."""

    column: str
    value: str
    message: str

    def __str__(self) -> str:
        shown = f" “{self.value[:40]}”" if self.value else ""
        return f"{self.column}{shown}: {self.message}"


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that is no line, with all that is wrong with it and its cells as they were."""

    number: int
    problems: tuple[Problem, ...]
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question about rows that could be read: they may be right."""

    numbers: tuple[int, ...]
    message: str


def contradictions(lines: Iterable[StockLine]) -> list[tuple[int, Problem]]:
    """Rows that cannot all be right: a lot with two expiries, a serial number used twice."""
    of_lot: dict[tuple[str, str], list[StockLine]] = defaultdict(list)
    of_serial: dict[tuple[str, str], list[StockLine]] = defaultdict(list)
    for line in lines:
        of_lot[line.product_key, line.lot].append(line)
        if line.serial:
            of_serial[line.product_key, line.serial].append(line)
    found = []
    for group in of_lot.values():
        if len({line.expires_on for line in group}) > 1:
            message = f"{row_numbers(group)} give this lot different dates: compare the boxes."
            found += [
                (line.number, Problem(Column.EXPIRY.label, line.expires_on.isoformat(), message))
                for line in group
            ]
    for group in of_serial.values():
        if len(group) > 1:
            message = f"{row_numbers(group)} have the same serial number: compare the boxes."
            found += [
                (line.number, Problem(Column.SERIAL.label, line.serial, message)) for line in group
            ]
    return found


def repeated(lines: Iterable[StockLine]) -> list[Doubt]:
    """Rows alike in everything: counted twice, or two deliveries."""
    alike: dict[tuple[object, ...], list[StockLine]] = defaultdict(list)
    for line in lines:
        key = tuple(getattr(line, field.name) for field in fields(line) if field.name != "number")
        alike[key].append(line)
    return [
        Doubt(
            tuple(line.number for line in group),
            f"The same is in {row_numbers(group)}. If units were listed twice, take one row out.",
        )
        for group in alike.values()
        if len(group) > 1
    ]


def row_numbers(lines: Iterable[StockLine]) -> str:
    """ "row 2", "rows 2, 5 and 9"; of many the first few and how many more."""
    numbers = [str(line.number) for line in lines]
    shown = numbers[:MOST_NAMED] if len(numbers) > MOST_NAMED + 1 else numbers[:-1]
    rest = numbers[len(shown) :]
    last = rest[0] if len(rest) == 1 else f"{len(rest)} more"
    if not shown:
        return f"row {last}"
    return f"rows {', '.join(shown)} and {last}"

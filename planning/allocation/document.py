"""
A plan as a file: what `manage.py plan_units` reads and answers (schema: docs/plan-units.md).

Amounts are text with their unit, "0.6 mL" or "20 units"; prices text in the clinic's currency,
whole or with two decimals. Nothing is guessed: an unknown name or a number without quotes is
refused.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from planning.allocation.plan import Allocation, OpenUnit, PlannedAmount
from planning.allocation.shelf import Pack, Preference
from planning.amounts import AmountError, format_amount, parse_amount
from planning.atlas.regions import Region
from planning.money import PriceError, parse_price, plain_price
from planning.vocabulary import Measure, Plane, Side, Term

Row = dict[str, Any]
Word = TypeVar("Word", bound=Term)

LONGEST_LIST = 200
# Every way to deal them to the planes is tried.
MOST_OPEN = 6
LONGEST_TEXT = 200
_LINE = ("id", "product", "region", "side", "plane", "amount")
_PACK = ("id", "product", "lot", "content", "units", "price", "expires_on")
_OPEN = ("id", "product", "lot", "remaining")


class PlanFileError(ValueError):
    """The file is no plan; the message names the place in it and what to do."""


@dataclass(frozen=True, slots=True)
class PlanFile:
    """What a file asks. `measures` is by product: volumes and doses are never mixed."""

    lines: tuple[PlannedAmount, ...]
    packs: tuple[Pack, ...]
    open_units: tuple[OpenUnit, ...]
    preference: Preference
    one_plane_a_unit: bool
    measures: dict[str, Measure]


def read_plan(data: Any) -> PlanFile:
    """
    The plan in what a JSON file holds.

    Raises:
        PlanFileError: see there.
    """
    top = _object(data, "the file", ("lines", "shelf", "open", "preference", "one_plane_a_unit"))
    reader = _Reader({})
    lines = [reader.line(row, where) for row, where in _rows(top, "lines", _LINE)]
    if not lines:
        raise PlanFileError("lines: there is none, so there is nothing to plan.")
    packs = [reader.pack(row, where) for row, where in _rows(top, "shelf", _PACK)]
    opened = [reader.open_unit(row, where) for row, where in _rows(top, "open", _OPEN)]
    if len(opened) > MOST_OPEN:
        raise PlanFileError(f"open: at most {MOST_OPEN} units are open for one patient.")
    for name, keys in (
        ("lines", [line.key for line in lines]),
        ("shelf", [pack.key for pack in packs]),
        ("open", [unit.key for unit in opened]),
    ):
        if twice := next((key for number, key in enumerate(keys) if key in keys[:number]), None):
            raise PlanFileError(f"{name}: the id “{twice}” stands there twice.")
    apart = top.get("one_plane_a_unit", True)
    if not isinstance(apart, bool):
        raise PlanFileError("one_plane_a_unit: write true or false.")
    return PlanFile(
        tuple(lines), tuple(packs), tuple(opened), _preference(top), apart, reader.measures
    )


@dataclass(frozen=True, slots=True)
class _Reader:
    measures: dict[str, Measure]

    def line(self, row: Row, where: str) -> PlannedAmount:
        product = _text(row, "product", where)
        _one_of(Side, row, "side", where)  # for whoever reads the file: sides share their region
        return PlannedAmount(
            key=_text(row, "id", where),
            product=product,
            region=_one_of(Region, row, "region", where).value,
            plane=_one_of(Plane, row, "plane", where).value,
            amount=self._amount(row, "amount", where, product),
        )

    def pack(self, row: Row, where: str) -> Pack:
        product = _text(row, "product", where)
        return Pack(
            key=_text(row, "id", where),
            product=product,
            lot=_text(row, "lot", where),
            content=self._amount(row, "content", where, product),
            units=_whole(row, "units", where),
            price=_price(row, where),
            expires_on=_day(row, where),
        )

    def open_unit(self, row: Row, where: str) -> OpenUnit:
        product = _text(row, "product", where)
        return OpenUnit(
            key=_text(row, "id", where),
            product=product,
            lot=_text(row, "lot", where),
            remaining=self._amount(row, "remaining", where, product),
        )

    def _amount(self, row: Row, name: str, where: str, product: str) -> int:
        text = _text(row, name, where)
        problems = []
        for measure in Measure:
            try:
                amount = parse_amount(text, measure)
            except AmountError as error:
                problems.append(str(error))
                continue
            if not any(letter.isalpha() for letter in text):
                raise PlanFileError(
                    f"{where}.{name}: write the unit too, {text} mL or {text} units."
                )
            if self.measures.setdefault(product, measure) is not measure:
                raise PlanFileError(
                    f"{where}.{name}: “{product}” is given both as a volume and as a dose."
                )
            return amount
        raise PlanFileError(f"{where}.{name}: {problems[0]}")


def answer(plan: PlanFile, found: Allocation) -> Row:
    """The allocation as JSON: units to open, what each line gets, waste, cost, what is missing."""
    packs = {pack.key: pack for pack in plan.packs}
    products = {line.key: line.product for line in plan.lines}

    def shown(product: Hashable, amount: int) -> str:
        return format_amount(amount, plan.measures[str(product)])

    return {
        "open": [
            {"id": key, "product": packs[key].product, "lot": packs[key].lot, "units": units}
            for key, units in found.opened.items()
        ],
        "draws": [
            {
                "line": draw.line,
                "unit": _unit_label(draw.unit),
                "lot": draw.lot,
                "amount": shown(products[draw.line], draw.amount),
            }
            for draw in found.draws
        ],
        "waste": {product: shown(product, amount) for product, amount in found.waste.items()},
        "cost": plain_price(found.cost),
        "missing": {
            short.product: shown(short.product, short.missing) for short in found.shortages
        },
    }


def _unit_label(unit: Hashable) -> str:
    """An open unit by its id; one to be opened as the pack's and a number."""
    return "{} no. {}".format(*unit) if isinstance(unit, tuple) else str(unit)


def _object(value: Any, where: str, names: tuple[str, ...]) -> Row:
    if not isinstance(value, dict):
        raise PlanFileError(f"{where}: an object with {', '.join(names)} is expected.")
    if unknown := sorted(set(value) - set(names)):
        raise PlanFileError(f"{where}: “{unknown[0]}” is not known; known are {', '.join(names)}.")
    return value


def _rows(top: Row, name: str, fields: tuple[str, ...]) -> Iterator[tuple[Row, str]]:
    rows = top.get(name, [])
    if not isinstance(rows, list) or len(rows) > LONGEST_LIST:
        raise PlanFileError(f"{name}: a list of at most {LONGEST_LIST:,} is expected.")
    for number, row in enumerate(rows):
        where = f"{name}[{number}]"
        row = _object(row, where, fields)
        if missing := next((field for field in fields if field not in row), None):
            raise PlanFileError(f"{where}: “{missing}” is missing.")
        yield row, where


def _text(row: Row, name: str, where: str) -> str:
    value = row[name]
    if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_TEXT:
        raise PlanFileError(f"{where}.{name}: write text in quotation marks.")
    return value


def _one_of(words: type[Word], row: Row, name: str, where: str) -> Word:
    text = _text(row, name, where)
    try:
        return words(text)
    except ValueError:
        known = ", ".join(word.value for word in words)
        raise PlanFileError(f"{where}.{name}: “{text}” is not one of {known}.") from None


def _whole(row: Row, name: str, where: str) -> int:
    value = row[name]
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 100_000:
        raise PlanFileError(f"{where}.{name}: write a whole number from 0 to 100000.")
    return value


def _price(row: Row, where: str) -> int:
    try:
        return parse_price(_text(row, "price", where))
    except PriceError as error:
        raise PlanFileError(f"{where}.price: {error}") from error


def _day(row: Row, where: str) -> date:
    try:
        return date.fromisoformat(_text(row, "expires_on", where))
    except ValueError:
        raise PlanFileError(f"{where}.expires_on: write the day as 2027-06-30.") from None


def _preference(top: Row) -> Preference:
    text = top.get("preference", Preference.WASTE.value)
    if text not in [preference.value for preference in Preference]:
        raise PlanFileError('preference: write "waste" or "cost".')
    return Preference(text)

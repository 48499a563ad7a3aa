"""
Running totals of a session, and the balance of one syringe or vial.

A unit's **content** is what it held when opened; **drawn** is what points took from it, **wasted**
what was thrown away, **remaining** the rest: content = drawn + wasted + remaining, always. Amounts
are integers, microlitres or centiunits by the product's measure. Volumes and doses are never added,
nor doses of two products: units of activity belong to one product.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace

from planning.vocabulary import Measure, Side


class AmountsDoNotAddError(ValueError):
    """Two amounts that have no sum: a volume and a dose, or doses of two products."""


class OverdrawnError(ValueError):
    """
    More was taken from a unit of stock than it holds. `missing` is by how much, in the base unit.
    """

    def __init__(self, missing: int) -> None:
        super().__init__("More is taken from this unit of stock than it holds.")
        self.missing = missing


@dataclass(frozen=True, slots=True)
class UnitBalance:
    """Content, drawn and wasted of one unit of stock; one that does not balance cannot be made."""

    content: int
    drawn: int = 0
    wasted: int = 0

    def __post_init__(self) -> None:
        if self.content <= 0 or self.drawn < 0 or self.wasted < 0:
            raise ValueError("Content must be above 0, drawn and wasted not below 0.")
        if self.remaining < 0:
            raise OverdrawnError(-self.remaining)

    @property
    def remaining(self) -> int:
        return self.content - self.drawn - self.wasted


def balance(content: int, draws: Iterable[int], wastes: Iterable[int]) -> UnitBalance:
    """
    The balance of one unit after these draws and wastes, each above 0.

    Raises:
        OverdrawnError: together they exceed the content.
        ValueError: an amount not above 0.
    """
    draws, wastes = tuple(draws), tuple(wastes)
    if any(amount <= 0 for amount in (*draws, *wastes)):
        raise ValueError("Each draw and each waste must be above 0.")
    return UnitBalance(content, sum(draws), sum(wastes))


@dataclass(frozen=True, slots=True)
class PointAmount:
    """What one point used. The keys are whatever the caller identifies its rows by."""

    product_key: Hashable
    product_label: str
    measure: Measure
    region: str
    region_label: str
    side: Side
    unit_key: Hashable
    amount: int

    def __post_init__(self) -> None:
        if self.amount <= 0:
            raise ValueError("The amount of a point must be above 0.")


@dataclass(frozen=True, slots=True)
class UnitTotal:
    """Drawn from one unit of stock by the points."""

    unit_key: Hashable
    product_key: Hashable
    product_label: str
    measure: Measure
    amount: int
    points: int


@dataclass(frozen=True, slots=True)
class ProductTotal:
    product_key: Hashable
    product_label: str
    measure: Measure
    amount: int
    points: int


@dataclass(frozen=True, slots=True)
class RegionTotal:
    """One product in one region, by the patient's own side."""

    region: str
    region_label: str
    product_key: Hashable
    product_label: str
    measure: Measure
    left: int = 0
    right: int = 0
    midline: int = 0

    @property
    def total(self) -> int:
        return self.left + self.right + self.midline

    @property
    def left_minus_right(self) -> int:
        """Above 0 if the left side got more."""
        return self.left - self.right


@dataclass(frozen=True, slots=True)
class Totals:
    """Rows in the order in which the points first name them."""

    per_unit: tuple[UnitTotal, ...]
    per_product: tuple[ProductTotal, ...]
    per_region_side: tuple[RegionTotal, ...]


def total_amount(points: Iterable[PointAmount]) -> int:
    """
    The sum of these points: volumes, or doses of one product. 0 for no points.

    Raises:
        AmountsDoNotAddError: volumes and doses mixed, or doses of two products.
    """
    points = tuple(points)
    if len({point.measure for point in points}) > 1:
        raise AmountsDoNotAddError("A volume and a dose cannot be added.")
    doses_of = {point.product_key for point in points if point.measure is Measure.DOSE}
    if len(doses_of) > 1:
        raise AmountsDoNotAddError(
            "Units of two products cannot be added: they are not interchangeable."
        )
    return sum(point.amount for point in points)


def summarise(points: Iterable[PointAmount]) -> Totals:
    """
    Totals per unit of stock, per product, and per region and side (one row per product in a
    region).

    Raises:
        AmountsDoNotAddError: one product with two measures, or one unit of stock with two products.
    """
    units: dict[Hashable, UnitTotal] = {}
    products: dict[Hashable, ProductTotal] = {}
    regions: dict[tuple[str, Hashable], RegionTotal] = {}
    for point in points:
        product = products.get(point.product_key) or ProductTotal(
            *_product_of(point), amount=0, points=0
        )
        unit = units.get(point.unit_key) or UnitTotal(
            point.unit_key, *_product_of(point), amount=0, points=0
        )
        if product.measure is not point.measure:
            raise AmountsDoNotAddError(
                f"{point.product_label} is given both as a volume and as a dose."
            )
        if unit.product_key != point.product_key:
            raise AmountsDoNotAddError(
                f"One unit of stock is given as {unit.product_label} and as {point.product_label}."
            )
        region = regions.get((point.region, point.product_key)) or RegionTotal(
            point.region, point.region_label, *_product_of(point)
        )
        products[point.product_key] = replace(
            product, amount=product.amount + point.amount, points=product.points + 1
        )
        units[point.unit_key] = replace(
            unit, amount=unit.amount + point.amount, points=unit.points + 1
        )
        regions[point.region, point.product_key] = _with_side(region, point)
    return Totals(tuple(units.values()), tuple(products.values()), tuple(regions.values()))


def _product_of(point: PointAmount) -> tuple[Hashable, str, Measure]:
    return point.product_key, point.product_label, point.measure


def _with_side(row: RegionTotal, point: PointAmount) -> RegionTotal:
    match point.side:
        case Side.LEFT:
            return replace(row, left=row.left + point.amount)
        case Side.RIGHT:
            return replace(row, right=row.right + point.amount)
        case Side.MIDLINE:
            return replace(row, midline=row.midline + point.amount)

"""Comparing what units of stock say of themselves with the points and the ledger."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from clinic.stock.enums import MovementKind
from clinic.stock.models import StockMovement, UnitOfStock
from records.sessions.models import InjectionEntry


@dataclass(frozen=True)
class UnitCheck:
    """
    One unit as compared. `fault` is one sentence about it, empty when it balances.

    Drawn is the sum of its standing points, wasted that of its rows in the ledger; that both
    together never exceed the content is a constraint of the table.
    """

    label: str
    fault: str


def unit_checks() -> Iterator[UnitCheck]:
    """Every unit, the oldest first, in constant memory."""
    units = UnitOfStock.objects.annotate(
        by_points=_sum(InjectionEntry.objects.standing()),
        by_ledger=_sum(StockMovement.objects.filter(kind=MovementKind.WASTED)),
    )
    for unit in units.order_by("id").iterator(chunk_size=2_000):
        yield UnitCheck(unit.label, _fault(unit))


def _sum(rows: QuerySet) -> Coalesce:
    """The amounts of those rows that belong to the unit."""
    own = rows.filter(unit=OuterRef("pk")).order_by().values("unit")
    return Coalesce(Subquery(own.annotate(sum=Sum("amount")).values("sum")), 0)


def _fault(unit) -> str:
    if unit.drawn != unit.by_points:
        return f"{unit.drawn} were drawn by its row, {unit.by_points} by its points"
    if unit.wasted != unit.by_ledger:
        return f"{unit.wasted} were wasted by its row, {unit.by_ledger} by the ledger"
    return ""

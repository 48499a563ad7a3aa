"""Comparing what units of stock say of themselves with the points and the ledger."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter

from django.db import transaction
from django.db.models import Sum

from clinic.places.models import Place
from clinic.stock.enums import UnitState
from clinic.stock.models import StockMovement, UnitOfStock
from planning.ledger import Entry, LedgerError, Movement, replay
from records.sessions.models import InjectionEntry

AT_A_TIME = 2_000


@dataclass(frozen=True)
class UnitCheck:
    """
    One unit as compared. `fault` is one sentence about it, empty when it balances.

    Drawn is the sum of its standing points. Drawn, wasted, content, state and place are what its
    rows in the ledger leave, replayed in their order; that drawn and wasted together never exceed
    the content is a constraint of the table.
    """

    label: str
    fault: str


def unit_checks() -> Iterator[UnitCheck]:
    """
    Every unit, the oldest first: one pass over units, points and ledger, in constant memory.

    The three are read side by side while the clinic works. Where they differ, the unit is looked at
    again behind its lock, so that what was written in between is no fault.
    """
    points, ledger = _Grouped(_drawn_by_points()), _Grouped(_ledger())
    for unit in UnitOfStock.objects.order_by("id").iterator(chunk_size=AT_A_TIME):
        fault = _fault(unit, points.of(unit.pk), ledger.of(unit.pk))
        yield UnitCheck(unit.label, _looked_at_again(unit.pk) if fault else "")


class _Grouped:
    """Rows that begin with a unit, in the order of units; never more than one unit's are held."""

    def __init__(self, rows: Iterable[tuple]) -> None:
        self._groups = groupby(rows, itemgetter(0))
        self._ahead = next(self._groups, None)

    def of(self, unit: int) -> list[tuple]:
        """The rows of this unit, which comes after those asked for before."""
        while self._ahead and self._ahead[0] < unit:
            self._ahead = next(self._groups, None)
        return list(self._ahead[1]) if self._ahead and self._ahead[0] == unit else []


def _drawn_by_points(**of) -> Iterator[tuple]:
    """(unit, amount) of standing points."""
    points = InjectionEntry.objects.standing().filter(**of).order_by("unit").values_list("unit")
    return points.annotate(Sum("amount")).iterator(chunk_size=AT_A_TIME)


def _ledger(**of) -> Iterator[tuple]:
    """(unit, kind, amount, place) of each movement, a unit's in their order."""
    rows = StockMovement.objects.filter(**of).order_by("unit", "id")
    columns = ("unit", "kind", "amount", "place")
    return rows.values_list(*columns).iterator(chunk_size=AT_A_TIME)


def _looked_at_again(pk: int) -> str:
    with transaction.atomic():
        unit = UnitOfStock.objects.select_for_update().get(pk=pk)
        return _fault(unit, list(_drawn_by_points(unit=pk)), list(_ledger(unit=pk)))


def _fault(unit: UnitOfStock, points: list[tuple], ledger: list[tuple]) -> str:
    by_points = points[0][1] if points else 0
    if unit.drawn != by_points:
        return f"{unit.drawn} were drawn by its row, {by_points} by its points"
    if not ledger:
        return "the ledger has no row of it"
    try:
        balance = replay(Entry(Movement(kind), amount, place) for _, kind, amount, place in ledger)
    except LedgerError as error:
        return f"its ledger cannot be: {str(error).rstrip('.')}"
    for name in ("content", "drawn", "wasted"):
        own, replayed = getattr(unit, name), getattr(balance, name)
        if own != replayed:
            verb = "is its content" if name == "content" else f"were {name}"
            return f"{own} {verb} by its row, {replayed} by the ledger"
    if unit.state != balance.state:
        own, replayed = (UnitState(state).label.lower() for state in (unit.state, balance.state))
        return f"it is {own} by its row, {replayed} by the ledger"
    if unit.place_id != balance.place:
        return f"it lies {_in(unit.place_id)} by its row, {_in(balance.place)} by the ledger"
    return ""


def _in(place) -> str:
    return f"in {Place.objects.get(pk=place)}" if place else "nowhere"

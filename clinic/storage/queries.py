"""What lies where."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet

from clinic.places.enums import PlaceKind
from clinic.places.models import Place
from clinic.stock.enums import UnitState
from clinic.stock.models import UnitOfStock
from clinic.stock.queries import ExpiryDays, LotRow, lot_rows


@dataclass(frozen=True)
class Row:
    """The units of one lot that lie in one place."""

    row: LotRow
    units: list[UnitOfStock]

    @property
    def is_warm(self) -> bool:
        return self.units[0].is_warm


_UNOPENED = Q(units__state=UnitState.IN_STOCK)
_OPENED = Q(
    units__state=UnitState.OPENED, units__content__gt=F("units__drawn") + F("units__wasted")
)


def places_with_counts() -> QuerySet[Place]:
    """
    Places in use first, by site; `unopened` and `opened` count the units with something left that
    lie there, `is_warm` says whether one of them belongs in a fridge and lies in none.
    """
    return Place.objects.annotate(
        unopened=Count("units", filter=_UNOPENED),
        opened=Count("units", filter=_OPENED),
        is_warm=Exists(units_lying_warm().filter(place=OuterRef("pk"))),
    ).order_by("-is_active", "site__name", "name")


def units_at(place: Place | None) -> QuerySet[UnitOfStock]:
    """What lies there, or was put nowhere: with something left, by product, first expired first."""
    return (
        UnitOfStock.objects.with_something_left()
        .filter(place=place)
        .select_related("lot__product", "place__site")
        .order_by("lot__product__name", "lot__product_id", "lot__expires_on", "lot_id", "id")
    )


def nowhere_counts() -> dict[str, int]:
    """How many `unopened` and `opened` units with something left nobody has put anywhere."""
    units = units_at(None).order_by()
    return units.aggregate(
        unopened=Count("id", filter=Q(state=UnitState.IN_STOCK)),
        opened=Count("id", filter=Q(state=UnitState.OPENED)),
    )


def by_lot(units: Iterable[UnitOfStock], days: ExpiryDays) -> list[Row]:
    """Units that stand in the order of their lots, one row for each lot, in two queries more."""
    groups = [list(group) for _, group in groupby(units, key=lambda unit: unit.lot_id)]
    rows = lot_rows([group[0].lot for group in groups], days)
    return [Row(row, group) for row, group in zip(rows, groups, strict=True)]


def units_lying_warm() -> QuerySet[UnitOfStock]:
    """In the house, known to lie outside a fridge although the product belongs in one."""
    units = UnitOfStock.objects.with_something_left()
    is_cold_chain = Q(lot__product__keep_highest_tenths__isnull=False)
    return units.filter(is_cold_chain, place__isnull=False).exclude(place__kind=PlaceKind.FRIDGE)

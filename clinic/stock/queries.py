"""Reads of the stock that have more than one caller, or span tables."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import accumulate
from typing import NamedTuple

from django.db.models import Count, Exists, OuterRef, Q, QuerySet, Sum

from clinic.places.enums import PlaceKind
from clinic.places.queries import place_names
from clinic.policy.models import ClinicPolicy
from clinic.products.models import Product
from clinic.stock.enums import MovementKind, StockFilter, UnitState
from clinic.stock.models import HAS_SOMETHING_LEFT, Lot, StockMovement, UnitOfStock
from clinic.stock.validators import MOST_AT_ONCE
from planning.lot_numbers import lookalikes


@dataclass(frozen=True)
class LotStock:
    """
    Units of one lot: received = on hand + opened + returned + written off + missing.

    `drawn` and `wasted` are amounts in the product's base unit, the others count units. `stopped`
    are those on hand, or opened with something left, that are in quarantine by their own number.
    """

    received: int = 0
    on_hand: int = 0
    opened: int = 0
    returned: int = 0
    written_off: int = 0
    missing: int = 0
    stopped: int = 0
    drawn: int = 0
    wasted: int = 0


@dataclass(frozen=True)
class ExpiryDays:
    """The clinic's two lead times: an expiry to `soon` is pointed out, one to `urgent` presses."""

    today: date
    soon: date
    urgent: date

    @property
    def expired(self) -> Q:
        """Lots past their last day of use."""
        return Q(expires_on__lt=self.today)

    @property
    def expiring_soon(self) -> Q:
        """Urgent ones among them."""
        return Q(expires_on__range=(self.today, self.soon))

    @property
    def expiring_urgently(self) -> Q:
        return Q(expires_on__range=(self.today, self.urgent))


class Share(NamedTuple):
    """How many units of a lot lie in a place; `is_warm` if it is no fridge, and they need one."""

    place: str
    units: int
    is_warm: bool


@dataclass(frozen=True)
class LotRow:
    """A lot as the stock page shows it; `shares` where its units lie, as far as somebody said."""

    lot: Lot
    stock: LotStock
    days: ExpiryDays
    shares: list[Share]

    @property
    def is_expired(self) -> bool:
        return self.lot.is_expired(self.days.today)

    @property
    def expires_soon(self) -> bool:
        return not self.is_expired and self.lot.expires_on <= self.days.soon

    @property
    def is_urgent(self) -> bool:
        return not self.is_expired and self.lot.expires_on <= self.days.urgent

    @property
    def days_left(self) -> int:
        """0 on the last day of use."""
        return (self.lot.expires_on - self.days.today).days

    @property
    def expiry_words(self) -> str:
        """ "Expires today", "Expires in 12 days"."""
        near = {0: "today", 1: "tomorrow"}
        return f"Expires {near.get(self.days_left, f'in {self.days_left} days')}"

    @property
    def is_warm(self) -> bool:
        return any(share.is_warm for share in self.shares)


@dataclass(frozen=True)
class LedgerRow:
    """
    A movement of one unit as its page shows it, in base units.

    Attributes:
        change: by how much it changed what is left for the clinic, with its sign; 0 if it did not.
        left: what is left after it.
    """

    movement: StockMovement
    change: int
    left: int


class Delivery(NamedTuple):
    """Units of one lot that were received together."""

    lot_id: int
    number: str
    product: str
    at: datetime
    quantity: int


def _in_state(state: UnitState) -> Count:
    return Count("id", filter=Q(state=state))


# In the order of LotStock's fields.
_TOTALS = {
    "received": Count("id"),
    "on_hand": _in_state(UnitState.IN_STOCK),
    "opened": _in_state(UnitState.OPENED),
    "returned": _in_state(UnitState.RETURNED),
    "written_off": _in_state(UnitState.WRITTEN_OFF),
    "missing": _in_state(UnitState.MISSING),
    # Before the sums: behind them "drawn" would be the sum and no longer the unit's own.
    "stopped": Count("id", filter=HAS_SOMETHING_LEFT & Q(quarantined_at__isnull=False)),
    "drawn": Sum("drawn", default=0),
    "wasted": Sum("wasted", default=0),
}


def lot_stock(lot: Lot) -> LotStock:
    """How the units of `lot` stand now, in one query."""
    return LotStock(**UnitOfStock.objects.filter(lot=lot).aggregate(**_TOTALS))


def stock_by_lot(lots: Iterable[Lot]) -> dict[int, LotStock]:
    """How the units of each lot stand now, by the lot's id, in one query for all."""
    units = UnitOfStock.objects.filter(lot__in=[lot.pk for lot in lots]).order_by()
    rows = units.values_list("lot_id").annotate(**_TOTALS)
    return {lot_id: LotStock(*totals) for lot_id, *totals in rows}


def expiry_days(policy: ClinicPolicy, today: date) -> ExpiryDays:
    return ExpiryDays(
        today=today,
        soon=today + timedelta(days=policy.expiry_warning_days),
        urgent=today + timedelta(days=policy.expiry_urgent_days),
    )


def lots_shown(text: str, show: StockFilter, days: ExpiryDays) -> QuerySet[Lot]:
    """
    Lots by product, first expired first.

    Args:
        text: words that are each part of the product's name, its maker or the lot number.
    """
    in_house = Q(Exists(UnitOfStock.objects.with_something_left().filter(lot=OuterRef("pk"))))
    conditions = {
        StockFilter.IN_HOUSE: in_house,
        StockFilter.SOON: in_house & days.expiring_soon,
        StockFilter.URGENT: in_house & days.expiring_urgently,
        StockFilter.EXPIRED: in_house & days.expired,
        StockFilter.QUARANTINED: in_house & _stopped(),
        StockFilter.ALL: Q(),
    }
    lots = Lot.objects.select_related("product").filter(conditions[show])
    for word in text.split():
        lots = lots.filter(
            Q(product__name__icontains=word)
            | Q(product__maker__icontains=word)
            | Q(number__icontains=word)
        )
    return lots.order_by("product__name", "product_id", "expires_on", "id")


def _stopped() -> Q:
    """Lots in quarantine, and lots with units that are in quarantine by their own number."""
    units = UnitOfStock.objects.with_something_left().filter(quarantined_at__isnull=False)
    return Q(quarantined_at__isnull=False) | Q(Exists(units.filter(lot=OuterRef("pk"))))


def lot_rows(lots: Iterable[Lot], days: ExpiryDays) -> list[LotRow]:
    """The lots with how they stand and where they lie, in three queries more."""
    lots = list(lots)
    stock, shares = stock_by_lot(lots), shares_by_lot(lots)
    return [
        LotRow(lot, stock.get(lot.pk, LotStock()), days, shares.get(lot.pk, [])) for lot in lots
    ]


def shares_by_lot(lots: Iterable[Lot]) -> dict[int, list[Share]]:
    """
    Where the units in the house lie, by the lot's id, those put nowhere left out; in two queries.
    """
    is_cold = {lot.pk: lot.product.is_cold_chain for lot in lots}
    names = place_names()
    units = UnitOfStock.objects.with_something_left().filter(lot__in=is_cold, place__isnull=False)
    rows = units.order_by().values_list("lot_id", "place_id", "place__kind").annotate(Count("id"))
    shares: dict[int, list[Share]] = {}
    for lot_id, place_id, kind, count in rows:
        is_warm = is_cold[lot_id] and kind != PlaceKind.FRIDGE
        shares.setdefault(lot_id, []).append(Share(names[place_id], count, is_warm))
    return {lot_id: sorted(given) for lot_id, given in shares.items()}


def pressing_lots(limit: int, days: ExpiryDays) -> list[LotRow]:
    """Lots with something left, the earliest expiry first, in four queries."""
    lots = lots_shown("", StockFilter.IN_HOUSE, days)
    return lot_rows(lots.order_by("expires_on", "id")[:limit], days)


def recent_deliveries(limit: int) -> list[Delivery]:
    """The last deliveries, newest first, at a cost that does not grow with the stock's past."""
    newest = UnitOfStock.objects.order_by("-id").values("id")[: limit * MOST_AT_ONCE]
    rows = (
        StockMovement.objects.filter(kind=MovementKind.RECEIVED, unit__in=newest)
        .order_by("-at", "-unit__lot_id")
        .values_list("unit__lot_id", "unit__lot__number", "unit__lot__product__name", "at")
        .annotate(quantity=Count("id"))
    )
    return [Delivery(*row) for row in rows[:limit]]


def stock_overview(days: ExpiryDays) -> dict[str, int]:
    """
    Units on hand, and opened with something left; lots with such units that expire soon, urgently,
    expired or are in quarantine, wholly or with some of their units.
    """
    units = UnitOfStock.objects.with_something_left().aggregate(
        on_hand=_in_state(UnitState.IN_STOCK), opened=_in_state(UnitState.OPENED)
    )
    lots = lots_shown("", StockFilter.IN_HOUSE, days).order_by()
    return units | lots.aggregate(
        soon=Count("id", filter=days.expiring_soon),
        urgent=Count("id", filter=days.expiring_urgently),
        expired=Count("id", filter=days.expired),
        quarantined=Count("id", filter=_stopped()),
    )


def ledger_rows(unit: UnitOfStock) -> list[LedgerRow]:
    """The movements of one unit in order of time, each with what it left: one query."""
    movements = unit.movements.select_related("by", "place__site").order_by("at", "id")
    changes = [row.amount * MovementKind(row.kind).sign for row in movements]
    rows = zip(movements, changes, accumulate(changes), strict=True)
    return [LedgerRow(movement, change, left) for movement, change, left in rows]


def lookalike_numbers(product: Product, number: str) -> list[str]:
    """Known lot numbers of this product that `number` could be a misreading of."""
    known = Lot.objects.filter(product=product).order_by("number")
    return lookalikes(number, known.values_list("number", flat=True))

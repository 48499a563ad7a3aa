"""What to order: use per week, delivery time and what is usable, product by product."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from django.db.models import Count, Q
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.products.models import Product
from clinic.stock.enums import MovementKind
from clinic.stock.models import StockMovement, UnitOfStock
from planning.reorder import DAYS_PER_WEEK, Reorder, ReorderError, reorder

NO_SUPPLIER = "No supplier noted"


@dataclass(frozen=True)
class ReorderRow:
    """
    One product.

    Attributes:
        opened: units opened in the weeks looked at, less those put back unopened.
        on_hand: unopened units that can still be opened: not expired, not in quarantine.
        advice: None where something is missing, which `problem` says.
    """

    product: Product
    opened: int
    on_hand: int
    advice: Reorder | None
    problem: str = ""

    @property
    def is_due(self) -> bool:
        return self.advice is not None and self.advice.is_due

    @property
    def packs(self) -> int:
        """Whole packs that hold the units to order."""
        return -(-self.advice.order // self.product.units_per_pack) if self.advice else 0

    @property
    def units_in_packs(self) -> int:
        """What the supplier is asked for: the units that these packs hold."""
        return self.packs * self.product.units_per_pack

    @property
    def order_words(self) -> str:
        """ "3 packs = 12 units", or without packs where each unit is one."""
        units = f"{self.units_in_packs:,} unit{'' if self.units_in_packs == 1 else 's'}"
        if self.product.units_per_pack == 1:
            return units
        return f"{self.packs:,} pack{'' if self.packs == 1 else 's'} = {units}"

    @property
    def lasts_days(self) -> int | None:
        """Whole days that what is on hand lasts at this use; None if nothing was used."""
        if self.advice is None or not self.opened:
            return None
        return int(self.on_hand * DAYS_PER_WEEK / self.advice.per_week)

    @property
    def supplier(self) -> str:
        return self.product.supplier or NO_SUPPLIER


def reorder_rows(policy: ClinicPolicy, now: datetime) -> list[ReorderRow]:
    """
    Every product in use, in three queries: first what to order now, soonest gone first; then what
    lacks something though it is used; then the others, by name.
    """
    opened, on_hand = _opened(now - timedelta(weeks=policy.reorder_weeks)), _usable(now)
    rows = [
        _row(product, opened.get(product.pk, 0), on_hand.get(product.pk, 0), policy)
        for product in Product.objects.filter(is_active=True)
    ]
    return sorted(rows, key=_urgency)


def due_rows(policy: ClinicPolicy, now: datetime) -> list[ReorderRow]:
    """What to order now."""
    return [row for row in reorder_rows(policy, now) if row.is_due]


def orders_by_supplier(rows: list[ReorderRow]) -> list[tuple[str, list[ReorderRow]]]:
    """The products to order, supplier by supplier."""
    in_order = sorted(
        (row for row in rows if row.is_due), key=lambda row: (row.supplier, row.product.name)
    )
    return [(name, list(group)) for name, group in groupby(in_order, key=lambda row: row.supplier)]


def _row(product: Product, opened: int, on_hand: int, policy: ClinicPolicy) -> ReorderRow:
    if product.lead_time_days is None:
        problem = "How many days the supplier takes is not noted."
        return ReorderRow(product, opened, on_hand, None, problem)
    try:
        advice = reorder(
            opened=opened, weeks=policy.reorder_weeks, lead_days=product.lead_time_days,
            spare_days=policy.reorder_spare_days, on_hand=on_hand,
        )  # fmt: skip
    except ReorderError as error:
        return ReorderRow(product, opened, on_hand, None, str(error))
    return ReorderRow(product, opened, on_hand, advice)


def _urgency(row: ReorderRow) -> tuple:
    if row.is_due:
        return 0, row.lasts_days, row.product.name
    lacks_something = row.advice is None and row.opened > 0
    return (1 if lacks_something else 2), 0, row.product.name


def _opened(since: datetime) -> dict[int, int]:
    """Units opened since then by product, less those that were put back unopened."""
    acts = StockMovement.objects.filter(
        kind__in=[MovementKind.OPENED, MovementKind.PUT_BACK], at__gte=since
    )
    rows = (
        acts.order_by()
        .values_list("unit__lot__product")
        .annotate(
            opened=Count("id", filter=Q(kind=MovementKind.OPENED)),
            put_back=Count("id", filter=Q(kind=MovementKind.PUT_BACK)),
        )
    )
    return {product_id: max(opened - put_back, 0) for product_id, opened, put_back in rows}


def _usable(now: datetime) -> dict[int, int]:
    """Unopened units by product that nothing keeps from being opened."""
    units = UnitOfStock.objects.in_stock().filter(
        quarantined_at__isnull=True,
        lot__quarantined_at__isnull=True,
        lot__expires_on__gte=timezone.localdate(now),
    )
    return dict(units.order_by().values_list("lot__product").annotate(Count("id")))

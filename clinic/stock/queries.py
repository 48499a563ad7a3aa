"""Reads of the stock that have more than one caller."""

from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from clinic.stock.enums import UnitState
from clinic.stock.models import Lot, UnitOfStock


@dataclass(frozen=True)
class LotStock:
    """
    Units of one lot: received = on hand + opened + returned + written off.

    `wasted` is an amount in the product's base unit, the others count units.
    """

    received: int
    on_hand: int
    opened: int
    returned: int
    written_off: int
    drawn: int
    wasted: int


def lot_stock(lot: Lot) -> LotStock:
    """How the units of `lot` stand now, in one query."""

    def in_state(state: UnitState) -> Count:
        return Count("id", filter=Q(state=state))

    return LotStock(
        **UnitOfStock.objects.filter(lot=lot).aggregate(
            received=Count("id"),
            on_hand=in_state(UnitState.IN_STOCK),
            opened=in_state(UnitState.OPENED),
            returned=in_state(UnitState.RETURNED),
            written_off=in_state(UnitState.WRITTEN_OFF),
            drawn=Sum("drawn", default=0),
            wasted=Sum("wasted", default=0),
        )
    )

"""Reads of what was received."""

from dataclasses import dataclass
from itertools import groupby

from clinic.database.parts import in_parts
from clinic.receiving.models import Receipt
from clinic.stock.models import Lot, UnitOfStock, unit_label


@dataclass(frozen=True)
class LotLabels:
    """Units of one lot that came together, in the order of their labels, which leave none out."""

    lot: Lot
    units: list[UnitOfStock]

    @property
    def span(self) -> str:
        """ "U000012 to U000017", or the label of a single unit."""
        first, last = self.units[0].label, self.units[-1].label
        return first if first == last else f"{first} to {last}"


def labels_of(receipt: Receipt) -> list[LotLabels]:
    """The units of one act, lot by lot as they came."""
    numbers = range(receipt.first_number, receipt.last_number + 1)
    units = [
        unit
        for part in in_parts([unit_label(number) for number in numbers])
        for unit in UnitOfStock.objects.filter(label__in=part).select_related("lot__product")
    ]
    units.sort(key=lambda unit: unit.number)
    return [LotLabels(lot, list(group)) for lot, group in groupby(units, lambda unit: unit.lot)]

"""What a quarantine reaches, and what holds a lot or a unit."""

from collections.abc import Iterable

from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from clinic.stock.models import Lot, UnitOfStock
from planning.code_ranges import Within, within


def lot_verdict(quarantine: Quarantine, number: str) -> Within:
    """Whether a lot of this number is meant; "unclear" where only a person can say."""
    return _verdict(number, quarantine.lot_first, quarantine.lot_last)


def serial_verdict(quarantine: Quarantine, serial: str) -> Within:
    """Whether a unit of this serial number is meant; unclear where nobody noted the number."""
    if quarantine.is_by_serial and not serial:
        return Within.UNCLEAR
    return _verdict(serial, quarantine.serial_first, quarantine.serial_last)


def _verdict(number: str, first: str, last: str) -> Within:
    if not first:
        return Within.INSIDE
    if first == last:
        return Within.INSIDE if number == first else Within.OUTSIDE
    return within(number, first, last)


def reaches_lot(quarantine: Quarantine, number: str) -> bool:
    """
    Whether it holds a lot of this number. One that cannot be compared with the ends is held too: a
    person looks at it and lifts, and until then nothing of it is injected.
    """
    return lot_verdict(quarantine, number) is not Within.OUTSIDE


def reaches_serial(quarantine: Quarantine, serial: str) -> bool:
    """As `reaches_lot`, for a unit of this serial number."""
    return serial_verdict(quarantine, serial) is not Within.OUTSIDE


def reaches_unit(quarantine: Quarantine, unit: UnitOfStock) -> bool:
    """Needs the unit's lot loaded."""
    return reaches_lot(quarantine, unit.lot.number) and reaches_serial(quarantine, unit.serial)


def standing_on(product: Product) -> list[Quarantine]:
    """The quarantines of a product that were not lifted, the oldest first."""
    return list(Quarantine.objects.standing().filter(product=product).order_by("id"))


def holding(lot: Lot, quarantines: Iterable[Quarantine]) -> Quarantine | None:
    """The first of `quarantines` that holds the whole lot."""
    return next((q for q in quarantines if not q.is_by_serial and reaches_lot(q, lot.number)), None)

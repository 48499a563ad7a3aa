"""What a quarantine reaches, and what holds a lot or a unit."""

from collections.abc import Iterable

from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from clinic.stock.models import Lot
from planning.code_ranges import Within, within


def reaches_lot(quarantine: Quarantine, number: str) -> bool:
    """
    Whether a lot of this number is meant. One that cannot be compared with the ends is held too: a
    person looks at it and lifts, and until then nothing of it is injected.
    """
    if not quarantine.lot_first:
        return True
    if quarantine.lot_first == quarantine.lot_last:
        return number == quarantine.lot_first
    return within(number, quarantine.lot_first, quarantine.lot_last) is not Within.OUTSIDE


def reaches_serial(quarantine: Quarantine, serial: str) -> bool:
    """Whether a unit of this serial number is meant; one whose number nobody noted may be."""
    if not quarantine.is_by_serial or not serial:
        return True
    if quarantine.serial_first == quarantine.serial_last:
        return serial == quarantine.serial_first
    return within(serial, quarantine.serial_first, quarantine.serial_last) is not Within.OUTSIDE


def standing_on(product: Product) -> list[Quarantine]:
    """The quarantines of a product that were not lifted, the oldest first."""
    return list(Quarantine.objects.standing().filter(product=product).order_by("id"))


def holding(lot: Lot, quarantines: Iterable[Quarantine]) -> Quarantine | None:
    """The first of `quarantines` that holds the whole lot."""
    return next((q for q in quarantines if not q.is_by_serial and reaches_lot(q, lot.number)), None)

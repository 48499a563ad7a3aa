"""
Which unit of stock a person means: by its label, "U000012" or "u12", or by the code on its box.

A code with a serial number means one unit. One without means any unit of its lot, which the caller
chooses among; a code that names no lot means nothing that could be told apart.
"""

import re
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from clinic.products.models import Product
from clinic.stock.errors import StockError
from clinic.stock.models import Lot, UnitOfStock
from planning.scan import Scan, read_scan

_LABEL = re.compile(r"U\s?0*([1-9][0-9]{0,8})", re.IGNORECASE | re.ASCII)


class NotNamed(StockError):
    """What was typed or scanned names no unit and no lot; the message says what to do."""


@dataclass(frozen=True)
class Named:
    """
    What a label or a code names.

    Attributes:
        unit: the very unit, where the label or the serial number tells it.
        lot, product: of the code, as far as the clinic knows them.
        scan: what the code says; None for a label.
    """

    unit: UnitOfStock | None = None
    lot: Lot | None = None
    product: Product | None = None
    scan: Scan | None = None

    @property
    def units(self) -> QuerySet[UnitOfStock]:
        """Those that can be meant: the very one, else the lot's without another serial number."""
        units = UnitOfStock.objects.with_lot().select_related("place__site").order_by("id")
        if self.unit:
            return units.filter(pk=self.unit.pk)
        if self.lot is None:
            return units.none()
        of_lot = units.filter(lot=self.lot)
        return of_lot.filter(serial="") if self.scan and self.scan.serial else of_lot


def named(text: str) -> Named:
    """
    What `text`, typed or from a scanner, names.

    Raises:
        NotNamed: it is neither a label nor a code that can be read, no unit has this label, or the
            code names no product or no lot.
    """
    if label := _LABEL.fullmatch(text.strip()):
        return _by_label(f"U{int(label[1]):06d}")
    scan = read_scan(text, today=timezone.localdate())
    if scan.error:
        raise NotNamed(scan.error)
    if not scan.gtin:
        raise NotNamed("This code names no product. Scan the other code on the box, or type the "
                       "unit's label, such as U000012.")  # fmt: skip
    product = Product.objects.filter(gtin=scan.gtin).first()
    if not scan.lot:
        what = product.name if product else f"the product with GTIN {scan.gtin}"
        raise NotNamed(f"This code names {what}, but no lot. Scan the other code on the box, or "
                       "type the unit's label, such as U000012.")  # fmt: skip
    lot = Lot.objects.select_related("product").filter(product=product, number=scan.lot).first()
    unit = _by_serial(lot, scan.serial) if lot and scan.serial else None
    return Named(unit=unit, lot=lot, product=product, scan=scan)


def _by_label(label: str) -> Named:
    unit = UnitOfStock.objects.with_lot().select_related("place__site").filter(label=label).first()
    if unit is None:
        raise NotNamed(f"No unit has the label {label}. Compare it with the box.")
    return Named(unit=unit, lot=unit.lot, product=unit.lot.product)


def _by_serial(lot: Lot, serial: str) -> UnitOfStock | None:
    units = UnitOfStock.objects.with_lot().select_related("place__site")
    return units.filter(lot=lot, serial=serial).first()

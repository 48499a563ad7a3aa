"""What the clinic knows of the pack in hand."""

from dataclasses import dataclass, field
from datetime import date

from clinic.products.models import Product
from clinic.stock.models import Lot
from clinic.stock.queries import lookalike_numbers
from planning.gtin import packed_item
from planning.scan import Scan


@dataclass(frozen=True)
class Pack:
    """
    A code beside what is stored.

    Attributes:
        product: the product of this number, in use or not.
        packed: the product that lies in the outer pack which was scanned.
        lot: the lot of this product and number, letter by letter.
        alike: lots of the product whose number is easily taken for this one.
        same_number: lots of any product with this number, where the code names no product.
    """

    scan: Scan
    product: Product | None = None
    packed: Product | None = None
    lot: Lot | None = None
    alike: list[Lot] = field(default_factory=list)
    same_number: list[Lot] = field(default_factory=list)

    @property
    def is_unknown(self) -> bool:
        """Whether the code names a product that is not in the list."""
        return bool(self.scan.gtin) and self.product is None

    @property
    def is_not_received(self) -> bool:
        """Whether the code names a lot of a known product, and none of it came in."""
        return bool(self.product and self.scan.lot) and self.lot is None

    @property
    def other_expiry(self) -> date | None:
        """The expiry that the lot was received with, if the code has another."""
        if self.lot and self.scan.expiry and self.lot.expires_on != self.scan.expiry:
            return self.lot.expires_on
        return None


def find_pack(scan: Scan) -> Pack:
    """What is stored of the product and lot that `scan` names."""
    if not scan.gtin:
        return Pack(scan, same_number=_lots(number=scan.lot) if scan.lot else [])
    product = Product.objects.filter(gtin=scan.gtin).first()
    if product is None:
        inside = packed_item(scan.gtin)
        packed = Product.objects.filter(gtin=inside).first() if inside else None
        return Pack(scan, packed=packed)
    if not scan.lot:
        return Pack(scan, product)
    lots = _lots(product=product, number=scan.lot)
    if lots:
        return Pack(scan, product, lot=lots[0])
    alike = _lots(product=product, number__in=lookalike_numbers(product, scan.lot))
    return Pack(scan, product, alike=alike)


def _lots(**conditions) -> list[Lot]:
    lots = Lot.objects.filter(**conditions).select_related("product")
    return list(lots.order_by("product__name", "number"))

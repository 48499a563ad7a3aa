"""Which lot is meant. A number is compared exactly; one that only looks alike is a question."""

from django.db.models import QuerySet

from clinic.stock.models import Lot
from planning.lot_numbers import lookalikes
from records.trace.errors import LotAmbiguous, LotNotFound


def lots_numbered(number: str) -> QuerySet[Lot]:
    """Every lot with exactly this number, whatever the product."""
    return Lot.objects.filter(number=number).select_related("product").order_by("product__name")


def lots_like(number: str) -> QuerySet[Lot]:
    """Lots whose number differs but is easily taken for this one: a question, never a merger."""
    known = Lot.objects.order_by("number").values_list("number", flat=True).distinct()
    return (
        Lot.objects.filter(number__in=lookalikes(number, known))
        .select_related("product")
        .order_by("number", "product__name")
    )


def find_lot(number: str, gtin: str = "") -> Lot:
    """
    The one lot with this number.

    Args:
        gtin: 14 digits, needed where two products share a number.

    Raises:
        LotNotFound: no such lot (of that GTIN); the message names numbers that look alike.
        LotAmbiguous: several products have it; the message names their GTINs.
    """
    lots = lots_numbered(number)
    if gtin:
        lots = lots.filter(product__gtin=gtin)
    found = list(lots)
    if not found:
        raise LotNotFound(_not_found(number, gtin))
    if len(found) > 1:
        products = "; ".join(f"{lot.product} (GTIN {lot.product.gtin or 'none'})" for lot in found)
        raise LotAmbiguous(
            f"Lot {number} exists for several products: {products}. Add the GTIN; where there is "
            "none yet, enter it with the product first."
        )
    return found[0]


def _not_found(number: str, gtin: str) -> str:
    message = f"No lot {number}{f' of GTIN {gtin}' if gtin else ''} is on record. "
    if alike := sorted({lot.number for lot in lots_like(number)}):
        return message + f"Easily taken for it: {', '.join(alike)}. Compare with the box."
    return message + "Compare the number with the box, letter by letter."

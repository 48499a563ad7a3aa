"""Taking units into the stock."""

from collections.abc import Sequence
from datetime import date

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.database.models import next_numbers
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.quarantine.queries import holding, reaches_lot, reaches_serial, standing_on
from clinic.stock.enums import MovementKind
from clinic.stock.errors import StockError
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from clinic.stock.validators import MOST_AT_ONCE
from planning.lot_numbers import LotNumberError, check_lot_number


def receive_lot(
    *,
    product: Product,
    number: str,
    expires_on: date,
    quantity: int,
    actor,
    place: Place | None = None,
    serials: Sequence[str] = (),
    found: str = "",
) -> list[UnitOfStock]:
    """
    Take `quantity` units of a lot into stock, each with a label of its own.

    An expired lot is received as well: it came, and the record holds what happened. The form asks
    first, and no unit of it can be opened.

    Args:
        place: where they are put.
        serials: serial numbers of the first units; the others have none.
        found: why units that nobody received are in the house, when a count found them.

    Raises:
        StockError: not a lot number or not a quantity from 1 to 500; more serial numbers than
            units, or one twice; the lot is known with another expiry date, or it or one of the
            units is in quarantine.
    """
    try:
        check_lot_number(number)
    except LotNumberError as error:
        raise StockError(str(error)) from error
    if not 1 <= quantity <= MOST_AT_ONCE:
        raise StockError(f"Receive 1 to {MOST_AT_ONCE} units at once, not {quantity}.")
    serials = [*serials, *[""] * (quantity - len(serials))]
    if len(serials) > quantity:
        raise StockError(f"{len(serials)} serial numbers for {quantity} units: compare the boxes.")
    with acting(actor) as trail:
        # A quarantine of the product comes wholly before this or wholly after.
        product = Product.objects.select_for_update(no_key=True).get(pk=product.pk)
        lot = _lot(product, number, expires_on, trail)
        _refuse_quarantined(lot, serials)
        _refuse_known(lot, serials)
        units = UnitOfStock.objects.bulk_create(
            UnitOfStock(
                label=f"U{label:06d}", lot=lot, content=product.content, serial=serial, place=place
            )
            for label, serial in zip(next_numbers("unit", quantity), serials, strict=True)
        )
        _note(units, place=place, found=found, actor=actor)
        told = {"quantity": quantity, "labels": [unit.label for unit in units]}
        if place:
            told["place"] = str(place)
        trail.add("lot.found" if found else "lot.received", lot, after=told, reason=found)
    return units


def _lot(product: Product, number: str, expires_on: date, trail: Trail) -> Lot:
    lot, is_new = Lot.objects.select_for_update().get_or_create(
        product=product, number=number, defaults={"expires_on": expires_on}
    )
    if lot.expires_on != expires_on:
        raise StockError(
            f"Lot {number} is known with the expiry {lot.expires_on:%d %b %Y}, not "
            f"{expires_on:%d %b %Y}. Compare with the box."
        )
    if is_new:
        trail.add("lot.added", lot, after=snapshot(lot, ["product", "number", "expires_on"]))
    return lot


def _refuse_quarantined(lot: Lot, serials: Sequence[str]) -> None:
    standing = standing_on(lot.product)
    if by := holding(lot, standing):
        raise StockError(f"Lot {lot.number} is in quarantine: {by.reason}")
    for by in standing:
        held = [serial for serial in serials if reaches_serial(by, serial)]
        if by.is_by_serial and reaches_lot(by, lot.number) and held:
            which = f"Serial number {held[0]}" if held[0] else "A unit without a serial number"
            raise StockError(f"{which} of lot {lot.number} is in quarantine: {by.reason}")


def _refuse_known(lot: Lot, serials: Sequence[str]) -> None:
    given = [serial for serial in serials if serial]
    twice = {serial for serial in given if given.count(serial) > 1}
    known = set(lot.units.filter(serial__in=given).values_list("serial", flat=True))
    if wrong := sorted(twice | known):
        raise StockError(
            f"Serial number {wrong[0]} of lot {lot.number} is in the books already. "
            "Was the same box scanned twice?"
        )


def _note(units: list[UnitOfStock], *, place: Place | None, found: str, actor) -> None:
    kind = MovementKind.FOUND if found else MovementKind.RECEIVED
    now = timezone.now()
    StockMovement.objects.bulk_create(
        StockMovement(
            unit=unit, kind=kind, amount=unit.content, place=place, reason=found, at=now, by=actor
        )
        for unit in units
    )

"""
Units that came, or were found, or were there before: all of one act in one transaction.

Whoever receives locks the products first, by number, as whoever stops them does: a quarantine comes
wholly before a delivery or wholly after it. Statements do not grow with the number of lines.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.database.models import next_numbers
from clinic.places.enums import PlaceKind
from clinic.places.models import Place
from clinic.products.models import Product
from clinic.quarantine.models import Quarantine
from clinic.quarantine.queries import holding, reaches_lot, reaches_serial
from clinic.quarantine.services import hold_found
from clinic.receiving.errors import LineRefused
from clinic.receiving.models import Receipt
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot, StockMovement, UnitOfStock, unit_label
from clinic.stock.validators import MOST_AT_ONCE
from planning.lot_numbers import LotNumberError, check_lot_number, check_serial_number


@dataclass(frozen=True)
class DeliveryLine:
    """
    Units of one lot that come together.

    Attributes:
        place: where they are put.
        serials: serial numbers in the order of the units; "" for one without. Those after the last
            have none.
        received_on: the day they came, if not today.
    """

    product: Product
    number: str
    expires_on: date
    quantity: int
    place: Place | None = None
    serials: Sequence[str] = ()
    received_on: date | None = None


def cold_advice(product: Product, place: Place | None) -> str:
    """What to do with a product of the cold chain put anywhere but into a fridge; "" if nothing."""
    if not product.kept_text or (place is not None and place.kind == PlaceKind.FRIDGE):
        return ""
    return f"Kept at {product.kept_text}: put it into a fridge."


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
    Take `quantity` units of one lot into stock; see `receive`.

    Raises:
        StockError: as `receive`.
    """
    line = DeliveryLine(product, number, expires_on, quantity, place, serials)
    return receive(lines=[line], actor=actor, found=found)[0]


def receive_once(
    *, key: str, lines: Sequence[DeliveryLine], actor, reason: str = ""
) -> tuple[Receipt, bool]:
    """
    As `receive`, but what comes again with the same key is not received again.

    Returns:
        The receipt, and whether the units were received now.

    Raises:
        LineRefused: as `receive`.
    """
    try:
        with acting(actor):
            if receipt := Receipt.objects.filter(key=key).first():
                return receipt, False
            units = receive(lines=lines, actor=actor, reason=reason)
            receipt = Receipt.objects.create(
                key=key,
                lines=len(lines),
                first_number=units[0][0].number,
                last_number=units[-1][-1].number,
                at=timezone.now(),
                by=actor,
            )
    except IntegrityError:
        # The same came twice at once; the second time the one that was quicker is there to be seen.
        if receipt := Receipt.objects.filter(key=key).first():
            return receipt, False
        raise
    return receipt, True


def receive(
    *, lines: Sequence[DeliveryLine], actor, found: str = "", reason: str = ""
) -> list[list[UnitOfStock]]:
    """
    Take the units of each line into stock, each unit with a label of its own: all lines or none.

    An expired lot is received as well: it came, and the record holds what happened. The form asks
    first, and no unit of it can be opened.

    Args:
        found: why units that nobody received are in the house, when a count found them.
        reason: what the ledger says beside the units, such as that a list brought them.

    Returns:
        The units of each line, in the order of the lines.

    Raises:
        LineRefused: no lot number or serial number, or not a quantity from 1 to 500; more serial
            numbers than units, or one twice; the lot is known with another expiry date; or it or
            one of the units is in quarantine, unless a count found them.
    """
    for index, line in enumerate(lines):
        _check(index, line)
    with acting(actor) as trail:
        _lock_products(lines)
        lots = _lots(lines, trail)
        if not found:
            _refuse_quarantined(lines, lots)
        _refuse_known(lines, lots)
        units = _add_units(lines, lots)
        _note(lines, units, found=found, reason=found or reason, actor=actor)
        for line, lot, given in zip(lines, lots, units, strict=True):
            told = {"quantity": line.quantity, "labels": [unit.label for unit in given]}
            if line.place:
                told["place"] = str(line.place)
            action = "lot.found" if found else "lot.received"
            trail.add(action, lot, after=told, reason=found or reason)
        if found:
            # It is there, whatever stops it; nothing of it can be opened.
            for product in {line.product.pk: line.product for line in lines}.values():
                hold_found(product=product, reason=found, trail=trail)
    return units


def _check(index: int, line: DeliveryLine) -> None:
    try:
        check_lot_number(line.number)
        for serial in filter(None, line.serials):
            check_serial_number(serial)
    except LotNumberError as error:
        raise LineRefused(index, str(error)) from error
    if not 1 <= line.quantity <= MOST_AT_ONCE:
        words = f"Receive 1 to {MOST_AT_ONCE} units at once, not {line.quantity}."
        raise LineRefused(index, words)
    if len(line.serials) > line.quantity:
        words = f"{len(line.serials)} serial numbers for {line.quantity} units: compare the boxes."
        raise LineRefused(index, words)


def _lock_products(lines: Sequence[DeliveryLine]) -> None:
    pks = {line.product.pk for line in lines}
    list(Product.objects.select_for_update(no_key=True).filter(pk__in=pks).order_by("pk"))


def _lots(lines: Sequence[DeliveryLine], trail: Trail) -> list[Lot]:
    """The lot of each line; one that is not known is added."""
    lots = _known_lots(lines)
    new: dict[tuple[int, str], Lot] = {}
    for index, line in enumerate(lines):
        key = line.product.pk, line.number
        fresh = Lot(product=line.product, number=line.number, expires_on=line.expires_on)
        lot = lots.get(key) or new.setdefault(key, fresh)
        if lot.expires_on != line.expires_on:
            raise LineRefused(
                index,
                f"Lot {lot.number} is known with the expiry {lot.expires_on:%d %b %Y}, not "
                f"{line.expires_on:%d %b %Y}. Compare with the box.",
            )
    for lot in Lot.objects.bulk_create(new.values()):
        trail.add("lot.added", lot, after=snapshot(lot, ["product", "number", "expires_on"]))
    lots |= new
    return [lots[line.product.pk, line.number] for line in lines]


def _known_lots(lines: Sequence[DeliveryLine]) -> dict[tuple[int, str], Lot]:
    known = Lot.objects.filter(
        product__in={line.product.pk for line in lines}, number__in={line.number for line in lines}
    )
    return {(lot.product_id, lot.number): lot for lot in known.select_related("product")}


def _refuse_quarantined(lines: Sequence[DeliveryLine], lots: Sequence[Lot]) -> None:
    standing: dict[int, list[Quarantine]] = defaultdict(list)
    products = {line.product.pk for line in lines}
    for quarantine in Quarantine.objects.standing().filter(product__in=products).order_by("id"):
        standing[quarantine.product_id].append(quarantine)
    for index, (line, lot) in enumerate(zip(lines, lots, strict=True)):
        if by := holding(lot, standing[line.product.pk]):
            raise LineRefused(index, f"Lot {lot.number} is in quarantine: {by.reason}")
        for by in standing[line.product.pk]:
            if not (by.is_by_serial and reaches_lot(by, lot.number)):
                continue
            held = [serial for serial in _serials(line) if reaches_serial(by, serial)]
            if held:
                which = f"Serial number {held[0]}" if held[0] else "A unit without a serial number"
                words = f"{which} of lot {lot.number} is in quarantine: {by.reason}"
                raise LineRefused(index, words)


def _serials(line: DeliveryLine) -> list[str]:
    """One for each unit, "" for those without."""
    return [*line.serials, *[""] * (line.quantity - len(line.serials))]


def _refuse_known(lines: Sequence[DeliveryLine], lots: Sequence[Lot]) -> None:
    given = {serial for line in lines for serial in line.serials if serial}
    units = UnitOfStock.objects.filter(lot__in={lot.pk for lot in lots}, serial__in=given)
    taken = set(units.values_list("lot_id", "serial")) if given else set()
    for index, (line, lot) in enumerate(zip(lines, lots, strict=True)):
        for serial in filter(None, line.serials):
            if (lot.pk, serial) in taken:
                raise LineRefused(
                    index,
                    f"Serial number {serial} of lot {lot.number} is in the books already. "
                    "Was the same box scanned twice?",
                )
            taken.add((lot.pk, serial))


def _add_units(lines: Sequence[DeliveryLine], lots: Sequence[Lot]) -> list[list[UnitOfStock]]:
    labels = iter(next_numbers("unit", sum(line.quantity for line in lines)))
    units = [
        [
            UnitOfStock(
                label=unit_label(next(labels)), lot=lot, content=line.product.content,
                serial=serial, place=line.place,
            )
            for serial in _serials(line)
        ]
        for line, lot in zip(lines, lots, strict=True)
    ]  # fmt: skip
    UnitOfStock.objects.bulk_create(unit for given in units for unit in given)
    return units


def _note(
    lines: Sequence[DeliveryLine],
    units: Sequence[Sequence[UnitOfStock]],
    *,
    found: str,
    reason: str,
    actor,
) -> None:
    kind = MovementKind.FOUND if found else MovementKind.RECEIVED

    def rows() -> Iterator[StockMovement]:
        now = timezone.now()
        for line, given in zip(lines, units, strict=True):
            at = _noon(line.received_on) if line.received_on else now
            for unit in given:
                yield StockMovement(
                    unit=unit, kind=kind, amount=unit.content, place=line.place, reason=reason,
                    at=at, by=actor,
                )  # fmt: skip

    StockMovement.objects.bulk_create(rows())


def _noon(day: date) -> datetime:
    """A day of which nobody knows the hour."""
    return timezone.make_aware(datetime.combine(day, time(12)))

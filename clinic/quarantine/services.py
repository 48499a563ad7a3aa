"""
Stopping and releasing lots and units.

Whoever stops and whoever receives lock the product's row first: a unit that arrives is there before
a quarantine of its range, or meets it. Whoever opens locks the unit and then its lot, so whoever
stops locks the units before the lots as well.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.database.parts import in_parts
from clinic.products.models import Product
from clinic.quarantine.errors import QuarantineError
from clinic.quarantine.models import Quarantine
from clinic.quarantine.queries import holding, reaches_unit, standing_on
from clinic.stock.models import Lot, UnitOfStock
from planning.code_ranges import RangeError, check_range
from planning.lot_numbers import LotNumberError, check_lot_number, check_serial_number

SPAN_FIELDS = ["product", "lot_first", "lot_last", "serial_first", "serial_last"]


def place_quarantine(*, quarantine: Quarantine, actor) -> Quarantine:
    """
    From now on nothing that it reaches can be opened, on any tablet.

    Args:
        quarantine: unsaved; product, span and reason are read.

    Raises:
        QuarantineError: no reason, or ends that are no numbers or make no range.
    """
    quarantine.reason = quarantine.reason.strip()
    if not quarantine.reason:
        raise QuarantineError("Say why: the reason is shown to whoever wants to open a unit.")
    check_span(quarantine)
    with acting(actor) as trail:
        _lock_product(quarantine.product_id)
        quarantine.placed_at, quarantine.placed_by = timezone.now(), actor
        quarantine.save()
        after = snapshot(quarantine, SPAN_FIELDS)
        trail.add("quarantine.placed", quarantine, after=after, reason=quarantine.reason)
        _hold_again(quarantine.product, trail, reason=quarantine.reason)
    return quarantine


def check_span(quarantine: Quarantine) -> None:
    """Raises QuarantineError unless its ends are numbers, both or none, that make a range."""
    ends = [
        (quarantine.lot_first, quarantine.lot_last, check_lot_number),
        (quarantine.serial_first, quarantine.serial_last, check_serial_number),
    ]
    try:
        for first, last, check in ends:
            if not first and not last:
                continue
            for number in filter(None, (first, last)):
                check(number)
            if first != last:
                check_range(first, last)
    except (LotNumberError, RangeError) as error:
        raise QuarantineError(str(error)) from error


def lift_quarantine(*, quarantine: Quarantine, reason: str, actor) -> None:
    """
    End a quarantine. What another one still holds stays held.

    Raises:
        QuarantineError: no reason, or it was lifted already.
    """
    if not reason.strip():
        raise QuarantineError("Say why it may be used again: the reason stays in the audit trail.")
    with acting(actor) as trail:
        _lock_product(quarantine.product_id)
        stored = Quarantine.objects.select_for_update(of=("self",)).get(pk=quarantine.pk)
        if stored.is_lifted:
            raise QuarantineError("This quarantine was lifted already.")
        stored.lifted_at, stored.lifted_by = timezone.now(), actor
        stored.lift_reason = reason.strip()
        stored.save(update_fields=["lifted_at", "lifted_by", "lift_reason"])
        trail.add("quarantine.lifted", stored, reason=stored.lift_reason)
        _hold_again(stored.product, trail, reason=stored.lift_reason)


def quarantine_lot(*, lot: Lot, reason: str, actor) -> Quarantine:
    """
    Stop one lot.

    Raises:
        QuarantineError: no reason, or it is in quarantine already.
    """
    with acting(actor):
        _lock_product(lot.product_id)
        if Lot.objects.get(pk=lot.pk).is_quarantined:
            raise QuarantineError(f"Lot {lot.number} is already in quarantine.")
        span = Quarantine(
            product=lot.product, lot_first=lot.number, lot_last=lot.number, reason=reason
        )
        placed = place_quarantine(quarantine=span, actor=actor)
    lot.refresh_from_db(fields=["quarantined_at", "quarantine_reason"])
    return placed


def release_lot(*, lot: Lot, reason: str, actor) -> None:
    """
    Lift the quarantines of this one lot.

    Raises:
        QuarantineError: no reason, it is not in quarantine, or a wider quarantine holds it.
    """
    with acting(actor):
        _lock_product(lot.product_id)
        own = [q for q in standing_on(lot.product) if _is_of_lot_alone(q, lot)]
        wider = holding(lot, [q for q in standing_on(lot.product) if q not in own])
        if wider:
            raise QuarantineError(
                f"Lot {lot.number} is held with others ({wider.span}). Lift that quarantine first."
            )
        if not own:
            raise QuarantineError(f"Lot {lot.number} is not in quarantine.")
        for quarantine in own:
            lift_quarantine(quarantine=quarantine, reason=reason, actor=actor)
    lot.refresh_from_db(fields=["quarantined_at", "quarantine_reason"])


def hold_found(*, product: Product, reason: str, trail: Trail) -> None:
    """
    Let the quarantines of a product reach what a count has found of it, as a part of that act. The
    caller has locked the product.
    """
    if standing_on(product):
        _hold_again(product, trail, reason=reason)


def _is_of_lot_alone(quarantine: Quarantine, lot: Lot) -> bool:
    span = (quarantine.lot_first, quarantine.lot_last)
    return not quarantine.is_by_serial and span == (lot.number, lot.number)


def _lock_product(pk: int) -> None:
    Product.objects.select_for_update(no_key=True).get(pk=pk)


def _hold_again(product: Product, trail: Trail, *, reason: str) -> None:
    """Write to every lot and unit of the product what holds it now."""
    standing = standing_on(product)
    by_serial = [q for q in standing if q.is_by_serial]
    units = _lock_units(product, all_of_them=bool(by_serial))
    lots = Lot.objects.select_for_update(no_key=True).filter(product=product).order_by("id")
    _write(Lot, [(lot, holding(lot, standing)) for lot in lots], trail, reason)
    held = [(unit, next((q for q in by_serial if reaches_unit(q, unit)), None)) for unit in units]
    _write(UnitOfStock, held, trail, reason)


def _lock_units(product: Product, *, all_of_them: bool) -> list[UnitOfStock]:
    """
    The units of the product with their lots, in the order in which everybody locks them.

    Args:
        all_of_them: those used up or gone as well. Otherwise the ones that can still be opened,
            whose openers must come wholly before this or wholly after, and those held so far.
    """
    units = UnitOfStock.objects.filter(lot__product=product)
    if not all_of_them:
        units = units.with_something_left() | units.filter(quarantined_at__isnull=False)
    locked = units.select_for_update(of=("self",), no_key=True)
    return list(locked.select_related("lot").order_by("id"))


def _write(
    model: type[Lot] | type[UnitOfStock],
    held: Sequence[tuple[Lot | UnitOfStock, Quarantine | None]],
    trail: Trail,
    reason: str,
) -> None:
    """Store what holds each of them, those alone with whom it changed, and note it."""
    noun = "lot" if model is Lot else "unit"
    changed: dict[tuple[datetime | None, str], list[int]] = defaultdict(list)
    for thing, by in held:
        wanted = (by.placed_at, by.reason) if by else (None, "")
        if (thing.quarantined_at, thing.quarantine_reason) != wanted:
            changed[wanted].append(thing.pk)
            action = f"{noun}.quarantined" if by else f"{noun}.released"
            trail.add(action, thing, reason=by.reason if by else reason)
    for (placed_at, why), pks in changed.items():
        for part in in_parts(pks):
            model._default_manager.filter(pk__in=part).update(
                quarantined_at=placed_at, quarantine_reason=why
            )

"""
Stopping and releasing lots and units.

Whoever stops and whoever receives lock the product's row first: a unit that arrives is there before
a quarantine of its range, or meets it. Whoever opens locks the unit and then its lot.
"""

from django.utils import timezone

from clinic.audit.services import acting, snapshot
from clinic.products.models import Product
from clinic.quarantine.errors import QuarantineError
from clinic.quarantine.models import Quarantine
from clinic.quarantine.queries import holding, reaches_lot, reaches_serial, standing_on
from clinic.stock.models import Lot, UnitOfStock

SPAN_FIELDS = ["product", "lot_first", "lot_last", "serial_first", "serial_last"]


def place_quarantine(*, quarantine: Quarantine, actor) -> Quarantine:
    """
    From now on nothing that it reaches can be opened, on any tablet.

    Args:
        quarantine: unsaved; product, span and reason are read.

    Raises:
        QuarantineError: no reason.
    """
    quarantine.reason = quarantine.reason.strip()
    if not quarantine.reason:
        raise QuarantineError("Say why: the reason is shown to whoever wants to open a unit.")
    with acting(actor) as trail:
        _lock_product(quarantine.product_id)
        quarantine.placed_at, quarantine.placed_by = timezone.now(), actor
        quarantine.save()
        after = snapshot(quarantine, SPAN_FIELDS)
        trail.add("quarantine.placed", quarantine, after=after, reason=quarantine.reason)
        _hold_again(quarantine.product, trail, reason=quarantine.reason)
    return quarantine


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


def _is_of_lot_alone(quarantine: Quarantine, lot: Lot) -> bool:
    span = (quarantine.lot_first, quarantine.lot_last)
    return not quarantine.is_by_serial and span == (lot.number, lot.number)


def _lock_product(pk: int) -> None:
    Product.objects.select_for_update(no_key=True).get(pk=pk)


def _hold_again(product: Product, trail, *, reason: str) -> None:
    """Write to every lot and unit of the product what holds it now."""
    standing = standing_on(product)
    for lot in Lot.objects.select_for_update(no_key=True).filter(product=product).order_by("id"):
        by = holding(lot, standing)
        if _set(lot, by):
            action = "lot.quarantined" if by else "lot.released"
            trail.add(action, lot, reason=by.reason if by else reason)
    by_serial = [q for q in standing if q.is_by_serial]
    units = UnitOfStock.objects.filter(lot__product=product)
    if by_serial:
        units = units.select_related("lot")
    else:
        units = units.filter(quarantined_at__isnull=False).select_related("lot")
    for unit in units.select_for_update(of=("self",)).order_by("id"):
        by = next((q for q in by_serial if _reaches_unit(q, unit)), None)
        if _set(unit, by):
            action = "unit.quarantined" if by else "unit.released"
            trail.add(action, unit, reason=by.reason if by else reason)


def _reaches_unit(quarantine: Quarantine, unit: UnitOfStock) -> bool:
    return reaches_lot(quarantine, unit.lot.number) and reaches_serial(quarantine, unit.serial)


def _set(thing: Lot | UnitOfStock, by: Quarantine | None) -> bool:
    """Whether what stands with the lot or unit had to be changed."""
    wanted = (by.placed_at, by.reason) if by else (None, "")
    if (thing.quarantined_at, thing.quarantine_reason) == wanted:
        return False
    thing.quarantined_at, thing.quarantine_reason = wanted
    thing.save(update_fields=["quarantined_at", "quarantine_reason"])
    return True

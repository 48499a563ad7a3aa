"""
Writes to lots and units. Each act is one transaction with its audit event.

`move_unit` is the one place that changes a unit's state; callers hold the unit's row lock.
"""

from datetime import date

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from clinic.database.models import next_numbers
from clinic.products.models import Product
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.errors import StockError, UnitNotAvailable
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from clinic.stock.validators import MOST_AT_ONCE
from planning.amounts import format_amount
from planning.lot_numbers import LotNumberError, check_lot_number

# The state a movement leaves the unit in, and the states it may start from.
_TRANSITIONS = {
    MovementKind.OPENED: (UnitState.OPENED, {UnitState.IN_STOCK}),
    MovementKind.PUT_BACK: (UnitState.IN_STOCK, {UnitState.OPENED}),
    MovementKind.WASTED: (UnitState.OPENED, {UnitState.OPENED}),
    MovementKind.KEPT: (UnitState.OPENED, {UnitState.OPENED}),
    MovementKind.RETURNED: (UnitState.RETURNED, {UnitState.IN_STOCK}),
    MovementKind.WRITTEN_OFF: (UnitState.WRITTEN_OFF, {UnitState.IN_STOCK}),
}


def receive_lot(
    *, product: Product, number: str, expires_on: date, quantity: int, actor
) -> list[UnitOfStock]:
    """
    Take `quantity` units of a lot into stock, each with a label of its own.

    An expired lot is received as well: it came, and the record holds what happened. The form asks
    first, and no unit of it can be opened.

    Raises:
        StockError: not a lot number or not a quantity from 1 to 500; the lot is known with another
            expiry date, or is in quarantine.
    """
    try:
        check_lot_number(number)
    except LotNumberError as error:
        raise StockError(str(error)) from error
    if not 1 <= quantity <= MOST_AT_ONCE:
        raise StockError(f"Receive 1 to {MOST_AT_ONCE} units at once, not {quantity}.")
    with acting(actor) as trail:
        lot, is_new = Lot.objects.select_for_update().get_or_create(
            product=product, number=number, defaults={"expires_on": expires_on}
        )
        if lot.expires_on != expires_on:
            raise StockError(
                f"Lot {number} is known with the expiry {lot.expires_on:%d %b %Y}, not "
                f"{expires_on:%d %b %Y}. Compare with the box."
            )
        if lot.is_quarantined:
            raise StockError(f"Lot {number} is in quarantine: {lot.quarantine_reason}")
        if is_new:
            trail.add("lot.added", lot, after=snapshot(lot, ["product", "number", "expires_on"]))
        units = UnitOfStock.objects.bulk_create(
            UnitOfStock(label=f"U{label:06d}", lot=lot, content=product.content)
            for label in next_numbers("unit", quantity)
        )
        now = timezone.now()
        StockMovement.objects.bulk_create(
            StockMovement(
                unit=unit, kind=MovementKind.RECEIVED, amount=unit.content, at=now, by=actor
            )
            for unit in units
        )
        labels = [unit.label for unit in units]
        trail.add("lot.received", lot, after={"quantity": quantity, "labels": labels})
    return units


def quarantine_lot(*, lot: Lot, reason: str, actor) -> None:
    """From now on no unit of the lot can be opened."""
    _set_quarantine(lot, at=timezone.now(), reason=reason, actor=actor, action="lot.quarantined")


def release_lot(*, lot: Lot, reason: str, actor) -> None:
    """End a quarantine; the reason stays in the audit trail."""
    _set_quarantine(lot, at=None, reason=reason, actor=actor, action="lot.released")


def _set_quarantine(lot: Lot, *, at, reason: str, actor, action: str) -> None:
    if not reason.strip():
        raise StockError("Say why: the reason is shown to whoever wants to open a unit.")
    with acting(actor) as trail:
        stored = Lot.objects.select_for_update().get(pk=lot.pk)
        if stored.is_quarantined == bool(at):
            state = "already" if at else "not"
            raise StockError(f"Lot {stored.number} is {state} in quarantine.")
        lot.quarantined_at, lot.quarantine_reason = at, reason.strip() if at else ""
        lot.save(update_fields=["quarantined_at", "quarantine_reason"])
        trail.add(action, lot, reason=reason.strip())


def take_out_of_stock(*, unit: UnitOfStock, kind: MovementKind, reason: str, actor) -> None:
    """
    Return an unopened unit to the supplier or write it off.

    Raises:
        StockError: no reason, or another kind of movement.
        UnitNotAvailable: the unit was opened or has left the stock.
    """
    if kind not in {MovementKind.RETURNED, MovementKind.WRITTEN_OFF}:
        raise StockError(f"{kind.label} does not take a unit out of stock.")
    if not reason.strip():
        raise StockError("Say why it leaves the stock.")
    with acting(actor) as trail:
        locked = lock_unit(unit.pk)
        move_unit(locked, kind, amount=locked.content, reason=reason, actor=actor)
        trail.add(f"unit.{kind}", locked, reason=reason)
    unit.state = locked.state


def discard_remainder(*, unit: UnitOfStock, reason: str, actor) -> int:
    """
    Throw away what is left in an opened unit, outside of a session: kept too long, or forgotten.

    A unit on the tray of an unsigned session is no exception. What went into the bin is gone
    whether or not the session is signed; there it shows as empty, and signing asks nothing more.

    Returns:
        What was thrown away, in base units.

    Raises:
        StockError: no reason, or nothing is left.
        UnitNotAvailable: the unit is unopened (then it is written off) or has left the stock.
    """
    if not reason.strip():
        raise StockError("Say why it is thrown away.")
    with acting(actor) as trail:
        locked = lock_unit(unit.pk)
        amount = locked.remaining
        if not amount:
            raise StockError(f"Nothing is left in unit {locked.label}.")
        waste(unit=locked, amount=amount, reason=reason.strip(), actor=actor, trail=trail)
    unit.wasted = locked.wasted
    return amount


def lock_unit(pk: int) -> UnitOfStock:
    """The unit with its lot and product, its row locked until the transaction ends."""
    return UnitOfStock.objects.select_for_update(of=("self",)).with_lot().get(pk=pk)


def move_unit(
    unit: UnitOfStock, kind: MovementKind, *, amount: int, actor, reason: str = ""
) -> StockMovement:
    """
    Write a row of the ledger and set the unit's state.

    Args:
        unit: from `lock_unit`, inside the caller's transaction.
        amount: in the unit's base units.

    Raises:
        UnitNotAvailable: the unit's state does not allow this movement.
        django.db.IntegrityError: the amount exceeds what remains.
    """
    state, allowed = _TRANSITIONS[kind]
    if unit.state not in allowed:
        raise UnitNotAvailable(
            f"Unit {unit.label} is {UnitState(unit.state).label.lower()}, so it cannot be "
            f"{kind.label.lower()}."
        )
    if unit.state != state:
        unit.state = state
        unit.save(update_fields=["state"])
    movement = StockMovement.objects.create(
        unit=unit, kind=kind, amount=amount, reason=reason, at=timezone.now(), by=actor
    )
    if kind == MovementKind.WASTED:
        unit.refresh_from_db(fields=["wasted"])
    return movement


def waste(*, unit: UnitOfStock, amount: int, reason: str, actor, trail: Trail) -> None:
    """Record waste from an opened, locked unit, as a part of the caller's act."""
    move_unit(unit, MovementKind.WASTED, amount=amount, reason=reason, actor=actor)
    shown = format_amount(amount, unit.measure)
    trail.add("unit.wasted", unit, after={"amount": shown}, reason=reason)

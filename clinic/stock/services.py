"""
Writes to units. Receiving them is `clinic.receiving`, stopping them `clinic.quarantine`.

Each act is one transaction with its audit event.

`move_unit` is the one place that changes a unit's state; callers hold the unit's row lock.
"""

from django.utils import timezone

from clinic.audit.services import Trail, acting
from clinic.places.models import Place
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.errors import StockError, UnitNotAvailable
from clinic.stock.models import StockMovement, UnitOfStock
from planning.amounts import format_amount

# The state a movement leaves the unit in, and the states it may start from.
_TRANSITIONS = {
    MovementKind.OPENED: (UnitState.OPENED, {UnitState.IN_STOCK}),
    MovementKind.PUT_BACK: (UnitState.IN_STOCK, {UnitState.OPENED}),
    MovementKind.WASTED: (UnitState.OPENED, {UnitState.OPENED}),
    MovementKind.KEPT: (UnitState.OPENED, {UnitState.OPENED}),
    MovementKind.RETURNED: (UnitState.RETURNED, {UnitState.IN_STOCK}),
    MovementKind.WRITTEN_OFF: (UnitState.WRITTEN_OFF, {UnitState.IN_STOCK}),
    MovementKind.MISSING: (UnitState.MISSING, {UnitState.IN_STOCK}),
    # What was missing, or had left by the books alone, and lies there after all.
    MovementKind.FOUND: (
        UnitState.IN_STOCK,
        {UnitState.MISSING, UnitState.RETURNED, UnitState.WRITTEN_OFF},
    ),
}


def take_out_of_stock(
    *, unit: UnitOfStock, kind: MovementKind, reason: str, actor, witness: str = ""
) -> StockMovement:
    """
    Return an unopened unit to the supplier or write it off.

    Args:
        witness: who saw it returned or destroyed, where somebody has to.

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
        movement = move_unit(
            locked, kind, amount=locked.content, reason=reason, witness=witness, actor=actor
        )
        trail.add(f"unit.{kind}", locked, after=_witnessed(witness), reason=reason)
    unit.state = locked.state
    return movement


def put_elsewhere(*, unit: UnitOfStock, place: Place, actor, reason: str = "") -> StockMovement:
    """
    Move a unit that is in the house to another room or site.

    Raises:
        StockError: it lies there already, or the place is no longer in use.
        UnitNotAvailable: it has left the stock.
    """
    if not place.is_active:
        raise StockError(f"{place} is no longer in use. Choose another place.")
    with acting(actor) as trail:
        locked = lock_unit(unit.pk)
        if locked.place_id == place.pk:
            raise StockError(f"Unit {locked.label} lies there already: {place}.")
        if locked.state not in {UnitState.IN_STOCK, UnitState.OPENED}:
            state = UnitState(locked.state).label.lower()
            raise UnitNotAvailable(f"Unit {locked.label} is {state}, so it cannot be moved.")
        before, locked.place = locked.place, place
        locked.save(update_fields=["place"])
        movement = _note(
            locked, MovementKind.MOVED, locked.remaining, reason=reason, place=place, actor=actor
        )
        trail.add(
            "unit.moved", locked, before={"place": before and str(before)},
            after={"place": str(place)}, reason=reason,
        )  # fmt: skip
    unit.place = locked.place
    return movement


def discard_remainder(*, unit: UnitOfStock, reason: str, actor, witness: str = "") -> StockMovement:
    """
    Throw away what is left in an opened unit, outside of a session: kept too long, or forgotten.

    A unit on the tray of an unsigned session is no exception. What went into the bin is gone
    whether or not the session is signed; there it shows as empty, and signing asks nothing more.

    Returns:
        The row of the ledger; its amount is what was thrown away, in base units.

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
        movement = waste(
            unit=locked, amount=amount, reason=reason.strip(), witness=witness, actor=actor,
            trail=trail,
        )  # fmt: skip
    unit.wasted = locked.wasted
    return movement


def lock_unit(pk: int) -> UnitOfStock:
    """
    The unit with its lot and product, its row locked until the transaction ends.

    `no_key`: a row that only names the unit, as a recall does, is not kept waiting.
    """
    locked = UnitOfStock.objects.select_for_update(of=("self",), no_key=True)
    return locked.with_lot().get(pk=pk)


def move_unit(
    unit: UnitOfStock,
    kind: MovementKind,
    *,
    amount: int,
    actor,
    reason: str = "",
    witness: str = "",
    place: Place | None = None,
) -> StockMovement:
    """
    Write a row of the ledger and set the unit's state.

    Args:
        unit: from `lock_unit`, inside the caller's transaction.
        amount: in the unit's base units.
        place: where it is put by it; None leaves it where it lies.

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
    if unit.state != state or place:
        unit.state, unit.place_id = state, place.pk if place else unit.place_id
        unit.save(update_fields=["state", "place"])
    movement = _note(unit, kind, amount, reason=reason, witness=witness, place=place, actor=actor)
    if kind == MovementKind.WASTED:
        unit.refresh_from_db(fields=["wasted"])
    return movement


def _note(unit: UnitOfStock, kind: MovementKind, amount: int, *, actor, **said) -> StockMovement:
    return StockMovement.objects.create(
        unit=unit, kind=kind, amount=amount, at=timezone.now(), by=actor, **said
    )


def waste(
    *, unit: UnitOfStock, amount: int, reason: str, actor, trail: Trail, witness: str = ""
) -> StockMovement:
    """Record waste from an opened, locked unit, as a part of the caller's act."""
    movement = move_unit(
        unit, MovementKind.WASTED, amount=amount, reason=reason, witness=witness, actor=actor
    )
    shown = {"amount": format_amount(amount, unit.measure)}
    trail.add("unit.wasted", unit, after=shown | _witnessed(witness), reason=reason)
    return movement


def _witnessed(witness: str) -> dict:
    return {"witness": witness} if witness else {}

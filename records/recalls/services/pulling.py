"""Setting units apart, and letting them go."""

from collections.abc import Iterable

from django.utils import timezone

from clinic.audit.services import acting
from clinic.places.models import Place
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import StockMovement
from clinic.stock.services import discard_remainder, put_elsewhere, take_out_of_stock
from planning.names import names_the_same
from records.recalls.errors import RecallError
from records.recalls.models import CaseUnit, RecallCase
from records.recalls.services.locking import lock_open, lock_real


def set_apart(
    *, case: RecallCase, units: Iterable[int], actor, place: Place | None = None
) -> list[CaseUnit]:
    """
    Tick units that were taken from their places; those ticked already stay as they are.

    Args:
        units: ids of `CaseUnit`.
        place: where they lie now; in a drill they are put back, so nothing is moved.
    """
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        rows = _lock(stored, units, pulled_at__isnull=True)
        for row in rows:
            before, row.not_found = row.not_found, ""
            row.pulled_at, row.pulled_by = timezone.now(), actor
            row.save(update_fields=["pulled_at", "pulled_by", "not_found"])
            trail.add(
                "recall.unit_apart", row.unit, before={"not_found": before},
                after={"case": stored.number},
            )  # fmt: skip
            if place is not None and not stored.is_drill and row.unit.place_id != place.pk:
                put_elsewhere(unit=row.unit, place=place, reason=str(stored), actor=actor)
    return rows


def note_not_found(*, case: RecallCase, unit: int, looked_in: str, actor) -> CaseUnit:
    """
    Write down that a unit was not there, and where it was looked for.

    Args:
        unit: id of a `CaseUnit`.

    Raises:
        RecallError: nothing was said, or it was set apart or has left the stock meanwhile.
    """
    if not looked_in.strip():
        raise RecallError("Say where it was looked for.")
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        rows = _lock(stored, [unit], pulled_at__isnull=True)
        if not rows:
            raise RecallError("The unit was set apart or has left the stock meanwhile.")
        [row] = rows
        row.not_found = looked_in.strip()
        row.save(update_fields=["not_found"])
        trail.add(
            "recall.unit_not_found", row.unit, after={"case": stored.number}, reason=row.not_found
        )
    return row


def let_go(
    *,
    case: RecallCase,
    units: Iterable[int],
    kind: MovementKind,
    witness: str,
    reason: str,
    actor,
) -> list[CaseUnit]:
    """
    Return units to the supplier or destroy them, before a witness: all of them or none.

    What is left in an opened unit can only be destroyed.

    Args:
        units: ids of `CaseUnit`, set apart before.
        kind: RETURNED or WRITTEN_OFF.

    Raises:
        OnlyADrill: nothing leaves the stock in a drill.
        RecallError: no witness besides the actor, nothing chosen, an opened unit to be returned, or
            one that was used or has left the stock meanwhile.
        StockError: as the stock's own services.
    """
    chosen = set(units)
    if not chosen:
        raise RecallError("Tick the units that leave.")
    if not witness.strip():
        raise RecallError("Name who saw it: units of a recall leave before a witness.")
    if names_the_same(witness, actor.full_name):
        raise RecallError(
            f"“{witness.strip()}” is you: name the second person who saw it, in full."
        )
    with acting(actor) as trail:
        stored = lock_real(case.pk, refusal="nothing leaves the stock.")
        rows = _lock(stored, chosen, pulled_at__isnull=False)
        if len(rows) != len(chosen):
            raise RecallError(
                "Some of these units were used or have left the stock meanwhile, so none was "
                "taken out. Look at the list again."
            )
        why = ": ".join(filter(None, [str(stored), reason.strip()]))
        said = {"reason": why, "witness": witness.strip()}
        for row in rows:
            row.movement = _take_out(row, kind, actor=actor, **said)
            row.save(update_fields=["movement"])
            trail.add("recall.unit_left", row.unit, after={"case": stored.number})
    return rows


def _lock(case: RecallCase, units: Iterable[int], **standing) -> list[CaseUnit]:
    """Those of the case's units that are still in the house and stand so, the rows locked."""
    return list(
        case.units.still_here()
        .filter(pk__in=units, **standing)
        .select_related("unit__lot__product")
        .select_for_update(of=("self",))
        .order_by("unit_id")
    )


def _take_out(row: CaseUnit, kind: MovementKind, **said) -> StockMovement:
    if row.unit.state == UnitState.IN_STOCK:
        return take_out_of_stock(unit=row.unit, kind=kind, **said)
    if kind is not MovementKind.WRITTEN_OFF:
        raise RecallError(
            f"Unit {row.unit.label} is opened: what is left in it is destroyed, not returned. "
            "Untick it, and destroy it by itself."
        )
    return discard_remainder(unit=row.unit, **said)

"""
Units of stock on the tray of a session.

Hard stops come before the needle: a unit that is expired, in quarantine, past its hours or another
patient's is refused with the reason. What was in fact done can still be written down: with a
`deviation`, the reason is stored and shown as a flag.
"""

from datetime import datetime, timedelta

from django.utils import timezone

from clinic.audit.services import acting
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.services import lock_unit, move_unit, waste
from planning.amounts import format_amount
from records.sessions.errors import NotOnTray, OpeningRefused, Overdrawn, SessionError, UnitGone
from records.sessions.models import Opening, SessionUnit, TreatmentSession
from records.sessions.queries.tray import reasons_against
from records.sessions.services.sittings import lock_unsigned


def put_on_tray(
    *,
    session: TreatmentSession,
    unit: UnitOfStock,
    actor,
    diluent_ul: int | None = None,
    diluent: str = "",
    deviation: str = "",
    confirmed_odd: str = "",
    opened_at: datetime | None = None,
) -> SessionUnit:
    """
    Open a unit for the session's patient, or take up one that is open already.

    A single-patient unit is bound to this patient. A shared vial carries diluent and hours of use.
    Putting the same unit on the tray again changes nothing.

    Args:
        diluent_ul, diluent: how much it is made up with, and with what; unknown for None and "".
        confirmed_odd: what was asked about the diluent and confirmed; empty where nothing was.
        opened_at: when the hand did it; None for now. Expiry and hours are judged by it.

    Raises:
        OpeningRefused: see `queries.tray.reasons_against`.
        UnitGone: the unit is empty or has left the stock.
    """
    with acting(actor) as trail:
        session = lock_unsigned(session.pk)
        unit = lock_unit(unit.pk)
        if already := session.tray.filter(unit=unit).first():
            return already
        # A quarantine of the lot comes wholly before this or wholly after.
        unit.lot = (
            Lot.objects.select_for_update(no_key=True, of=("self",))
            .select_related("product")
            .get(pk=unit.lot_id)
        )
        reasons = reasons_against(unit, session, opened_at)
        if reasons and not deviation.strip():
            raise OpeningRefused(" ".join(reasons))
        if unit.state == UnitState.MISSING:
            # It was used, so it was there: the books follow what happened.
            found = {"amount": unit.content, "reason": deviation.strip(), "actor": actor}
            move_unit(unit, MovementKind.FOUND, **found)
            trail.add("unit.found", unit, reason=deviation.strip())
        if unit.state == UnitState.IN_STOCK:
            _open(
                session, unit, actor, opened_at, diluent_ul=diluent_ul,
                diluent=diluent if diluent_ul else "",
                confirmed_odd=confirmed_odd if diluent_ul else "",
                deviation=deviation if reasons else "",
            )  # fmt: skip
        elif unit.state != UnitState.OPENED or unit.is_empty:
            raise UnitGone(f"Unit {unit.label} is empty or has left the stock.")
        row = SessionUnit.objects.create(
            session=session, unit=unit, deviation=deviation.strip() if reasons else ""
        )
        trail.add(
            "unit.on_tray",
            unit,
            patient_id=session.patient_id,
            after={"session": session.pk, "against": reasons},
            reason=row.deviation,
        )
    return row


def _open(
    session: TreatmentSession,
    unit: UnitOfStock,
    actor,
    opened_at: datetime | None,
    *,
    deviation: str,
    **made_up_with,
) -> None:
    product, moment = unit.lot.product, opened_at or timezone.now()
    hours = product.hours_after_opening
    Opening.objects.create(
        unit=unit,
        session=session,
        patient=session.patient if product.is_single_patient else None,
        opened_at=moment,
        opened_by=actor,
        use_before=moment + timedelta(hours=hours) if hours else None,
        deviation=deviation,
        **made_up_with,
    )
    move_unit(unit, MovementKind.OPENED, amount=unit.content, actor=actor, reason=deviation)


def take_off_tray(*, session: TreatmentSession, unit: UnitOfStock, actor) -> None:
    """
    Take back a unit chosen by mistake; one opened in this session returns to the stock unopened.

    Raises:
        SessionError: points or waste were recorded from it, so it was in fact used, or another
            session has the vial on its tray as well.
    """
    with acting(actor) as trail:
        session = lock_unsigned(session.pk)
        unit = lock_unit(unit.pk)
        opened_here = unit.opening.session_id == session.pk
        used_here = session.points.filter(unit=unit).exists()
        if used_here or (opened_here and unit.remaining < unit.content):
            raise SessionError(f"Unit {unit.label} was used, so it stays on the tray.")
        if opened_here and unit.trays.exclude(session=session).exists():
            raise SessionError(f"Unit {unit.label} is in use in another session, so it stays open.")
        session.tray.filter(unit=unit).delete()
        if opened_here:
            unit.opening.delete()
            move_unit(unit, MovementKind.PUT_BACK, amount=unit.content, actor=actor)
        trail.add(
            "unit.off_tray", unit, patient_id=session.patient_id, after={"session": session.pk}
        )


def record_waste(
    *,
    session: TreatmentSession,
    unit: UnitOfStock,
    amount: int,
    reason: str,
    actor,
) -> None:
    """
    Write down what was thrown away from a unit on the tray, such as the drop that primes a needle.

    Args:
        amount: in the unit's base units.

    Raises:
        Overdrawn: more than remains in the unit.
        SessionError: no reason, or the unit is not on the tray.
    """
    if not reason.strip():
        raise SessionError("Say why it was wasted.")
    with acting(actor) as trail:
        session = lock_unsigned(session.pk)
        if not session.tray.filter(unit=unit).exists():
            raise NotOnTray("That unit is not on the tray.")
        unit = lock_unit(unit.pk)
        if amount > unit.remaining:
            raise Overdrawn(
                f"{format_amount(unit.remaining, unit.measure)} remain in unit {unit.label}, so "
                f"{format_amount(amount, unit.measure)} cannot be wasted."
            )
        waste(unit=unit, amount=amount, reason=reason.strip(), actor=actor, trail=trail)

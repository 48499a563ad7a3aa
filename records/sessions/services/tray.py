"""
Units of stock on the tray of a session.

Hard stops come before the needle: a unit that is expired, in quarantine, past its hours or another
patient's is refused with the reason. What was in fact done can still be written down: with a
`deviation`, the reason is stored and shown as a flag.
"""

from datetime import timedelta

from django.utils import timezone

from clinic.audit.services import acting
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import UnitOfStock
from clinic.stock.services import lock_unit, move_unit
from records.sessions.errors import OpeningRefused, SessionError
from records.sessions.models import Opening, SessionUnit, TreatmentSession
from records.sessions.services.sittings import lock_unsigned


def reasons_against(unit: UnitOfStock, session: TreatmentSession) -> list[str]:
    """Why `unit` may not be used in `session`; empty when it may."""
    lot, product, day = unit.lot, unit.lot.product, timezone.localdate(session.started_at)
    reasons = []
    if lot.is_quarantined:
        reasons.append(f"Lot {lot.number} is in quarantine: {lot.quarantine_reason}")
    if lot.is_expired(day):
        reasons.append(f"Lot {lot.number} of {product} expired on {lot.expires_on:%d %b %Y}.")
    opening = Opening.objects.filter(unit=unit).first()
    if opening and opening.patient_id not in (None, session.patient_id):
        reasons.append(f"Unit {unit.label} was opened for another patient.")
    if opening and opening.use_before and session.started_at > opening.use_before:
        until = timezone.localtime(opening.use_before)
        reasons.append(f"Unit {unit.label} was to be used before {until:%d %b %Y %H:%M}.")
    return reasons


def put_on_tray(
    *,
    session: TreatmentSession,
    unit: UnitOfStock,
    actor,
    diluent_ul: int | None = None,
    deviation: str = "",
) -> SessionUnit:
    """
    Open a unit for the session's patient, or take up one that is open already.

    A single-patient unit is bound to this patient. A shared vial carries diluent and hours of use.
    Putting the same unit on the tray again changes nothing.

    Raises:
        OpeningRefused: see `reasons_against`; also when the unit is empty or has left the stock.
    """
    with acting(actor) as trail:
        session = lock_unsigned(session.pk)
        unit = lock_unit(unit.pk)
        if already := session.tray.filter(unit=unit).first():
            return already
        reasons = reasons_against(unit, session)
        if reasons and not deviation.strip():
            raise OpeningRefused(" ".join(reasons))
        if unit.state == UnitState.IN_STOCK:
            _open(session, unit, actor, diluent_ul, deviation if reasons else "")
        elif unit.state != UnitState.OPENED or unit.is_empty:
            raise OpeningRefused(f"Unit {unit.label} is empty or has left the stock.")
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


def _open(session: TreatmentSession, unit: UnitOfStock, actor, diluent_ul, deviation: str) -> None:
    product, now = unit.lot.product, timezone.now()
    hours = product.hours_after_opening
    Opening.objects.create(
        unit=unit,
        session=session,
        patient=session.patient if product.is_single_patient else None,
        opened_at=now,
        opened_by=actor,
        diluent_ul=diluent_ul,
        use_before=now + timedelta(hours=hours) if hours else None,
        deviation=deviation,
    )
    move_unit(unit, MovementKind.OPENED, amount=unit.content, actor=actor, reason=deviation)


def take_off_tray(*, session: TreatmentSession, unit: UnitOfStock, actor) -> None:
    """
    Take back a unit chosen by mistake; one opened in this session returns to the stock unopened.

    Raises:
        SessionError: points or waste were recorded from it, so it was in fact used.
    """
    with acting(actor) as trail:
        session = lock_unsigned(session.pk)
        unit = lock_unit(unit.pk)
        opened_here = unit.opening.session_id == session.pk
        used_here = session.points.filter(unit=unit).exists()
        if used_here or (opened_here and unit.remaining < unit.content):
            raise SessionError(f"Unit {unit.label} was used, so it stays on the tray.")
        session.tray.filter(unit=unit).delete()
        if opened_here:
            unit.opening.delete()
            move_unit(unit, MovementKind.PUT_BACK, amount=unit.content, actor=actor)
        trail.add(
            "unit.off_tray", unit, patient_id=session.patient_id, after={"session": session.pk}
        )

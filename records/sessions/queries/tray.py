"""Units of stock on a session's tray, and those that could be put there."""

from collections.abc import Iterable
from datetime import date, datetime

from django.db.models import F, Q, QuerySet, Sum
from django.utils import timezone

from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from planning.vocabulary import ProductKind
from records.sessions.enums import Remainder
from records.sessions.models import Opening, SessionUnit, TreatmentSession


def session_tray(session: TreatmentSession) -> QuerySet[SessionUnit]:
    """The tray in the order in which units were put on it: one query."""
    return trays_of([session])


def trays_of(sessions: Iterable[TreatmentSession]) -> QuerySet[SessionUnit]:
    """What lies on all their trays, as in `session_tray`: one query."""
    rows = SessionUnit.objects.filter(session__in=sessions)
    return rows.select_related("unit__lot__product", "unit__opening__opened_by").order_by("id")


def wasted_under_way(session: TreatmentSession, tray: Iterable[SessionUnit]) -> dict[int, int]:
    """
    What was thrown away from the units of the tray while the session was under way, by the unit's
    id, in base units: without what signing threw away as left over.

    The ledger names no session. What went from a shared vial meanwhile counts for each session that
    has it on its tray.
    """
    rows = StockMovement.objects.filter(
        kind=MovementKind.WASTED,
        unit__in=[row.unit_id for row in tray],
        at__gte=session.started_at,
        at__lte=session.signed_at or timezone.now(),
    )
    wasted = dict(rows.order_by().values_list("unit_id").annotate(Sum("amount")))
    for row in tray:
        if row.remainder == Remainder.WASTED:
            wasted[row.unit_id] = wasted.get(row.unit_id, 0) - row.remainder_amount
    return wasted


def asks_diluent(unit: UnitOfStock) -> bool:
    """A toxin about to be opened: how much of it is in a drop depends on the diluent."""
    is_toxin = unit.lot.product.kind == ProductKind.TOXIN
    return is_toxin and unit.state == UnitState.IN_STOCK


def reasons_against(
    unit: UnitOfStock, session: TreatmentSession, moment: datetime | None = None
) -> list[str]:
    """
    Why `unit` may not be used in `session`; empty when it may. A session under way is judged by the
    clock, one that is written down later by the time of its treatment, unless `moment` is known.
    """
    moment = moment or (session.started_at if session.late_reason else timezone.now())
    opening = getattr(unit, "opening", None)
    reasons = unit_against(unit, timezone.localdate(moment))
    if unit.state == UnitState.MISSING:
        reasons.append(f"Unit {unit.label} was missing at the last stock count.")
    if opening and opening.patient_id not in (None, session.patient_id):
        reasons.append(f"Unit {unit.label} was opened for another patient.")
    return [*reasons, *(hours_against(unit, opening, moment) if opening else [])]


def hours_against(unit: UnitOfStock, opening: Opening, moment: datetime) -> list[str]:
    """Whether its hours after opening had passed at `moment`; empty when not."""
    if opening.use_before is None or moment <= opening.use_before:
        return []
    until = timezone.localtime(opening.use_before)
    return [f"Unit {unit.label} was to be used before {until:%d %b %Y %H:%M}."]


def lot_against(lot: Lot, day: date) -> list[str]:
    """Why nothing of a lot may be opened on `day`; empty when it may."""
    reasons = []
    if lot.is_quarantined:
        reasons.append(f"Lot {lot.number} is in quarantine: {lot.quarantine_reason}")
    if lot.is_expired(day):
        expired = f"{lot.expires_on:%d %b %Y}"
        reasons.append(f"Lot {lot.number} of {lot.product} expired on {expired}.")
    return reasons


def unit_against(unit: UnitOfStock, day: date) -> list[str]:
    """Why this unit may not be opened on `day`, its lot's reasons first; empty when it may."""
    reasons = lot_against(unit.lot, day)
    if unit.quarantined_at is not None:
        reasons.append(f"Unit {unit.label} is in quarantine: {unit.quarantine_reason}")
    return reasons


def opened_units(patients: Iterable[int]) -> QuerySet[UnitOfStock]:
    """Open units with something left: kept for one of the patients, or vials the clinic shares."""
    return (
        UnitOfStock.objects.opened()
        .filter(Q(opening__patient__in=list(patients)) | Q(opening__patient__isnull=True))
        .filter(opening__isnull=False, content__gt=F("drawn") + F("wasted"))
        .select_related("lot__product", "opening__opened_by")
        .first_expired_first()
    )


def sealed_units() -> QuerySet[UnitOfStock]:
    """
    Unopened units of products in use, by product, first expired first. Those of expired and
    quarantined lots are among them, so that nobody wonders where the box in their hand has gone.
    Hundreds share few lots, which are therefore read once each: three queries.
    """
    return (
        UnitOfStock.objects.in_stock()
        .filter(lot__product__is_active=True)
        .prefetch_related("lot__product")
        .order_by("lot__product__name", "lot__expires_on", "lot_id", "id")
    )

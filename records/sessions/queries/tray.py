"""Units of stock on a session's tray, and those that could be put there."""

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, F, Min, Q, QuerySet
from django.utils import timezone

from clinic.stock.enums import UnitState
from clinic.stock.models import Lot, Product, UnitOfStock
from planning.vocabulary import Measure, ProductKind
from records.sessions.models import SessionUnit, TreatmentSession


def session_tray(session: TreatmentSession) -> QuerySet[SessionUnit]:
    """The tray in the order in which units were put on it: one query."""
    return session.tray.select_related("unit__lot__product", "unit__opening").order_by("id")


@dataclass(frozen=True)
class Candidate:
    """
    A unit that could be put on the tray. `against` says why the clinic refuses it, if it does;
    `alike` counts the sealed units of the same lot.
    """

    unit: UnitOfStock
    against: tuple[str, ...]
    alike: int = 1

    @property
    def takes_diluent(self) -> bool:
        """What is counted in units mostly comes as a powder that is made up."""
        return self.unit.measure == Measure.DOSE and self.unit.state == UnitState.IN_STOCK

    @property
    def asks_diluent(self) -> bool:
        return asks_diluent(self.unit)


@dataclass(frozen=True)
class Shelf:
    """The candidates of one product, first expired first."""

    product: Product
    candidates: tuple[Candidate, ...]


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
    reasons = lot_against(unit.lot, timezone.localdate(moment))
    if opening and opening.patient_id not in (None, session.patient_id):
        reasons.append(f"Unit {unit.label} was opened for another patient.")
    if opening and opening.use_before and moment > opening.use_before:
        until = timezone.localtime(opening.use_before)
        reasons.append(f"Unit {unit.label} was to be used before {until:%d %b %Y %H:%M}.")
    return reasons


def lot_against(lot: Lot, day: date) -> list[str]:
    """Why nothing of a lot may be opened on `day`; empty when it may."""
    reasons = []
    if lot.is_quarantined:
        reasons.append(f"Lot {lot.number} is in quarantine: {lot.quarantine_reason}")
    if lot.is_expired(day):
        expired = f"{lot.expires_on:%d %b %Y}"
        reasons.append(f"Lot {lot.number} of {lot.product} expired on {expired}.")
    return reasons


def opened_candidates(session: TreatmentSession) -> list[Candidate]:
    """Open units with something left: kept for this patient, or vials the clinic shares."""
    units = (
        UnitOfStock.objects.opened()
        .filter(Q(opening__patient=session.patient_id) | Q(opening__patient__isnull=True))
        .filter(content__gt=F("drawn") + F("wasted"))
        .exclude(trays__session=session)
        .select_related("lot__product", "opening")
        .first_expired_first()
    )
    return [Candidate(unit, tuple(reasons_against(unit, session))) for unit in units]


def sealed_shelves(session: TreatmentSession) -> list[Shelf]:
    """
    One unopened unit of each lot, by product. Expired and quarantined lots are listed with their
    reason, so that nobody wonders where the box in their hand has gone.
    """
    lots = (
        UnitOfStock.objects.in_stock()
        .filter(lot__product__is_active=True)
        .values_list("lot")
        .annotate(first=Min("id"), count=Count("id"))
    )
    alike = {first: count for _, first, count in lots}
    units = (
        UnitOfStock.objects.filter(pk__in=alike)
        .select_related("lot__product", "opening")
        .order_by("lot__product__name", "lot__expires_on", "id")
    )
    shelves: dict[int, list[Candidate]] = {}
    for unit in units:
        against = tuple(reasons_against(unit, session))
        shelves.setdefault(unit.lot.product_id, []).append(
            Candidate(unit, against, alike=alike[unit.pk])
        )
    return [
        Shelf(rows[0].unit.lot.product, tuple(sorted(rows, key=lambda row: bool(row.against))))
        for rows in shelves.values()
    ]


def unit_by_label(label: str) -> UnitOfStock | None:
    """The unit with the label a person typed, such as "u12" for U000012."""
    text = label.strip().upper()
    digits = text.removeprefix("U")
    if digits.isdecimal():
        text = f"U{int(digits):06d}"
    return UnitOfStock.objects.with_lot().filter(label=text).first()

"""Sessions as lists: the clinic's, a patient's, and the points of one unit of stock."""

from dataclasses import dataclass

from django.db.models import Count, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from clinic.stock.models import UnitOfStock
from planning.totals import ProductTotal
from records.appointments.models import start_of
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.points import session_totals

# A count per listed row. Joining and grouping would count the points of the whole clinic first.
_STANDING = Coalesce(
    Subquery(
        InjectionEntry.objects.standing()
        .filter(session=OuterRef("pk"))
        .order_by()
        .values("session")
        .annotate(count=Count("pk"))
        .values("count")
    ),
    0,
)


def unsigned_sessions() -> QuerySet[TreatmentSession]:
    """Those still to be signed, oldest first: they have waited longest."""
    return (
        TreatmentSession.objects.unsigned()
        .select_related("patient", "injector")
        .annotate(point_count=_STANDING)
        .order_by("started_at", "id")
    )


def to_sign(injector) -> QuerySet[TreatmentSession]:
    """An injector's own unsigned ones; today's without a point has only begun."""
    begun = Q(point_count=0, started_at__gte=start_of(timezone.localdate()))
    return unsigned_sessions().filter(~begun, injector=injector)


def signed_sessions() -> QuerySet[TreatmentSession]:
    """Signed ones, newest first."""
    return (
        TreatmentSession.objects.signed()
        .select_related("patient", "injector")
        .annotate(point_count=_STANDING)
        .order_by("-started_at", "-id")
    )


@dataclass(frozen=True)
class PastSession:
    """A session with what was given in it, per product."""

    session: TreatmentSession
    products: tuple[ProductTotal, ...]
    regions: tuple[str, ...]


def patient_sessions(patient: Patient) -> list[PastSession]:
    """Newest first, in two queries."""
    sessions = (
        patient.sessions.standing()
        .select_related("injector")
        .prefetch_related(
            Prefetch(
                "points",
                InjectionEntry.objects.standing()
                .select_related("unit__lot__product")
                .order_by("number"),
                to_attr="standing_points",
            )
        )
    )
    rows = []
    for session in sessions:
        totals = session_totals(session.standing_points)
        regions = tuple(dict.fromkeys(row.region_label for row in totals.per_region_side))
        rows.append(PastSession(session, totals.per_product, regions))
    return rows


def unit_points(unit: UnitOfStock) -> QuerySet[InjectionEntry]:
    """What was drawn from one unit, with patient and injector, in the order it was given."""
    return (
        InjectionEntry.objects.standing()
        .filter(unit=unit)
        .select_related("session__patient", "session__injector", "unit__lot__product")
        .order_by("session__started_at", "number")
    )

"""The standing points of a session, and what they add up to."""

from collections.abc import Iterable

from django.db.models import QuerySet

from planning.totals import PointAmount, Totals, summarise
from planning.vocabulary import Measure, Side
from records.sessions.models import InjectionEntry, TreatmentSession


def session_points(session: TreatmentSession) -> QuerySet[InjectionEntry]:
    """What was injected, by number, with unit, lot and product: one query."""
    return (
        session.points.standing()
        .select_related("unit__lot__product", "logged_by")
        .order_by("number")
    )  # fmt: skip


def point_amounts(points: Iterable[InjectionEntry]) -> list[PointAmount]:
    """The points as the totals take them; keys are database ids."""
    return [
        PointAmount(
            product_key=point.unit.lot.product_id,
            product_label=point.unit.lot.product.name,
            measure=Measure(point.measure),
            region=point.region,
            region_label=point.region_label,
            side=Side(point.side),
            unit_key=point.unit_id,
            amount=point.amount,
        )
        for point in points
    ]


def session_totals(points: Iterable[InjectionEntry]) -> Totals:
    """Totals per unit, per product, and per region and side."""
    return summarise(point_amounts(points))

"""Lots that may be meant as well: a question for a person, never an answer."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, Q

from clinic.stock.enums import UnitState
from clinic.stock.models import Lot, UnitOfStock
from planning.lot_numbers import lookalikes
from records.recalls.models import CaseSpan
from records.recalls.queries.extent import Extent


@dataclass(frozen=True)
class Question:
    """A lot that somebody has to compare with the notice; `units` of it were received."""

    lot: Lot
    why: str
    units: int
    on_hand: int


def questions(extent: Extent) -> list[Question]:
    """Lots outside the case that look like a named one, share its number or lie near its range."""
    known = list(Lot.objects.order_by("number").values_list("number", flat=True).distinct())
    named = [
        (reach.span, number, {number, *lookalikes(number, known)})
        for reach in extent.spans
        for number in sorted({reach.span.lot_first, reach.span.lot_last} - {""})
    ]
    reasons = {
        lot.pk: f"cannot be compared with “{reach.span.numbers}”; held until it is"
        for reach in extent.spans
        for lot in reach.unclear
    }
    near = set().union(*(alike for _, _, alike in named))
    for lot in Lot.objects.filter(number__in=near):
        for span, number, alike in named:
            if lot.number in alike and (why := _why(lot, number, span)):
                reasons.setdefault(lot.pk, why)
    return _asked(reasons, without=extent.lot_ids)


def _why(lot: Lot, number: str, span: CaseSpan) -> str:
    """Why the lot may be meant by the number; empty where it is that very lot."""
    is_other = lot.product_id != span.product_id
    if lot.number != number:
        return f"is easily taken for {number}" + (", another product" if is_other else "")
    return "has the same number, another product" if is_other else ""


def _asked(reasons: dict[int, str], *, without: Iterable[int]) -> list[Question]:
    asked = reasons.keys() - set(without)
    lots = Lot.objects.filter(pk__in=asked).select_related("product").order_by("number", "id")
    units = UnitOfStock.objects.filter(lot__in=asked).order_by().values_list("lot_id")
    counts = {
        pk: (received, on_hand)
        for pk, received, on_hand in units.annotate(
            received=Count("id"), on_hand=Count("id", filter=Q(state=UnitState.IN_STOCK))
        )
    }
    return [Question(lot, reasons[lot.pk], *counts.get(lot.pk, (0, 0))) for lot in lots]

"""What a patient got in each region, summed by the database: a row for each session and side."""

from datetime import date

from django.db.models import Sum
from django.utils import timezone

from clinic.products.models import Product
from planning.atlas.regions import Region
from planning.flags import FILLERS
from planning.region_plots import Given
from planning.vocabulary import Measure, Side
from records.patients.models import Patient
from records.sessions.models import InjectionEntry

_PLACE = ("session_id", "unit__lot__product_id", "region", "side")


def amounts_of(patient: Patient) -> list[Given]:
    """
    Every standing point of every session, summed, in three queries.

    Days and products are read apart: they would be the same in many rows, and turning them into
    what Python knows took longer than the sums.
    """
    rows = list(
        InjectionEntry.objects.standing()
        .filter(session__patient=patient)
        .order_by()
        .values(*_PLACE)
        .annotate(sum=Sum("amount"))
        .values_list(*_PLACE, "sum")
    )
    days = _days(patient)
    labels = {region.value: region.label for region in Region}
    kinds = {pk: _kind(product) for pk, product in _products(row[1] for row in rows).items()}
    return [
        Given(session, days[session], *kinds[product], region, labels[region], Side(side), total)
        for session, product, region, side, total in rows
    ]


def _days(patient: Patient) -> dict[int, date]:
    """When each session began, by the clinic's clock."""
    begun = patient.sessions.order_by().values_list("pk", "started_at")
    return {pk: timezone.localdate(at) for pk, at in begun}


def _products(ids) -> dict[int, Product]:
    return Product.objects.in_bulk(set(ids))


def _kind(product: Product) -> tuple[str, str, Measure]:
    """Which amounts have a sum with this product's: key, name and measure."""
    measure = Measure(product.measure)
    # Volumes of fillers have a sum; every other product stands for itself, whatever the pack.
    if product.kind in FILLERS:
        return "filler", "Fillers", measure
    return f"product {product.line_key}", product.line_name, measure

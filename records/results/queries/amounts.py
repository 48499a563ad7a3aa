"""What a patient got in each region, summed by the database: a row for each session and side."""

from django.db.models import Sum
from django.utils import timezone

from planning.atlas.regions import Region
from planning.region_plots import Given
from planning.vocabulary import Measure, ProductKind, Side
from records.patients.models import Patient
from records.sessions.models import InjectionEntry

# Volumes of fillers have a sum; every other product stands for itself.
_FILLERS = {ProductKind.HA_FILLER, ProductKind.OTHER_FILLER}
_COLUMNS = (
    "session_id", "session__started_at", "unit__lot__product_id", "unit__lot__product__name",
    "unit__lot__product__kind", "region", "side",
)  # fmt: skip


def amounts_of(patient: Patient) -> list[Given]:
    """Every standing point of every session, summed, in one query."""
    return [
        _given(*row)
        for row in InjectionEntry.objects.standing()
        .filter(session__patient=patient)
        .order_by()
        .values(*_COLUMNS)
        .annotate(sum=Sum("amount"))
        .values_list(*_COLUMNS, "sum")
    ]


def _given(session, started_at, product, name, kind, region, side, amount) -> Given:
    kind = ProductKind(kind)
    is_filler = kind in _FILLERS
    return Given(
        session=session,
        day=timezone.localdate(started_at),
        kind="filler" if is_filler else f"product {product}",
        kind_label="Fillers" if is_filler else name,
        measure=Measure(kind.measure),
        region=region,
        region_label=Region(region).label,
        side=Side(side),
        amount=amount,
    )

"""Hyaluronidase that was given in an occlusion log, by lot: for the lot trace and for recalls."""

from collections.abc import Iterable

from django.db.models import Q, QuerySet

from clinic.stock.models import Lot
from planning.occlusion import Entry
from planning.vocabulary import ProductKind
from records.occlusions.models import OcclusionEntry


def doses_of(lots: Iterable[int]) -> QuerySet[OcclusionEntry]:
    """
    Every dose of these lots, the oldest first; those of a log that was put aside too.

    Where no unit was named the lot is as somebody typed it in the hurry, and any lot of
    hyaluronidase with that number is meant.
    """
    lots = list(lots)
    typed = Lot.objects.filter(pk__in=lots, product__kind=ProductKind.HYALURONIDASE)
    return _doses().filter(
        Q(unit__lot__in=lots) | Q(unit__isnull=True, lot__in=typed.values("number"))
    )


def doses_of_patient(patient: int) -> QuerySet[OcclusionEntry]:
    """What the patient was given in logs, the oldest first."""
    return _doses().filter(occlusion__session__patient=patient)


def _doses() -> QuerySet[OcclusionEntry]:
    people = ("occlusion__session__patient", "by", "unit__lot__product")
    return (
        OcclusionEntry.objects.filter(what=Entry.DOSE).select_related(*people).order_by("at", "id")
    )

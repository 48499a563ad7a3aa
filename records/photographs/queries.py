"""Reads about a patient's photographs that more than one page needs."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from planning.standard_views import Shot, standard_series
from planning.vocabulary import ProductKind
from records.patients.models import Patient
from records.photographs.enums import Use
from records.photographs.models import ChosenSeries, Photograph, PhotographUse


@dataclass(frozen=True, slots=True)
class Series:
    """
    What is photographed before a treatment with one kind of product.

    Attributes:
        chosen: the clinic's own series; None where the usual one is in use.
    """

    kind: ProductKind
    shots: tuple[Shot, ...]
    chosen: ChosenSeries | None


def all_series() -> list[Series]:
    """Of every kind that is injected, in the order of the kinds."""
    chosen = {row.kind: row for row in ChosenSeries.objects.select_related("changed_by")}
    kinds = [kind for kind in ProductKind if kind is not ProductKind.ANAESTHETIC]
    return [_series(kind, chosen.get(kind)) for kind in kinds]


def series_of(kind: ProductKind) -> Series:
    return _series(kind, ChosenSeries.objects.filter(kind=kind).first())


def _series(kind: ProductKind, chosen: ChosenSeries | None) -> Series:
    if chosen is None:
        return Series(kind, standard_series(kind), None)
    return Series(kind, tuple(Shot.of(key) for key in chosen.shots), chosen)


def taken_on_day_of(patients: Iterable[int], moment: datetime) -> dict[int, set[Shot]]:
    """By patient, what stands from the clinic's day of `moment`: one query."""
    found: dict[int, set[Shot]] = {patient: set() for patient in patients}
    start = timezone.make_aware(datetime.combine(timezone.localdate(moment), time.min))
    end = start + timedelta(days=1)
    shown = Photograph.objects.standing().filter(patient__in=found)
    shown = shown.filter(taken_at__gte=start, taken_at__lt=end)
    for photograph in shown.only("patient", "view", "state"):
        found[photograph.patient_id].add(photograph.shot)
    return found


def with_uses(photographs: QuerySet[Photograph]) -> QuerySet[Photograph]:
    """Each with what stands of its agreements, in one statement."""
    standing = PhotographUse.objects.standing()
    return photographs.prefetch_related(Prefetch("uses", standing, to_attr="standing_uses"))


def latest_of_each(patient: Patient, shots: Sequence[Shot]) -> dict[Shot, Photograph]:
    """The latest photograph of each of these, to lay the next one over."""
    found: dict[Shot, Photograph] = {}
    for photograph in patient.photographs.standing().latest_first():
        found.setdefault(photograph.shot, photograph)
    return {shot: found[shot] for shot in shots if shot in found}


def usable(use: Use) -> QuerySet[Photograph]:
    """What may be used so today, with what the patient agreed to."""
    on = timezone.localdate()
    photographs = Photograph.objects.usable_for(use, on=on).latest_first()
    return with_uses(photographs.select_related("patient"))

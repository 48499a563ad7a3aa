"""Patients as tablets know them, and what they were given last."""

from collections.abc import Iterable
from datetime import date

from django.db.models import OuterRef, QuerySet, Subquery
from django.urls import reverse

from planning.ages import age_years
from planning.vocabulary import Measure
from records.patients.enums import AlertLevel
from records.patients.models import Alert, Patient
from records.sessions.models import InjectionEntry, TreatmentSession


def patients_json(patients: Iterable[Patient], today: date) -> dict[int, dict]:
    """By number, with their current alerts, the loudest first: one query for all."""
    patients = list(patients)
    rank = {level.value: place for place, level in enumerate(AlertLevel)}
    alerts: dict[int, list[Alert]] = {patient.pk: [] for patient in patients}
    for alert in Alert.objects.current().filter(patient__in=alerts).order_by("id"):
        alerts[alert.patient_id].append(alert)
    return {
        patient.pk: {
            "pk": patient.pk,
            "name": patient.full_name,
            "birth_date": patient.birth_date,
            "age": age_years(patient.birth_date, max(today, patient.birth_date)),
            "record_number": patient.record_number,
            "alerts": [
                {"level": row.level, "label": row.get_level_display(), "text": row.text}
                for row in sorted(alerts[patient.pk], key=lambda row: rank[row.level])
            ],
            "url": reverse("patient-detail", args=[patient.pk]),
        }
        for patient in patients
    }


def last_sessions(patients: Iterable[int], *, besides: Iterable[int] = ()) -> dict[int, dict]:
    """
    By patient, the last signed session with points and what was given in it: two queries for all.

    Args:
        besides: sessions that are shown themselves.
    """
    sessions = {session.pk: session for session in _last(patients, besides)}
    points: dict[int, list[InjectionEntry]] = {pk: [] for pk in sessions}
    given = InjectionEntry.objects.standing().filter(session__in=points)
    for point in given.select_related("unit__lot__product").order_by("number"):
        points[point.session_id].append(point)
    return {
        session.patient_id: {
            "started_at": session.started_at,
            "url": reverse("session-detail", args=[session.pk]),
            "points": [_given(point) for point in points[session.pk]],
        }
        for session in sessions.values()
    }


def _last(patients: Iterable[int], besides: Iterable[int]) -> QuerySet[TreatmentSession]:
    of_patient = (
        TreatmentSession.objects.signed()
        .filter(patient=OuterRef("pk"), points__removed_at__isnull=True, points__isnull=False)
        .exclude(pk__in=list(besides))
        .order_by("-started_at", "-id")
    )
    rows = Patient.objects.filter(pk__in=set(patients)).annotate(
        last=Subquery(of_patient.values("pk")[:1])
    )
    return TreatmentSession.objects.filter(pk__in=rows.values("last")).order_by("pk")


def _given(point: InjectionEntry) -> dict:
    product = point.unit.lot.product
    names = (
        "number", "view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "region", "side",
        "plane", "technique", "amount",
    )  # fmt: skip
    return {name: getattr(point, name) for name in names} | {
        "kind": product.kind,
        "measure": Measure(product.measure),
        "product": product.name,
    }

"""Patients as tablets know them, and what they were given last."""

from collections.abc import Iterable
from datetime import date

from django.db.models import Exists, F, OuterRef, Subquery
from django.urls import reverse

from planning.ages import age_years
from planning.vocabulary import ProductKind
from records.patients.enums import AlertLevel
from records.patients.models import Alert, Patient
from records.sessions.models import InjectionEntry, TreatmentSession

_GIVEN = (
    "number", "view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "region", "side", "plane",
    "technique", "amount",
)  # fmt: skip


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


def last_of_patients(patients: Iterable[int]) -> dict[int, dict]:
    """By patient, the last signed session with points and what was given in it: three queries."""
    given = InjectionEntry.objects.standing().filter(session=OuterRef("pk"))
    signed = TreatmentSession.objects.signed().filter(Exists(given), patient=OuterRef("pk"))
    last = signed.order_by("-started_at", "-id").values("pk")[:1]
    rows = Patient.objects.filter(pk__in=list(patients)).order_by()
    return last_told(rows.values_list("pk", Subquery(last)))


def last_told(pairs: Iterable[tuple[int, int | None]]) -> dict[int, dict]:
    """What is told of the second of each pair, a session with points, by the first: two queries."""
    wanted = {key: last for key, last in pairs if last is not None}
    if not wanted:
        return {}
    sessions = TreatmentSession.objects.filter(pk__in=set(wanted.values())).order_by()
    started = dict(sessions.values_list("pk", "started_at"))
    points: dict[int, list[dict]] = {pk: [] for pk in started}
    given = InjectionEntry.objects.standing().filter(session__in=points).order_by("number")
    product = "unit__lot__product"
    for point in given.values(
        "session_id", *_GIVEN, kind=F(f"{product}__kind"), product=F(f"{product}__name")
    ):
        told = points[point.pop("session_id")]
        told.append(point | {"measure": ProductKind(point["kind"]).measure})
    return {
        key: {
            "started_at": started[last],
            "url": reverse("session-detail", args=[last]),
            "points": points[last],
        }
        for key, last in wanted.items()
    }

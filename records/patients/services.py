"""Writing the patient's record."""

from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.database.models import next_numbers
from planning.names import phone_tail, words
from records.patients.models import Alert, Patient, PatientWord

PATIENT_FIELDS = [
    "full_name", "known_as", "birth_date", "sex", "phone", "email", "address",
    "preferred_channel", "weight_g",
]  # fmt: skip


def save_patient(*, patient: Patient, actor) -> Patient:
    """Register a patient or change the record; the search words follow the name."""
    with acting(actor) as trail:
        is_new = patient.pk is None
        before = {}
        if is_new:
            patient.record_number = f"P{next_numbers('patient')[0]:06d}"
        else:
            stored = Patient.objects.select_for_update().get(pk=patient.pk)
            before = snapshot(stored, PATIENT_FIELDS)
        patient.phone_tail = phone_tail(patient.phone)
        patient.save()
        index_name(patient)
        before, after = changes(before, snapshot(patient, PATIENT_FIELDS))
        action = "patient.registered" if is_new else "patient.changed"
        trail.add(action, patient, patient_id=patient.pk, before=before, after=after)
    return patient


def search_words(patient: Patient) -> set[str]:
    """The folded words a patient is found by."""
    return {word[:100] for word in words(f"{patient.full_name} {patient.known_as}")}


def index_name(patient: Patient) -> None:
    """Rewrite the search words of one patient."""
    wanted = search_words(patient)
    patient.words.exclude(word__in=wanted).delete()
    PatientWord.objects.bulk_create(
        (PatientWord(patient=patient, word=word) for word in sorted(wanted)),
        ignore_conflicts=True,
    )


def add_alert(*, patient: Patient, kind: str, level: str, text: str, actor) -> Alert:
    """Add an allergy or another alert."""
    with acting(actor) as trail:
        alert = Alert.objects.create(
            patient=patient, kind=kind, level=level, text=text, added_by=actor
        )
        after = snapshot(alert, ["kind", "level", "text"])
        trail.add("alert.added", alert, patient_id=patient.pk, after=after)
    return alert


def end_alert(*, alert: Alert, reason: str, actor) -> None:
    """End an alert that no longer holds; it stays on record."""
    with acting(actor) as trail:
        stored = Alert.objects.select_for_update().get(pk=alert.pk)
        if stored.ended_at is None:
            stored.ended_at = timezone.now()
            stored.save(update_fields=["ended_at"])
            trail.add("alert.ended", stored, patient_id=stored.patient_id, reason=reason)

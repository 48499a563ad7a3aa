"""Writing the patient's record."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.database.models import next_numbers
from planning.names import phone_tail, words
from records.patients.enums import AlertKind, AlertLevel, Channel
from records.patients.errors import AllergyOnRecord, ReasonMissing
from records.patients.models import Alert, ContactConsent, Patient, PatientWord

PATIENT_FIELDS = [
    "full_name", "known_as", "birth_date", "sex", "phone", "email", "address",
    "preferred_channel", "agrees_to_email", "agrees_to_sms", "weight_g",
]  # fmt: skip

CONSENT_OF = {"agrees_to_email": Channel.EMAIL, "agrees_to_sms": Channel.SMS}
"""Which field says whether the patient may be written to by which channel."""


@dataclass(frozen=True)
class NewAlert:
    """An alert as it is typed with the registration."""

    kind: str
    level: str
    text: str


NO_KNOWN_ALLERGIES = NewAlert(
    AlertKind.NONE_KNOWN, AlertLevel.NOTE, str(AlertKind.NONE_KNOWN.label)
)


def register_patient(*, patient: Patient, alerts: Iterable[NewAlert], actor) -> Patient:
    """Register a patient together with what is asked at once; all or nothing."""
    with transaction.atomic():
        save_patient(patient=patient, actor=actor)
        for alert in alerts:
            add_alert(
                patient=patient, kind=alert.kind, level=alert.level, text=alert.text, actor=actor
            )
    return patient


def save_patient(*, patient: Patient, actor, fields: Sequence[str] = PATIENT_FIELDS) -> Patient:
    """
    Register a patient or change the record; the search words follow the name.

    Args:
        fields: what of a known patient is written; the rest stays as someone else may just have
            saved it.
    """
    with acting(actor) as trail:
        if patient.pk is None:
            patient.record_number = f"P{next_numbers('patient')[0]:06d}"
            before = {}
            patient.phone_tail = phone_tail(patient.phone)
            patient.save()
        else:
            stored = Patient.objects.select_for_update().get(pk=patient.pk)
            before = snapshot(stored, fields)
            for name in fields:
                setattr(stored, name, getattr(patient, name))
            stored.phone_tail = patient.phone_tail = phone_tail(stored.phone)
            stored.save(update_fields=[*fields, "phone_tail"])
            patient.refresh_from_db()
        index_name(patient)
        action = "patient.changed" if before else "patient.registered"
        before, after = changes(before, snapshot(patient, fields))
        if after:
            trail.add(action, patient, patient_id=patient.pk, before=before, after=after)
        _note_consents(patient, before, after, actor)
    return patient


def register_imported(
    *, entries: Sequence[tuple[Patient, str]], actor
) -> list[tuple[Patient, Alert | None]]:
    """
    Register many patients of a former record at once, each with what it warns of ("" for nothing).

    Nobody was asked whether they may be written to, and nobody denied an allergy: neither is noted.
    """
    with acting(actor) as trail:
        patients = [patient for patient, _ in entries]
        for patient, number in zip(patients, next_numbers("patient", len(patients)), strict=True):
            patient.record_number = f"P{number:06d}"
            patient.phone_tail = phone_tail(patient.phone)
        Patient.objects.bulk_create(patients)
        PatientWord.objects.bulk_create(
            PatientWord(patient=patient, word=word, name_key=key)
            for patient in patients
            for word, key in sorted(_index_rows(patient))
        )
        alerts = {
            patient.pk: Alert(
                patient=patient, kind=AlertKind.MEDICAL, level=AlertLevel.CAUTION,
                text=f"From the former record: {warning}", added_by=actor,
            )
            for patient, warning in entries
            if warning
        }  # fmt: skip
        Alert.objects.bulk_create(alerts.values())
        for patient in patients:
            _, after = changes({}, snapshot(patient, PATIENT_FIELDS))
            trail.add("patient.imported", patient, patient_id=patient.pk, after=after)
        for pk, alert in alerts.items():
            after = snapshot(alert, ["kind", "level", "text"])
            trail.add("alert.imported", alert, patient_id=pk, after=after)
    return [(patient, alerts.get(patient.pk)) for patient in patients]


def take_back_imported(*, patients: Sequence[Patient], reason: str, actor) -> None:
    """
    Take patients out of the record that an import brought, with the alerts it brought along.

    Raises:
        ProtectedError: something else hangs on one of them; nobody is taken out then.
    """
    with acting(actor) as trail:
        Alert.objects.filter(patient__in=patients).delete()
        for patient in patients:
            before = snapshot(patient, [*PATIENT_FIELDS, "record_number"])
            trail.add(
                "patient.import_undone", patient, patient_id=patient.pk, before=before,
                reason=reason,
            )  # fmt: skip
        Patient.objects.filter(pk__in=[patient.pk for patient in patients]).delete()


def _note_consents(patient: Patient, before: dict, after: dict, actor) -> None:
    """Who asked, and when, of each consent that was given or withdrawn."""
    ContactConsent.objects.bulk_create(
        ContactConsent(
            patient=patient, channel=channel, agreed=after[name], asked_at=timezone.now(),
            asked_by=actor,
        )
        for name, channel in CONSENT_OF.items()
        if name in after and after[name] != bool(before.get(name))
    )  # fmt: skip


def search_words(patient: Patient) -> tuple[str, ...]:
    """The folded words a patient is found by, in order of appearance."""
    return tuple(dict.fromkeys(w[:100] for w in words(f"{patient.full_name} {patient.known_as}")))


def name_key(found_by: Sequence[str]) -> str:
    """
    All words of one name, a blank before each, for `PatientWord.name_key`.

    A word that begins another one adds nothing to "begins with" and is left out.
    """
    kept = [
        word
        for word in found_by
        if not any(other != word and other.startswith(word) for other in found_by)
    ]
    return "".join(f" {word}" for word in kept)[: PatientWord.NAME_KEY_LENGTH]


def _index_rows(patient: Patient) -> set[tuple[str, str]]:
    found_by = search_words(patient)
    key = name_key(found_by)
    return {(word, key) for word in found_by}


def index_name(patient: Patient) -> bool:
    """Rewrite the search words of one patient where they differ; whether they did."""
    wanted = _index_rows(patient)
    if wanted == set(patient.words.values_list("word", "name_key")):
        return False
    patient.words.all().delete()
    PatientWord.objects.bulk_create(
        PatientWord(patient=patient, word=word, name_key=key) for word, key in sorted(wanted)
    )
    return True


def rebuild_search_keys(*, batch: int = 1_000) -> int:
    """
    Make every patient's search keys anew, as after a change of the folding; how many differed.

    Each batch is a transaction of its own, so that the clinic can go on writing.
    """
    last, differed = 0, 0
    while True:
        with transaction.atomic():
            patients = list(
                Patient.objects.select_for_update().filter(pk__gt=last).order_by("pk")[:batch]
            )
            if not patients:
                return differed
            differed += sum(_rebuild(patients))
        last = patients[-1].pk


def _rebuild(patients: list[Patient]) -> Iterable[bool]:
    stored: dict[int, set[tuple[str, str]]] = {patient.pk: set() for patient in patients}
    rows = PatientWord.objects.filter(patient__in=patients)
    for pk, word, key in rows.values_list("patient_id", "word", "name_key"):
        stored[pk].add((word, key))
    for patient in patients:
        tail = phone_tail(patient.phone)
        tail_differs = patient.phone_tail != tail
        if tail_differs:
            patient.phone_tail = tail
            patient.save(update_fields=["phone_tail"])
        words_differ = stored[patient.pk] != _index_rows(patient) and index_name(patient)
        yield tail_differs or words_differ


def add_alert(*, patient: Patient, kind: str, level: str, text: str, actor) -> Alert:
    """
    Add an allergy or another alert.

    An allergy ends "No known allergies". Saying "No known allergies" again changes nothing.

    Raises:
        AllergyOnRecord: "No known allergies" beside a recorded allergy.
    """
    with acting(actor) as trail:
        # Two people who add at once wait for each other here.
        Patient.objects.select_for_update().get(pk=patient.pk)
        current = Alert.objects.current().filter(patient=patient)
        denied = current.filter(kind=AlertKind.NONE_KNOWN).first()
        if kind == AlertKind.NONE_KNOWN:
            if current.filter(kind=AlertKind.ALLERGY).exists():
                raise AllergyOnRecord(
                    "The record holds an allergy. End that alert first, and say why."
                )
            if denied:
                return denied
        if kind == AlertKind.ALLERGY and denied:
            _end(denied, "An allergy was recorded.", trail)
        alert = Alert.objects.create(
            patient=patient, kind=kind, level=level, text=text, added_by=actor
        )
        after = snapshot(alert, ["kind", "level", "text"])
        trail.add("alert.added", alert, patient_id=patient.pk, after=after)
    return alert


def end_alert(*, alert: Alert, reason: str, actor) -> None:
    """
    End an alert that no longer holds; it stays on record.

    Raises:
        ReasonMissing: no reason given.
    """
    if not reason.strip():
        raise ReasonMissing("Say why this alert no longer holds.")
    with acting(actor) as trail:
        stored = Alert.objects.select_for_update().get(pk=alert.pk)
        if stored.ended_at is None:
            _end(stored, reason, trail)


def _end(alert: Alert, reason: str, trail) -> None:
    alert.ended_at = timezone.now()
    alert.ended_by = trail.actor
    alert.end_reason = reason
    alert.save(update_fields=["ended_at", "ended_by", "end_reason"])
    trail.add("alert.ended", alert, patient_id=alert.patient_id, reason=reason)

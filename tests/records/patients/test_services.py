"""Writing a patient's record."""

import json

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction

from clinic.audit.models import AuditEvent
from records.patients.errors import AllergyOnRecord, ReasonMissing
from records.patients.models import Alert, Patient, PatientWord
from records.patients.queries import find_patients
from records.patients.services import (
    NO_KNOWN_ALLERGIES,
    NewAlert,
    add_alert,
    end_alert,
    name_key,
    register_patient,
    save_patient,
)
from tests.factories import make_alert, make_patient, refreshed

pytestmark = pytest.mark.django_db


def say_none_known(patient, actor) -> Alert:
    return add_alert(patient=patient, **vars(NO_KNOWN_ALLERGIES), actor=actor)


def test_registration_keeps_patient_and_alerts_together(desk):
    ann = register_patient(
        patient=Patient(full_name="Ann Example", birth_date="1980-05-17"),
        alerts=[NewAlert("allergy", "stop", "Lidocaine"), NewAlert("other", "note", "Left-handed")],
        actor=desk,
    )
    assert [a.text for a in ann.alerts.all()] == ["Lidocaine", "Left-handed"]
    actions = AuditEvent.objects.filter(patient_id=ann.pk).order_by("id")
    assert [e.action for e in actions] == ["patient.registered", "alert.added", "alert.added"]


def test_registration_that_fails_leaves_nothing(desk):
    contradiction = [NewAlert("allergy", "stop", "Lidocaine"), NO_KNOWN_ALLERGIES]
    with pytest.raises(AllergyOnRecord):
        register_patient(
            patient=Patient(full_name="Ann Example", birth_date="1980-05-17"),
            alerts=contradiction,
            actor=desk,
        )
    assert not Patient.objects.exists()
    assert not AuditEvent.objects.exists()


def test_change_writes_only_what_was_changed(desk, patient):
    """Two people have the same record open; neither undoes the other's change."""
    stale = Patient.objects.get(pk=patient.pk)
    patient.phone = "020 7946 0123"
    save_patient(patient=patient, fields=["phone"], actor=desk)
    stale.full_name = "Ann Newname"
    save_patient(patient=stale, fields=["full_name"], actor=desk)
    assert refreshed(patient).phone == "020 7946 0123"
    assert patient.full_name == "Ann Newname"
    last = AuditEvent.objects.filter(action="patient.changed").order_by("-id").first()
    assert json.loads(last.data) == {
        "before": {"full_name": "Ann Example"}, "after": {"full_name": "Ann Newname"},
    }  # fmt: skip


def test_change_of_nothing_is_no_event(desk, patient):
    before = AuditEvent.objects.count()
    save_patient(patient=patient, actor=desk)
    assert AuditEvent.objects.count() == before


def test_phone_tail_follows_the_phone(desk, patient):
    patient.phone = "+44 20 7946 0123"
    save_patient(patient=patient, fields=["phone"], actor=desk)
    assert refreshed(patient).phone_tail == "321064970"


def test_words_that_begin_another_word_need_no_place_in_the_key():
    assert name_key(("smithjones", "smith", "jones")) == " smithjones jones"


def test_an_allergy_ends_no_known_allergies(desk, injector, patient):
    denied = say_none_known(patient, desk)
    make_alert(injector, patient, "Lidocaine")
    denied = refreshed(denied)
    assert (denied.ended_by, denied.end_reason) == (injector, "An allergy was recorded.")
    assert [a.text for a in patient.alerts.current()] == ["Lidocaine"]


def test_another_kind_of_alert_leaves_no_known_allergies(desk, patient):
    say_none_known(patient, desk)
    make_alert(desk, patient, "Takes an anticoagulant", kind="medical")
    assert patient.alerts.current().count() == 2


def test_no_known_allergies_is_refused_beside_an_allergy(desk, patient):
    make_alert(desk, patient, "Lidocaine")
    with pytest.raises(AllergyOnRecord):
        say_none_known(patient, desk)


def test_no_known_allergies_said_twice_is_one_alert(desk, patient):
    assert say_none_known(patient, desk) == say_none_known(patient, desk)
    assert patient.alerts.count() == 1


def test_database_refuses_a_second_no_known_allergies(desk, patient):
    alert = say_none_known(patient, desk)
    alert.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        alert.save()


def test_database_refuses_the_same_word_twice_for_one_patient(patient):
    with pytest.raises(IntegrityError), transaction.atomic():
        PatientWord.objects.create(patient=patient, word="ann", name_key=" ann example")


def test_ended_alert_keeps_who_when_and_why(desk, injector, patient):
    alert = make_alert(desk, patient)
    end_alert(alert=alert, reason="Tested negative.", actor=injector)
    alert = refreshed(alert)
    assert (alert.ended_by, alert.end_reason) == (injector, "Tested negative.")
    assert alert.ended_at is not None
    end_alert(alert=alert, reason="Again.", actor=desk)
    assert refreshed(alert).end_reason == "Tested negative."


def test_alert_is_not_ended_without_a_reason(desk, patient):
    alert = make_alert(desk, patient)
    with pytest.raises(ReasonMissing):
        end_alert(alert=alert, reason=" ", actor=desk)
    assert refreshed(alert).ended_at is None


def test_rebuild_search_puts_keys_right_and_counts_them(desk, capsys):
    make_patient(desk, "Ann Example")
    make_patient(desk, "Bob Broken", phone="020 7946 0123")
    make_patient(desk, "Cem Missing")
    broken = Patient.objects.get(full_name="Bob Broken")
    # As an older folding, or a restore without the table, would leave them.
    broken.words.update(name_key=" old key")
    PatientWord.objects.filter(patient__full_name="Cem Missing").delete()
    Patient.objects.update(phone_tail="")
    assert find_patients("cem").patients == []
    call_command("rebuild_search")
    assert capsys.readouterr().out == "2 patients had keys that differed.\n"
    assert [str(p) for p in find_patients("miss ce").patients] == ["Cem Missing"]
    assert [str(p) for p in find_patients("bro bob").patients] == ["Bob Broken"]
    assert [str(p) for p in find_patients("0123").patients] == ["Bob Broken"]
    call_command("rebuild_search")
    assert capsys.readouterr().out == "0 patients had keys that differed.\n"

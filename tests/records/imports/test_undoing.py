"""Undoing one import: who has more on record since then stays, and all of it is in the trail."""

import json
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from planning.imports.columns import Kind
from records.imports.enums import RowState, State
from records.imports.errors import ImportRefused
from records.imports.models import ImportedTreatment, ImportRow
from records.imports.services.acts import begin_undoing
from records.imports.services.batches import carry_on
from records.imports.ticking import tick
from records.patients.models import Alert, Patient
from records.patients.services import save_patient
from tests.factories import make_alert, make_appointment, make_import, refreshed
from tests.records.imports.conftest import PATIENTS, TREATMENTS


def undo(taken, owner):
    begin_undoing(taken=taken, reason="Wrong file", actor=owner)
    carry_on(taken=taken, seconds=60)
    return refreshed(taken)


def test_an_import_is_undone_as_a_whole(patients, owner):
    zoe = Patient.objects.get(full_name="Zoë Example")
    taken = undo(patients, owner)
    assert taken.state == State.UNDONE
    assert not Patient.objects.exists()
    assert not Alert.objects.exists()
    event = AuditEvent.objects.get(action="patient.import_undone", patient_id=zoe.pk)
    told = json.loads(event.data)
    assert (told["before"]["full_name"], told["reason"]) == ("Zoë Example", "Wrong file")
    assert (event.actor, taken.undone_by) == (owner, owner)
    assert verify_chain().broken_at is None
    assert make_import(owner, PATIENTS).state == State.DONE  # and taken in anew


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (lambda desk, one: make_appointment(desk, one, desk, "2026-12-07 10:00"), "appointment"),
        (lambda desk, one: save_patient(patient=_called(one), actor=desk), "patient changed"),
        (lambda desk, one: make_alert(desk, one), "alert added"),
    ],
)
def test_who_has_more_on_record_since_then_is_kept_and_listed(
    patients, owner, injector, signed_in, act, words
):
    zoe = Patient.objects.get(full_name="Zoë Example")
    act(injector, zoe)
    taken = undo(patients, owner)
    assert list(Patient.objects.all()) == [zoe]
    row = taken.rows.get(state=RowState.KEPT)
    assert row.made_patient == zoe
    assert words in row.reasons[0]
    page = signed_in(owner).get(reverse("import-detail", args=[taken.pk])).content.decode()
    assert words in page
    assert "Zoë Example" in page


def _called(patient: Patient) -> Patient:
    patient.known_as = "Zee"
    return patient


def test_being_read_keeps_nobody(patients, owner, signed_in):
    zoe = Patient.objects.get(full_name="Zoë Example")
    signed_in(owner).get(reverse("patient-detail", args=[zoe.pk]))
    undo(patients, owner)
    assert not Patient.objects.exists()


def test_past_treatments_are_undone_first_then_their_patients(patients, owner):
    treatments = make_import(owner, TREATMENTS, Kind.TREATMENTS)
    assert undo(treatments, owner).rows.filter(state=RowState.UNDONE).count() == 3
    assert not ImportedTreatment.objects.exists()
    assert AuditEvent.objects.filter(action="imported_treatment.undone").count() == 3
    undo(patients, owner)
    assert not Patient.objects.exists()


def test_treatments_hold_back_their_patients(patients, owner):
    make_import(owner, TREATMENTS, Kind.TREATMENTS)
    taken = undo(patients, owner)
    reasons = {row.reasons[0] for row in taken.rows.filter(state=RowState.KEPT)}
    assert reasons == {"Since then: imported treatment."}


def test_there_is_a_time_to_undo_and_a_reason(patients, owner):
    with pytest.raises(ImportRefused, match="Say why"):
        begin_undoing(taken=patients, reason=" ", actor=owner)
    with (
        time_machine.travel(timezone.now() + timedelta(days=15), tick=False),
        pytest.raises(ImportRefused, match="is over"),
    ):
        begin_undoing(taken=patients, reason="Late", actor=owner)


def test_after_that_time_what_was_not_taken_in_is_dropped(patients, owner):
    waiting = make_import(owner, "Name,Date of birth\nNew Person,1990-01-01\n", to=State.CHECKED)
    tick()
    assert ImportRow.objects.filter(cells__isnull=False).count() == 4
    with time_machine.travel(timezone.now() + timedelta(days=15), tick=False):
        tick()
    assert not ImportRow.objects.filter(cells__isnull=False).exists()
    assert refreshed(waiting).state == State.DISCARDED
    # Past treatments may still follow.
    assert set(patients.rows.exclude(key="").values_list("key", flat=True)) >= {"A1", "A2"}

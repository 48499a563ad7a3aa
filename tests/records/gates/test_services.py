"""Deciding about stops, and what the database keeps of it."""

import uuid

import pytest
from django.db import IntegrityError, transaction

from clinic.audit.models import AuditEvent
from records.gates.enums import How
from records.gates.errors import GateShut, ReasonMissing
from records.gates.models import GateDecision
from records.gates.services import decide
from records.sessions.services.signing import sign_session
from records.sessions.services.sittings import start_session
from tests.factories import make_session
from tests.records.gates.fakes import stop

pytestmark = pytest.mark.django_db
SHUT = stop("fake-age", title="Too young.", can_be_decided=False)


def test_nothing_to_decide_needs_no_reason():
    assert decide([], reason="", is_done=False) == []


def test_one_reason_decides_each_stop():
    decided = decide([stop(), stop("other")], reason=" Seen by two ", is_done=False)
    assert [(row.gate.key, row.how, row.reason) for row in decided] == [
        ("fake-consent", How.GO_ON, "Seen by two"),
        ("other", How.GO_ON, "Seen by two"),
    ]


def test_a_stop_without_a_reason_shuts_the_start():
    with pytest.raises(ReasonMissing, match="write down why you go on"):
        decide([stop()], reason="  ", is_done=False)


def test_what_nobody_may_decide_stays_shut_whatever_is_written():
    with pytest.raises(GateShut, match="Nobody can decide to go on"):
        decide([SHUT], reason="The mother agrees", is_done=False)


def test_what_has_been_done_is_written_down_with_a_reason():
    (decided,) = decide([SHUT], reason="Wrong date of birth on file", is_done=True)
    assert decided.how is How.AFTERWARDS
    with pytest.raises(ReasonMissing, match="why it was done all the same"):
        decide([SHUT], reason="", is_done=True)


def test_a_session_keeps_what_was_decided_in_the_words_shown(keep, injector, patient):
    keep(stop())
    decisions = decide([stop()], reason="Signed on paper", is_done=False)
    session = make_session(injector, patient, decisions=decisions)
    row = GateDecision.objects.get()
    assert (row.session, row.patient, row.title, row.how, row.reason, row.decided_by) == (
        session, patient, "Consent is missing.", How.GO_ON, "Signed on paper", injector,
    )  # fmt: skip
    event = AuditEvent.objects.get(action="gate.noted")
    assert (event.patient_id, event.actor) == (patient.pk, injector)


def test_a_stop_that_nobody_was_asked_about_is_kept_with_the_session(keep, injector, patient):
    keep(stop(), stop("other"))
    decisions = decide([stop("other")], reason="Known", is_done=False)
    start_session(patient=patient, injector=injector, jaw="average", decisions=decisions)
    rows = dict(GateDecision.objects.values_list("gate", "how"))
    assert rows == {"other": How.GO_ON, "fake-consent": How.STOOD}


def test_it_never_changes_and_none_is_added_to_a_signed_session(keep, injector, patient):
    keep(stop())
    session = make_session(injector, patient)
    row = GateDecision.objects.get()
    with pytest.raises(IntegrityError), transaction.atomic():
        GateDecision.objects.update(reason="Another")
    with pytest.raises(IntegrityError), transaction.atomic():
        row.delete()
    sign_session(session=session, remainders={}, actor=injector)
    row.pk, row.key = None, uuid.uuid4()
    with pytest.raises(IntegrityError, match="signed"), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"how": "maybe", "reason": "So"}, "gate_how_is_known"),
        ({"how": "go_on"}, "gate_decision_has_a_reason"),
        ({"how": "stood", "reason": "Because"}, "gate_decision_has_a_reason"),
        ({"how": "go_on", "reason": "So", "can_be_decided": False}, "gate_shut_is_not_decided"),
        ({"title": ""}, "gate_says_what_it_is"),
    ],
)
def test_the_database_refuses_what_cannot_be(keep, injector, patient, fields, name):
    keep(stop())
    make_session(injector, patient)
    row = GateDecision.objects.get()
    row.pk, row.key = None, uuid.uuid4()
    for field, value in fields.items():
        setattr(row, field, value)
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        row.save(force_insert=True)

"""Anaesthesia beside the products: stored once, removed, brought back, signed with the session."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from records.sessions.errors import PointConflict, SessionNotEmpty, SessionSigned
from records.sessions.models import Anaesthesia, TreatmentSession
from records.sessions.queries.facts import session_facts
from records.sessions.queries.flags import shown_flags
from records.sessions.services.anaesthesia import (
    Anaesthetic,
    note_anaesthesia,
    remove_anaesthesia,
    restore_anaesthesia,
)
from records.sessions.services.signing import content_digest, sign_session
from records.sessions.services.sittings import set_aside_session
from tests.factories import make_session, refreshed

BLOCK = Anaesthetic("block", "Lidocaine 2 %", 1_800, 20_000, with_epinephrine=True)


@pytest.fixture
def session(injector, patient):
    return make_session(injector, patient)


def note(session, given: Anaesthetic = BLOCK, **fields) -> Anaesthesia:
    fields = {"key": uuid.uuid4(), "given_at": timezone.now(), **fields}
    return note_anaesthesia(session=session, given=given, actor=session.injector, **fields)


def test_one_sent_twice_is_stored_once(session):
    key, moment = uuid.uuid4(), timezone.now()
    assert note(session, key=key, given_at=moment) == note(session, key=key, given_at=moment)
    assert AuditEvent.objects.filter(action="anaesthesia.noted").count() == 1
    with pytest.raises(PointConflict):
        note(session, replace(BLOCK, volume_ul=1), key=key)


def test_one_is_removed_and_brought_back_and_the_trail_has_both(session):
    row = note(session)
    for _ in range(2):
        remove_anaesthesia(anaesthesia=row, actor=session.injector)
    assert not session.anaesthesia.standing().exists()
    restore_anaesthesia(anaesthesia=row, actor=session.injector)
    assert session.anaesthesia.standing().get() == row
    acts = AuditEvent.objects.filter(action__startswith="anaesthesia.").order_by("pk")
    assert [event.action for event in acts] == [
        "anaesthesia.noted", "anaesthesia.removed", "anaesthesia.restored",
    ]  # fmt: skip


@pytest.mark.usefixtures("patient_agrees")
def test_lidocaine_of_every_source_is_in_the_flag(session, patient):
    # US prescribing information, 40 kg without epinephrine: 180 mg.
    patient.weight_g = 40_000
    patient.save()
    session.refresh_from_db()
    note(session, Anaesthetic("topical", "Cream 5 %", 3_000, 50_000))
    assert [flag.title for flag in shown_flags(session, [], [])] == []
    note(session, Anaesthetic("infiltration", "Lidocaine 2 %", 1_550, 20_000))
    (flag,) = shown_flags(session, [], [])
    assert "181 mg, above 180 mg without epinephrine" in flag.title


def test_a_session_that_is_not_stored_yet_has_none(patient):
    unsaved = TreatmentSession(patient=patient, started_at=timezone.now())
    assert session_facts(unsaved, [], ClinicPolicy()).other_lidocaine == ()


def test_the_signature_covers_it_only_where_there_is_some(session, injector):
    bare = content_digest(session)
    row = note(session)
    assert content_digest(session) != bare
    remove_anaesthesia(anaesthesia=row, actor=injector)
    assert content_digest(session) == bare


def test_after_signing_nothing_of_it_changes(session, injector):
    row = note(session)
    sign_session(session=session, remainders={}, actor=injector)
    with pytest.raises(SessionSigned):
        note(session)
    with pytest.raises(SessionSigned):
        remove_anaesthesia(anaesthesia=row, actor=injector)
    for act in (
        lambda: Anaesthesia.objects.filter(pk=row.pk).update(volume_ul=1),
        lambda: Anaesthesia.objects.filter(pk=row.pk).delete(),
        lambda: _raw(session, injector),
    ):
        with pytest.raises(IntegrityError, match="signed"), transaction.atomic():
            act()
    assert refreshed(row).volume_ul == 1_800


def test_a_session_with_anaesthesia_is_not_set_aside(session, injector):
    row = note(session)
    with pytest.raises(SessionNotEmpty, match="anaesthesia"):
        set_aside_session(session=session, actor=injector)
    with pytest.raises(IntegrityError, match="not empty"), transaction.atomic():
        TreatmentSession.objects.filter(pk=session.pk).update(set_aside_at=timezone.now())
    remove_anaesthesia(anaesthesia=row, actor=injector)
    assert set_aside_session(session=session, actor=injector).is_set_aside


@pytest.mark.parametrize("fields", [{"method": "prayer"}, {"volume_ul": 0}, {"product": ""}])
def test_the_database_refuses_what_cannot_be(session, injector, fields):
    with pytest.raises(IntegrityError), transaction.atomic():
        _raw(session, injector, **fields)


def _raw(session, injector, **fields) -> Anaesthesia:
    fields = {"method": "block", "product": "X", "volume_ul": 1, **fields}
    return Anaesthesia.objects.create(
        session=session, given_at=timezone.now() - timedelta(hours=1), logged_by=injector, **fields
    )

"""Starting a session."""

from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.vocabulary import Jaw
from records.sessions.errors import SessionError
from records.sessions.queries.lists import to_sign
from records.sessions.services.sittings import change_session
from tests.factories import (
    make_appointment,
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    make_user,
    refreshed,
)


def test_unsigned_session_is_gone_on_with(injector, patient):
    assert make_session(injector, patient) == make_session(injector, patient)


def test_colleagues_unsigned_session_must_be_signed_first(injector, patient):
    make_session(injector, patient)
    colleague = make_user("second", is_injector=True)
    with pytest.raises(SessionError, match="Ida Injector has not signed the last session"):
        make_session(colleague, patient)


def test_earlier_day_needs_a_reason(injector, patient):
    yesterday = timezone.now() - timedelta(days=1)
    with pytest.raises(SessionError, match="Say why"):
        make_session(injector, patient, started_at=yesterday)
    session = make_session(injector, patient, started_at=yesterday, late_reason="Tablet was dead")
    assert session.late_reason == "Tablet was dead"


def test_treatment_cannot_lie_in_the_future(injector, patient):
    with pytest.raises(SessionError, match="future"):
        make_session(injector, patient, started_at=timezone.now() + timedelta(minutes=1))


def test_appointment_of_another_patient_is_refused(injector, patient, desk):
    booked = make_appointment(desk, make_patient(desk, "Bo Li"), injector, "2030-01-07 10:00")
    with pytest.raises(SessionError, match="another patient's"):
        make_session(injector, patient, appointment=booked)


def test_outline_stays_while_points_are_on_it(injector, owner, patient):
    unit = make_units(owner, make_product())[0]
    session = make_session_with_unit(injector, patient, unit)
    change_session(session=session, jaw=Jaw.BROADER, note="", actor=injector)
    make_point(session, unit)
    with pytest.raises(SessionError, match="outline stays"):
        change_session(session=session, jaw=Jaw.NARROWER, note="", actor=injector)
    kept = change_session(session=session, jaw=Jaw.BROADER, note="Calm", actor=injector)
    assert kept.note == "Calm"


def test_whoever_is_treated_at_their_visit_is_in_the_room(injector, patient, desk):
    visit = make_appointment(desk, patient, injector, f"{timezone.localdate()} 00:05")
    make_session(injector, patient, appointment=visit)
    assert refreshed(visit).state == "in_room"
    event = AuditEvent.objects.get(action="appointment.in_room")
    assert "The session of this visit was started." in event.data


def test_a_session_written_down_later_brings_nobody_into_the_room(injector, patient, desk):
    yesterday = timezone.now() - timedelta(days=1)
    visit = make_appointment(desk, patient, injector, f"{timezone.localdate()} 00:05")
    make_session(
        injector, patient, appointment=visit, started_at=yesterday, late_reason="Tablet was dead"
    )
    assert refreshed(visit).state == "booked"


def test_a_session_that_has_only_begun_does_not_wait_for_a_signature(injector, owner, patient):
    session = make_session(injector, patient)
    assert not to_sign(injector).exists()
    unit = make_units(owner, make_product())[0]
    make_point(make_session_with_unit(injector, patient, unit), unit)
    assert to_sign(injector).get() == session

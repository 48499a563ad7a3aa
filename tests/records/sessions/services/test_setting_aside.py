"""Setting aside a session that was started by mistake."""

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.reviews.queries.work_list import seen_since_treatment
from records.sessions.errors import SessionNotEmpty, SessionSetAside, SessionSigned
from records.sessions.models import TreatmentSession
from records.sessions.queries.lists import patient_sessions, signed_sessions, unsigned_sessions
from records.sessions.services.markings import plan_marking, unplan_marking
from records.sessions.services.pictures import drop_picture
from records.sessions.services.points import remove_point
from records.sessions.services.signing import sign_session
from records.sessions.services.sittings import change_session, set_aside_session
from records.sessions.services.tray import put_on_tray, record_waste, take_off_tray
from tests.factories import (
    make_appointment,
    make_picture,
    make_point,
    make_product,
    make_review,
    make_session,
    make_units,
    refreshed,
)


@pytest.fixture
def unit(owner):
    return make_units(owner, make_product())[0]


def marked(session):
    return plan_marking(
        session=session, key=session.key, view="front", x_dmm=500, y_dmm=330,
        marked_at=timezone.now(), actor=session.injector,
    )  # fmt: skip


def test_empty_session_leaves_every_list_and_its_row_stays(session, injector):
    set_aside_session(session=session, actor=injector)
    assert not unsigned_sessions().exists()
    assert not signed_sessions().exists()
    assert patient_sessions(session.patient) == []
    stored = refreshed(session)
    assert (stored.is_set_aside, stored.is_open, stored.is_signed) == (True, False, False)
    event = AuditEvent.objects.get(action="session.set_aside")
    assert (event.actor, event.patient_id) == (injector, session.patient_id)


def test_twice_changes_nothing(session, injector):
    first = set_aside_session(session=session, actor=injector)
    assert set_aside_session(session=session, actor=injector).set_aside_at == first.set_aside_at
    assert AuditEvent.objects.filter(action="session.set_aside").count() == 1


def test_appointment_and_patient_are_free_for_the_right_session(injector, patient, desk):
    booked = make_appointment(desk, patient, injector, "2030-01-07 10:00")
    wrong = make_session(injector, patient, appointment=booked)
    state = booked.state
    set_aside_session(session=wrong, actor=injector)
    right = make_session(injector, patient, appointment=booked)
    assert right != wrong
    assert (refreshed(right).appointment, refreshed(wrong).appointment) == (booked, None)
    assert refreshed(booked).state == state


def test_no_visit_comes_of_it(session, injector, patient):
    review = make_review(injector, patient, timezone.localdate())
    assert seen_since_treatment(review)
    set_aside_session(session=session, actor=injector)
    assert not seen_since_treatment(review)


@pytest.mark.parametrize("what", ["point", "removed point", "tray", "waste", "photograph",
                                  "planned place", "note"])  # fmt: skip
def test_what_was_written_in_it_keeps_it(session, unit, injector, what):
    if what in {"point", "removed point", "tray", "waste"}:
        put_on_tray(session=session, unit=unit, actor=injector)
    if "point" in what:
        point = make_point(session, unit)
    if what == "removed point":
        remove_point(point=point, actor=injector)
    elif what == "waste":
        record_waste(session=session, unit=unit, amount=10, reason="Primed", actor=injector)
    elif what == "photograph":
        make_picture(session)
    elif what == "planned place":
        marked(session)
    elif what == "note":
        change_session(session=session, note="Calm", actor=injector)
    with pytest.raises(SessionNotEmpty, match="Only an empty one"):
        set_aside_session(session=session, actor=injector)
    # The database refuses it as well, whoever writes.
    with pytest.raises(IntegrityError, match=r"not empty|is_empty"), transaction.atomic():
        TreatmentSession.objects.filter(pk=session.pk).update(set_aside_at=timezone.now())
    assert refreshed(session).is_open


def test_what_was_taken_back_does_not_keep_it(session, unit, injector):
    put_on_tray(session=session, unit=unit, actor=injector)
    take_off_tray(session=session, unit=unit, actor=injector)
    drop_picture(picture=make_picture(session), actor=injector)
    unplan_marking(marking=marked(session), actor=injector)
    change_session(session=session, note="Calm", actor=injector)
    change_session(session=session, note="", actor=injector)
    set_aside_session(session=session, actor=injector)
    assert refreshed(session).is_set_aside


def test_signed_session_is_not_set_aside(session, injector):
    sign_session(session=session, remainders={}, actor=injector)
    with pytest.raises(SessionSigned):
        set_aside_session(session=session, actor=injector)


def test_nothing_is_written_in_it_any_more(session, unit, injector):
    set_aside_session(session=session, actor=injector)
    for act in (
        lambda: put_on_tray(session=session, unit=unit, actor=injector),
        lambda: change_session(session=session, note="Calm", actor=injector),
        lambda: make_picture(session),
        lambda: marked(session),
        lambda: sign_session(session=session, remainders={}, actor=injector),
    ):
        with pytest.raises(SessionSetAside, match="started by mistake"):
            act()


def test_it_stays_so_whoever_writes(session, injector):
    set_aside_session(session=session, actor=injector)
    rows = TreatmentSession.objects.filter(pk=session.pk)
    for act in (
        lambda: rows.update(set_aside_at=None),
        lambda: rows.update(note="Later"),
        lambda: rows._raw_delete(rows.db),
    ):
        with pytest.raises(IntegrityError, match="set aside"), transaction.atomic():
            act()

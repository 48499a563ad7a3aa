"""Signing accounts for every remainder and locks the session; then only addenda are added."""

import pytest

from clinic.stock.models import StockMovement
from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from records.reviews.models import Review
from records.sessions.errors import RemainderOpen, SessionError, SessionSigned
from records.sessions.services.points import change_point, move_point, remove_point
from records.sessions.services.signing import add_addendum, content_digest, sign_session
from records.sessions.services.sittings import change_session
from records.sessions.services.tray import put_on_tray, record_waste, take_off_tray
from tests.factories import (
    make_appointment,
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    point_details,
    refreshed,
)


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=2)


@pytest.fixture
def session(injector, patient, units):
    return make_session_with_unit(injector, patient, units[0])


def test_signature_holds_name_time_and_seal(session, units, injector):
    injector.registration_number = "Register 12345"
    make_point(session, units[0])
    signed = refreshed(
        sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    )
    assert signed.signed_name == "Ida Injector, Register 12345"
    assert signed.signed_by == injector
    assert signed.signed_digest == content_digest(signed)


def test_remainder_must_be_accounted_for(session, units, injector):
    make_point(session, units[0])
    with pytest.raises(RemainderOpen, match="Say what became of the rest of unit"):
        sign_session(session=session, remainders={}, actor=injector)
    assert not refreshed(session).is_signed


def test_wasted_remainder_empties_the_unit(session, units, injector):
    make_point(session, units[0], amount=700)
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    unit = refreshed(units[0])
    assert (unit.drawn, unit.wasted, unit.remaining) == (700, 300, 0)


def test_kept_remainder_stays_with_the_patient(session, units, injector):
    make_point(session, units[0], amount=700)
    sign_session(session=session, remainders={units[0].pk: "kept"}, actor=injector)
    assert refreshed(units[0]).remaining == 300
    assert StockMovement.objects.filter(unit=units[0], kind="kept", amount=300).exists()


def test_empty_unit_needs_no_word(session, units, injector):
    make_point(session, units[0], amount=1000)
    sign_session(session=session, remainders={}, actor=injector)
    assert session.tray.get().remainder == "empty"


def test_vial_of_another_patient_cannot_be_kept(session, units, injector, desk):
    other = make_session(injector, make_patient(desk, "Bo Li"))
    put_on_tray(session=other, unit=units[0], actor=injector, deviation="Mixed up")
    with pytest.raises(RemainderOpen, match="“Wasted”"):
        sign_session(session=other, remainders={units[0].pk: "kept"}, actor=injector)


def test_only_who_injected_signs(session, owner):
    with pytest.raises(SessionError, match="Only Ida Injector"):
        sign_session(session=session, remainders={}, actor=owner)


def test_review_is_scheduled_only_when_something_was_injected(session, units, injector):
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    assert not Review.objects.exists()
    second = make_session_with_unit(injector, session.patient, units[1])
    make_point(second, units[1])
    sign_session(session=second, remainders={units[1].pk: "wasted"}, actor=injector)
    assert Review.objects.get().session == second


def test_nothing_changes_after_signing(session, units, injector):
    point = make_point(session, units[0])
    sign_session(session=session, remainders={units[0].pk: "kept"}, actor=injector)
    acts = [
        lambda: change_point(point=point, details=point_details(units[0]), actor=injector),
        lambda: move_point(point=point, x_dmm=480, y_dmm=330, actor=injector),
        lambda: remove_point(point=point, actor=injector),
        lambda: put_on_tray(session=session, unit=units[1], actor=injector),
        lambda: take_off_tray(session=session, unit=units[0], actor=injector),
        lambda: record_waste(
            session=session, unit=units[0], amount=1, reason="Late", actor=injector
        ),
        lambda: change_session(session=session, jaw="average", note="Late", actor=injector),
        lambda: sign_session(session=session, remainders={}, actor=injector),
    ]
    for act in acts:
        with pytest.raises(SessionSigned, match="Add an addendum instead"):
            act()


def test_addendum_says_who_when_and_why(session, units, injector):
    point = make_point(session, units[0])
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    addendum = add_addendum(
        session=session, point=point, reason="Typing slip", text="It was 0.1 mL.", actor=injector
    )
    assert (addendum.author, addendum.point, addendum.reason) == (injector, point, "Typing slip")
    assert addendum.written_at >= session.started_at


@pytest.mark.parametrize("with_point", [True, False])
def test_addendum_sent_again_after_a_lost_answer_stands_once(session, units, injector, with_point):
    point = make_point(session, units[0]) if with_point else None
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    said = {"session": session, "point": point, "reason": "Slip", "text": "It was 0.1 mL."}
    first = add_addendum(**said, actor=injector)
    assert add_addendum(**said, actor=injector) == first
    assert session.addenda.count() == 1


def test_unsigned_session_takes_no_addendum(session, injector):
    with pytest.raises(SessionError, match="not signed yet"):
        add_addendum(session=session, reason="Why", text="What", actor=injector)


@pytest.mark.parametrize(("reason", "text"), [("", "What"), ("Why", " ")])
def test_addendum_needs_reason_and_text(session, units, injector, reason, text):
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    with pytest.raises(SessionError, match="what is added and why"):
        add_addendum(session=session, reason=reason, text=text, actor=injector)


@pytest.mark.parametrize(
    ("is_given_away", "state"),
    [(False, AppointmentState.DONE), (True, AppointmentState.DID_NOT_ATTEND)],
)
def test_who_came_after_all_is_signed_for_whatever_became_of_the_time(
    desk, injector, patient, is_given_away, state
):
    visit = make_appointment(desk, patient, injector, "2026-12-01 10:00")
    session = make_session(injector, patient, appointment=visit)
    set_state(appointment=visit, state=AppointmentState.DID_NOT_ATTEND, actor=desk)
    if is_given_away:
        make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2026-12-01 10:15")
    signed = sign_session(session=session, remainders={}, actor=injector)
    assert signed.is_signed
    assert refreshed(visit).state == state

"""Logging, changing, moving and removing points."""

import uuid

import pytest
from django.db import IntegrityError

from clinic.audit.models import AuditEvent
from planning.atlas.measurements import CHART_VERSION
from records.sessions.errors import Overdrawn, PointConflict, SessionError, SessionSigned
from records.sessions.models import InjectionEntry
from records.sessions.services import points
from records.sessions.services.points import change_point, move_point, remove_point
from records.sessions.services.signing import sign_session
from tests.factories import (
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


def test_point_keeps_place_region_side_and_chart(session, units):
    point = refreshed(make_point(session, units[0], x_dmm=480, y_dmm=330))
    assert (point.view, point.x_dmm, point.y_dmm) == ("front", 480, 330)
    assert (point.region, point.side, point.chart_version) == ("zygomatic", "left", CHART_VERSION)
    assert 0 <= point.relative_x_permille <= 1000


def test_points_draw_from_their_unit(session, units):
    make_point(session, units[0], amount=200)
    make_point(session, units[0], amount=50)
    unit = refreshed(units[0])
    assert (unit.drawn, unit.remaining) == (250, 750)


def test_sending_a_point_twice_stores_it_once(session, units):
    key = uuid.uuid4()
    first = make_point(session, units[0], key=key)
    again = make_point(session, units[0], key=key)
    assert again.pk == first.pk
    assert refreshed(units[0]).drawn == 200
    assert AuditEvent.objects.filter(action="point.logged").count() == 1


def test_same_key_with_other_content_is_a_conflict(session, units):
    key = uuid.uuid4()
    make_point(session, units[0], key=key)
    with pytest.raises(PointConflict, match="Point 1 was stored before with other content"):
        make_point(session, units[0], key=key, amount=300)
    assert refreshed(units[0]).drawn == 200


def test_same_key_in_another_session_is_a_conflict(session, units, injector, desk):
    key = uuid.uuid4()
    make_point(session, units[0], key=key)
    other = make_session_with_unit(injector, make_patient(desk, "Bo Li"), units[1])
    with pytest.raises(PointConflict):
        make_point(other, units[1], key=key)
    assert InjectionEntry.objects.count() == 1


def test_same_key_in_another_session_at_the_same_moment(
    session, units, injector, desk, monkeypatch
):
    """The other's point was not there when this one looked for it."""
    key = uuid.uuid4()
    make_point(session, units[0], key=key)
    other = make_session_with_unit(injector, make_patient(desk, "Bo Li"), units[1])
    monkeypatch.setattr(points, "_stored", lambda key: None)
    monkeypatch.setattr(points, "_last_number", lambda session: 0)
    with pytest.raises(PointConflict, match="in another session already"):
        make_point(other, units[1], key=key)
    with pytest.raises(IntegrityError, match="number"):
        make_point(session, units[0])
    assert InjectionEntry.objects.count() == 1
    assert refreshed(units[1]).drawn == 0


def test_lost_answer_is_repeated_after_signing_too(session, units, injector):
    key = uuid.uuid4()
    point = make_point(session, units[0], key=key)
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    assert make_point(session, units[0], key=key).pk == point.pk


def test_new_point_after_signing_is_refused(session, units, injector):
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    with pytest.raises(SessionSigned):
        make_point(session, units[0])


def test_overdrawing_is_refused_with_what_remains(session, units):
    make_point(session, units[0], amount=900)
    with pytest.raises(Overdrawn, match=r"0\.1 mL remain in unit"):
        make_point(session, units[0], amount=101)
    make_point(session, units[0], amount=100)
    assert refreshed(units[0]).is_empty


def test_unit_that_is_not_on_the_tray_is_refused(session, units):
    with pytest.raises(SessionError, match="not on the tray"):
        make_point(session, units[1])


def test_place_beside_the_face_is_refused(session, units):
    with pytest.raises(SessionError, match="not on the face"):
        make_point(session, units[0], x_dmm=1900, y_dmm=0)


def test_injector_overrules_region_and_side(session, units):
    point = make_point(session, units[0], region="infraorbital", side="midline")
    assert (point.region, point.side) == ("infraorbital", "midline")


def test_change_within_the_own_amount_is_no_overdraw(session, units, injector):
    point = make_point(session, units[0], amount=900)
    changed = change_point(
        point=point, details=point_details(units[0], amount=1000), actor=injector
    )
    assert changed.amount == 1000
    with pytest.raises(Overdrawn):
        change_point(point=point, details=point_details(units[0], amount=1001), actor=injector)
    assert refreshed(units[0]).drawn == 1000


def test_move_finds_the_new_region(session, units, injector):
    point = make_point(session, units[0], x_dmm=480, y_dmm=330)
    moved = move_point(point=point, x_dmm=0, y_dmm=1000, actor=injector)
    assert (moved.x_dmm, moved.y_dmm, moved.region, moved.side) == (0, 1000, "mental", "midline")


def test_move_keeps_a_region_the_injector_had_overruled(session, units, injector):
    point = make_point(session, units[0], region="infraorbital", side="left")
    moved = move_point(point=point, x_dmm=505, y_dmm=330, actor=injector)
    assert (moved.region, moved.side) == ("infraorbital", "left")


def test_removed_point_gives_its_amount_back_and_stays_removed(session, units, injector):
    key = uuid.uuid4()
    point = make_point(session, units[0], key=key)
    remove_point(point=point, actor=injector)
    remove_point(point=point, actor=injector)
    assert refreshed(units[0]).drawn == 0
    assert make_point(session, units[0], key=key).removed_at is not None
    assert refreshed(units[0]).drawn == 0
    with pytest.raises(SessionError, match="was removed"):
        change_point(point=point, details=point_details(units[0]), actor=injector)


def test_numbers_are_never_given_twice(session, units, injector):
    remove_point(point=make_point(session, units[0]), actor=injector)
    assert make_point(session, units[0]).number == 2


def test_each_act_leaves_one_line_in_the_audit_trail(session, units, injector):
    point = make_point(session, units[0])
    change_point(point=point, details=point_details(units[0], amount=300), actor=injector)
    move_point(point=point, x_dmm=505, y_dmm=330, actor=injector)
    remove_point(point=point, actor=injector)
    events = AuditEvent.objects.filter(subject_type="injectionentry").order_by("id")
    actions = ["point.logged", "point.changed", "point.moved", "point.removed"]
    assert [event.action for event in events] == actions
    assert {event.patient_id for event in events} == {session.patient_id}


def test_toxin_and_filler_are_drawn_in_their_own_measure(injector, owner, patient):
    toxin = make_product("Toxin", kind="toxin", content=10_000, is_single_patient=False)
    vial = make_units(owner, toxin, number="T1", quantity=1)[0]
    session = make_session(injector, patient)
    with pytest.raises(SessionError):
        make_point(session, vial, amount=400)

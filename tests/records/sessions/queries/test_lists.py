"""Lists of sessions, and what other pages show of them."""

import pytest

from records.sessions.queries.lists import (
    patient_sessions,
    signed_sessions,
    unit_points,
    unsigned_sessions,
)
from records.sessions.services.points import remove_point
from records.sessions.services.signing import sign_session
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
)


@pytest.fixture
def units(owner):
    return make_units(owner, make_product(), quantity=4)


def signed_session(injector, patient, unit, points: int = 1):
    session = make_session_with_unit(injector, patient, unit)
    for _ in range(points):
        make_point(session, unit, amount=100)
    return sign_session(session=session, remainders={unit.pk: "wasted"}, actor=injector)


def test_unsigned_and_signed_are_kept_apart(injector, patient, desk, units):
    done = signed_session(injector, patient, units[0], points=2)
    waiting = make_session(injector, make_patient(desk, "Bo Li"))
    assert [(row, row.point_count) for row in signed_sessions()] == [(done, 2)]
    assert [(row, row.point_count) for row in unsigned_sessions()] == [(waiting, 0)]


def test_patients_sessions_newest_first_with_totals(injector, patient, units):
    first = signed_session(injector, patient, units[0])
    second = signed_session(injector, patient, units[1], points=3)
    rows = patient_sessions(patient)
    assert [row.session for row in rows] == [second, first]
    assert [row.products[0].amount for row in rows] == [300, 100]
    assert rows[0].regions == ("Zygomatic region",)


@pytest.mark.parametrize("count", [1, 3])
def test_patients_sessions_are_two_queries(
    injector, patient, units, django_assert_num_queries, count
):
    for unit in units[:count]:
        signed_session(injector, patient, unit)
    with django_assert_num_queries(2):
        assert len(patient_sessions(patient)) == count


def test_units_points_leave_out_removed_ones(injector, patient, units):
    session = make_session_with_unit(injector, patient, units[0])
    remove_point(point=make_point(session, units[0]), actor=injector)
    kept = make_point(session, units[0])
    assert list(unit_points(units[0])) == [kept]

"""Several tablets at once, with real threads and real transactions, on both databases."""

import uuid
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from clinic.audit.models import AuditEvent
from clinic.staff.models import User
from records.sessions.errors import Overdrawn
from records.sessions.models import InjectionEntry, TreatmentSession
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    make_user,
    refreshed,
)

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(acts: list) -> list:
    """The result of each act, or the exception it raised; all start together."""
    start = Barrier(len(acts))

    def run(act):
        try:
            start.wait()
            return act()
        except Exception as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


@pytest.fixture
def people():
    return make_user("injector"), make_user("owner")


def vial_in_two_sessions(injector: User, owner: User):
    vial_of = make_product("Toxin", kind="toxin", content=10_000, is_single_patient=False)
    vial = make_units(owner, vial_of, quantity=1)[0]
    second = make_user("second", is_injector=True)
    sessions = [
        make_session_with_unit(person, make_patient(owner, name), vial)
        for person, name in [(injector, "Ann Example"), (second, "Bo Li")]
    ]
    return vial, sessions


def test_same_point_sent_eight_times_at_once_is_stored_once(people):
    injector, owner = people
    unit = make_units(owner, make_product())[0]
    session = make_session_with_unit(injector, make_patient(owner), unit)
    key = uuid.uuid4()
    answers = at_once([lambda: make_point(session, unit, key=key)] * 8)
    assert {answer.pk for answer in answers} == {InjectionEntry.objects.get().pk}
    assert refreshed(unit).drawn == 200
    assert AuditEvent.objects.filter(action="point.logged").count() == 1


def test_two_sessions_never_overdraw_a_shared_vial(people):
    vial, sessions = vial_in_two_sessions(*people)
    acts = [
        lambda session=session: make_point(session, vial, amount=3000, plane="intramuscular")
        for session in sessions * 4
    ]
    answers = at_once(acts)
    stored = [answer for answer in answers if isinstance(answer, InjectionEntry)]
    assert len(stored) == 3
    assert all(isinstance(answer, Overdrawn) for answer in answers if answer not in stored)
    assert (refreshed(vial).drawn, vial.remaining) == (9000, 1000)


def test_points_logged_at_once_get_numbers_without_gaps(people):
    injector, owner = people
    unit = make_units(owner, make_product())[0]
    session = make_session_with_unit(injector, make_patient(owner), unit)
    at_once([lambda: make_point(session, unit, amount=10) for _ in range(6)])
    numbers = session.points.values_list("number", flat=True)
    assert sorted(numbers) == [1, 2, 3, 4, 5, 6]


def test_starting_twice_at_once_starts_one_session(people):
    injector, owner = people
    patient = make_patient(owner)

    answers = at_once([lambda: make_session(injector, patient)] * 4)
    assert {answer.pk for answer in answers} == {TreatmentSession.objects.get().pk}

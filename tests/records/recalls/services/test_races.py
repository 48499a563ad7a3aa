"""Several people at one case, and a tablet, with real threads and real transactions."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from clinic.audit.queries import verify_chain
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome
from records.recalls.errors import CaseClosed
from records.recalls.models import CaseContact, CasePatient
from records.recalls.queries.closing import open_things
from records.recalls.queries.extent import extent_of
from records.recalls.services.closing import close_case, content_digest
from records.recalls.services.lists import refresh_call_list
from records.recalls.services.people import note_contact
from records.sessions.errors import OpeningRefused
from records.sessions.models import Opening, SessionUnit
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_patient,
    make_product,
    make_session,
    make_units,
    make_user,
    refreshed,
)
from tests.records.recalls.cases import make_case, make_treated, person_of, span

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
def clinic():
    """Owner, injector, product and four syringes of its lot."""
    owner, injector, product = make_user("owner"), make_user("injector"), make_product()
    return owner, injector, product, make_units(owner, product, quantity=4)


def told(person, actor):
    return note_contact(
        person=person, channel=Channel.PHONE, outcome=ContactOutcome.INFORMED, actor=actor
    )


def test_two_people_noting_at_once_are_both_heard(clinic):
    owner, injector, product, units = clinic
    [patient] = make_treated(owner, injector, units, ["Ann Example"])
    case = make_case(owner, span(product))
    person = person_of(case, patient)
    second = make_user("second", is_owner=True)
    answers = at_once([lambda who=who: told(person, who) for who in (owner, second) * 2])
    assert all(isinstance(answer, CaseContact) for answer in answers)
    assert person.contacts.count() == 4
    assert verify_chain().intact


def test_a_contact_comes_wholly_before_the_closing_or_is_refused(clinic):
    owner, injector, product, units = clinic
    [patient] = make_treated(owner, injector, units, ["Ann Example"])
    case = make_case(owner, span(product))
    person = person_of(case, patient)
    said = {thing.key: "Because" for thing in open_things(case, extent_of(case))}
    acts = [lambda: close_case(case=case, note="", explanations=said, actor=owner)]
    answers = at_once(acts + [lambda: told(person, owner)] * 3)
    heard = [answer for answer in answers[1:] if isinstance(answer, CaseContact)]
    assert all(isinstance(answer, CaseClosed) for answer in answers[1:] if answer not in heard)
    assert person.contacts.count() == len(heard)
    closed = refreshed(case)
    assert closed.closed_digest == content_digest(closed)


@pytest.mark.parametrize(
    "numbers", [{}, {"serial_first": "S1", "serial_last": "S9"}], ids=["lot", "serial numbers"]
)
def test_a_unit_is_opened_before_the_stop_and_pulled_or_not_at_all(clinic, numbers):
    """Whoever got in first, nothing is opened after the stop and nothing opened is forgotten."""
    owner, injector, product, units = clinic
    others = [make_user(f"colleague{n}", is_injector=True) for n in range(3)]
    sessions = [
        make_session(who, make_patient(owner, f"Patient {n}"))
        for n, who in enumerate([injector, *others])
    ]
    acts = [
        lambda session=session, unit=unit: put_on_tray(
            session=session, unit=unit, actor=session.injector
        )
        for session, unit in zip(sessions, units, strict=True)
    ]
    *opened, case = at_once([*acts, lambda: make_case(owner, span(product, **numbers))])
    assert [
        answer for answer in opened if not isinstance(answer, SessionUnit | OpeningRefused)
    ] == []
    assert case.quarantined_at is not None
    assert Opening.objects.filter(opened_at__gt=case.quarantined_at).count() == 0
    assert case.units.count() == 4


def test_two_who_look_at_a_case_at_once_add_a_late_patient_once(clinic):
    owner, injector, product, units = clinic
    case = make_case(owner, span(product), is_drill=True)
    make_treated(owner, injector, units, ["Ann Late"])
    added = at_once([lambda: refresh_call_list(case, actor=owner)] * 4)
    assert sorted(added) == [0, 0, 0, 1]
    assert CasePatient.objects.filter(case=case).count() == 1

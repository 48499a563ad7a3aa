"""The two lists: what comes late is added, and when the call list may be called complete."""

import pytest

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind
from clinic.stock.services import lock_unit, move_unit
from records.recalls.errors import RecallError
from records.recalls.queries.extent import extent_of
from records.recalls.queries.questions import questions
from records.recalls.services.lists import (
    catch_up,
    complete_list,
    refresh_call_list,
    refresh_pull_list,
)
from records.recalls.services.people import note_unreachable
from records.sessions.services.tray import put_on_tray
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    refreshed,
)
from tests.records.recalls.cases import make_case, person_of, span

pytestmark = pytest.mark.django_db


def came_late(injector, unit, name: str = "Cleo Late", **fields):
    """What a tablet without network did before it heard of the recall."""
    patient = make_patient(injector, name, **fields)
    session = make_session(injector, patient)
    put_on_tray(session=session, unit=unit, actor=injector, deviation="Done before the letter came")
    make_point(session, unit, deviation="Done before the letter came")
    return patient


def test_somebody_found_by_a_late_point_joins_once(owner, injector, case, units):
    patient = came_late(injector, units[2])
    assert refresh_call_list(case, actor=owner) == 1
    assert case.people.last().patient == patient
    assert AuditEvent.objects.filter(action="recall.person_listed", patient_id=patient.pk).exists()
    assert refresh_call_list(case, actor=owner) == 0
    assert case.people.count() == 3


def test_nothing_late_takes_a_query_or_two(owner, case, django_assert_num_queries):
    extent = extent_of(case)
    with django_assert_num_queries(2):
        assert refresh_call_list(case, actor=owner, extent=extent) == 0
    with django_assert_num_queries(1):
        assert refresh_pull_list(case, actor=owner, extent=extent) == 0


def test_a_unit_that_a_count_found_is_pulled_too(owner, product, units):
    move_unit(lock_unit(units[0].pk), MovementKind.MISSING, amount=1000, actor=owner, reason="Gone")
    case = make_case(owner, span(product))
    assert case.units.count() == 4
    move_unit(lock_unit(units[0].pk), MovementKind.FOUND, amount=1000, actor=owner, reason="There")
    assert refresh_pull_list(case, actor=owner) == 1
    assert case.units.last().unit == units[0]


def test_a_case_that_is_closed_meanwhile_is_shown_as_it_is(owner, injector, case, units, product):
    came_late(injector, units[2])
    extent = extent_of(case)
    type(case).objects.filter(pk=case.pk).update(
        closed_at=case.opened_at, closed_by=owner, closed_digest="x"
    )
    catch_up(case, actor=owner, extent=extent)
    assert not case.is_open
    assert case.people.count() == 2


def test_the_list_is_complete_when_everybody_can_be_reached_or_somebody_said_why(
    owner, injector, case, units
):
    nobody_knows = came_late(injector, units[2])
    with pytest.raises(RecallError, match=f"{nobody_knows.record_number} can be reached in no way"):
        complete_list(case=case, actor=owner)
    refresh_call_list(case, actor=owner)
    note_unreachable(person=person_of(case, nobody_knows), note="Left no details", actor=owner)
    complete_list(case=case, actor=owner)
    stored = refreshed(case)
    assert (stored.list_by, stored.list_at is not None) == (owner, True)
    with pytest.raises(RecallError, match="complete already"):
        complete_list(case=case, actor=owner)


@pytest.mark.parametrize(
    "way", [{"phone": "07700 900111"}, {"email": "cleo@mail.example"}, {"address": "1 Sample St"}]
)
def test_any_way_will_do(owner, injector, case, units, way):
    came_late(injector, units[2], **way)
    complete_list(case=case, actor=owner)


def test_a_note_can_be_taken_back(owner, case, treated):
    person = person_of(case, treated[0])
    note_unreachable(person=person, note="Moved away", actor=owner)
    note_unreachable(person=person, note=" ", actor=owner)
    assert refreshed(person).unreachable_note == ""
    told = AuditEvent.objects.filter(action="recall.no_way_noted", patient_id=treated[0].pk)
    assert told.count() == 2


def test_lots_that_may_be_meant_are_asked_about_with_the_reason(owner, product):
    other = make_product("Other filler 1 mL", maker="Other Maker")
    for of, number in [(product, "L0T42"), (other, "LOT42"), (other, "lot-42"), (product, "LOT43")]:
        make_units(owner, of, number=number)
    make_units(owner, product)
    case = make_case(owner, span(product))
    asked = [(each.lot.number, each.lot.product, each.why) for each in questions(extent_of(case))]
    assert asked == [
        ("L0T42", product, "is easily taken for LOT42"),
        ("LOT42", other, "has the same number, another product"),
        ("lot-42", other, "is easily taken for LOT42, another product"),
    ]


def test_a_lot_that_cannot_be_compared_with_a_range_is_asked_about(owner, product):
    for number in ("A100", "B7-2", "A300"):
        make_units(owner, product, number=number, quantity=3)
    case = make_case(owner, span(product, "A050", "A199"))
    [asked] = questions(extent_of(case))
    assert (asked.lot.number, asked.units, asked.on_hand) == ("B7-2", 3, 3)
    assert asked.why == "cannot be compared with “lots A050 to A199”; held until it is"
    assert refreshed(asked.lot).is_quarantined

"""What a caller says finds the patient, the appointment and the lot, on both databases alike."""

from datetime import UTC, date, datetime

import pytest
import time_machine

from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from records.search.queries import Found, find
from tests.factories import make_appointment, make_patient, make_product, make_units, make_user

pytestmark = pytest.mark.django_db
MONDAY = datetime(2026, 11, 30, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def a_monday():
    with time_machine.travel(MONDAY, tick=False):
        yield


@pytest.fixture
def visits(desk, injector):
    """Two patients, one practitioner each; a visit that was, one today, two to come."""
    lea = make_user("léa", is_injector=True)
    maria = make_patient(desk, "María López", birth_date=date(1965, 10, 4))
    john = make_patient(desk, "John Smith", birth_date=date(1965, 4, 10))
    for patient, practitioner, when in [
        (maria, injector, "2026-11-27 10:30"), (john, lea, "2026-11-30 15:00"),
        (maria, lea, "2026-12-04 10:30"), (john, injector, "2026-12-04 11:30"),
    ]:  # fmt: skip
        make_appointment(desk, patient, practitioner, when)


def found(typed: str, *, limit: int = 5, sees_stock: bool = True) -> Found:
    return find(typed, limit=limit, sees_stock=sees_stock)


def people(typed: str) -> list[str]:
    return [patient.full_name for patient in found(typed).patients.patients]


def times(typed: str) -> list[str]:
    return [f"{row.starts_at:%d %H:%M}" for row in found(typed).visits.rows]


# What is said, and the names of the patients found; one test each, for the fixture is dear.
WHO = {
    "4 Oct 1965": ["María López"],
    "October 4 1965": ["María López"],
    "4.10.65": ["María López"],
    "4/10/65": ["María López", "John Smith"],  # may be read month first
    "john 4/10/65": ["John Smith"],
    "lopez friday 10:30": ["María López"],
    "jhon smiht": ["John Smith"],  # a slip in each word
    "lopes": ["María López"],
    "smith maria": [],
}
# What is said, and the day and time of the appointments found.
WHEN = {
    "friday": ["04 10:30", "04 11:30"],
    "4 Dec": ["04 10:30", "04 11:30"],
    "friday half past ten": ["04 10:30"],
    "at 3": ["30 15:00"],  # today, in the afternoon
    "today": ["30 15:00"],
    "last friday": ["27 10:30"],
    "27.11.2026": ["27 10:30"],
    "maria friday": ["04 10:30"],
    "friday with lea": ["04 10:30"],  # the practitioner's name
    "friday jhon": ["04 11:30"],
    "lopez": ["04 10:30"],  # what she has before her
    "4 Oct 1965": ["04 10:30"],
    "tomorrow": [],
    "friday 10": [],
    "nobody friday": [],
}


@pytest.mark.usefixtures("visits")
def test_who_is_found():
    assert {typed: people(typed) for typed in WHO} == WHO


@pytest.mark.usefixtures("visits")
def test_which_appointments_are_found():
    assert {typed: times(typed) for typed in WHEN} == WHEN


@pytest.mark.usefixtures("visits")
def test_a_day_and_time_without_a_visit_are_named():
    for typed, words in {
        "friday 12:30": "No visit on Friday 4 December at 12:30",
        "tuesday 9": "No visit on Tuesday 1 December at 09:00",
        "nobody friday": "No visit of “nobody” on Friday 4 December",
        "12 Jan": "No visit on Tuesday 12 January 2027",
    }.items():
        assert getattr(found(typed).visits.missed, "words", None) == words
    assert [found(typed).visits.missed for typed in ("friday", "5 Oct 1965", "nobody")] == [
        None
    ] * 3


def test_a_cancelled_appointment_is_found_by_its_day_and_is_not_a_next_one(desk, injector):
    patient = make_patient(desk, "María López")
    visit = make_appointment(desk, patient, injector, "2026-12-04 10:30")
    set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="Is ill")
    assert (times("friday"), times("lopez")) == (["04 10:30"], [])


def test_a_lot_is_found_by_number_product_or_code(owner):
    """The product number has the prefix 952, which GS1 keeps for examples; its check digit fits."""
    gel = make_product("Harbour gel", gtin="09521234543213")
    make_units(owner, gel, number="ABC123", quantity=2)
    make_units(owner, make_product("Other"), number="XYZ999")
    for typed in ("ABC123", "abc12", "09521234543213", "9521234543213", "gel", "Harbour 123",
                  "(01)09521234543213(10)ABC123"):  # fmt: skip
        rows = found(typed).lots.rows
        assert [(row.lot.number, row.stock.on_hand) for row in rows] == [("ABC123", 2)], typed


def test_a_unit_is_found_by_its_own_number(owner):
    unit = make_units(owner, make_product(), quantity=2)[1]
    assert found(unit.label.lower()).lots.units == [unit]


def test_lots_are_for_clinical_staff(owner):
    make_units(owner, make_product("Harbour gel"), number="ABC123")
    answer = found("ABC123", sees_stock=False)
    assert (answer.lots, answer.count) == (None, 0)


def test_each_kind_stops_at_the_limit_and_says_how_many_there_are(desk, injector, owner):
    for number in range(4):
        patient = make_patient(desk, f"Ann Number{number}")
        make_appointment(desk, patient, injector, f"2026-12-04 1{number}:00")
        make_units(owner, make_product(f"Ann gel {number}"), quantity=1)
    answer = found("ann", limit=3)
    assert (len(answer.patients.patients), answer.patients.more) == (3, True)
    assert (len(answer.lots.rows), answer.lots.total) == (3, 4)
    friday = found("friday", limit=3).visits
    assert (len(friday.rows), friday.total, friday.more) == (3, 4, True)


def test_whatever_is_typed_finds_nothing_that_is_not_there(desk):
    make_patient(desk, "Zed Nobody")
    for typed in (
        "",
        " ",
        "%",
        "'; --",
        "\x00",
        "x" * 200,
        "1 " * 100,
        "a " * 100,
        "(01)",
        "9" * 40,
    ):
        assert found(typed).count == 0, typed

"""The database holds the times of people and rooms, whatever path a row comes by."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction

from records.appointments.models import Appointment, HeldCell
from tests import factories

pytestmark = pytest.mark.django_db
TEN = datetime(2026, 12, 1, 10, tzinfo=UTC)
CELL = int(TEN.timestamp()) // 300


@pytest.fixture
def people(injector, patient):
    return injector, patient


@pytest.fixture
def other(desk):
    return factories.make_patient(desk, "Ana Other")


def row(people, **fields):
    practitioner, patient = people
    values = {"starts_at": TEN, "minutes": 30, "kind": "treatment"} | fields
    return Appointment(**{"practitioner": practitioner, "patient": patient} | values)


def cells(appointment, **where):
    return list(
        HeldCell.objects.filter(appointment=appointment, **where)
        .order_by("cell")
        .values_list("cell", flat=True)
    )


def test_practitioner_and_room_are_held_with_preparation_and_buffer_the_patient_is_not(people):
    one = row(people, room=factories.make_room(), preparation_minutes=10, buffer_minutes=5)
    one.save()
    assert cells(one) == list(range(CELL - 2, CELL + 7))
    assert cells(one, patient__isnull=False) == list(range(CELL, CELL + 6))
    assert cells(one, room=one.room) == cells(one)


@pytest.mark.parametrize(
    ("minutes", "refused"), [(-30, False), (-25, True), (0, True), (25, True), (30, False)]
)
def test_a_second_row_in_the_time_is_refused_and_one_beside_it_is_not(
    people, other, minutes, refused
):
    Appointment.objects.bulk_create([row(people)])
    second = row(people, patient=other, starts_at=TEN + timedelta(minutes=minutes))
    if not refused:
        Appointment.objects.bulk_create([second])
        return
    with pytest.raises(IntegrityError, match="practitioner"), transaction.atomic():
        Appointment.objects.bulk_create([second])


def test_a_room_and_a_patient_are_held_as_well(people, other):
    room = factories.make_room()
    row(people, room=room).save()
    someone = factories.make_user("someone", is_injector=True)
    with pytest.raises(IntegrityError, match="patient"), transaction.atomic():
        row(people, practitioner=someone).save()
    with pytest.raises(IntegrityError, match="room"), transaction.atomic():
        row(people, practitioner=someone, patient=other, room=room).save()


def test_a_row_that_is_moved_by_hand_takes_its_time_along(people):
    one = row(people)
    one.save()
    Appointment.objects.filter(pk=one.pk).update(starts_at=TEN + timedelta(hours=1), minutes=10)
    assert cells(one) == [CELL + 12, CELL + 13]
    row(people).save()
    with pytest.raises(IntegrityError), transaction.atomic():
        Appointment.objects.filter(pk=one.pk).update(starts_at=TEN)
    assert cells(one) == [CELL + 12, CELL + 13]


def test_what_does_not_take_place_holds_nothing_until_it_does_again(people):
    one = row(people)
    one.save()
    Appointment.objects.filter(pk=one.pk).update(state="did_not_attend")
    assert cells(one) == []
    Appointment.objects.filter(pk=one.pk).update(state="arrived")
    assert cells(one) == list(range(CELL, CELL + 6))


@pytest.mark.parametrize(
    "fields", [{"starts_at": TEN + timedelta(minutes=2)}, {"minutes": 12}], ids=str
)
def test_times_between_the_marks_are_refused(people, fields):
    with pytest.raises(IntegrityError, match="five minutes"), transaction.atomic():
        row(people, **fields).save()

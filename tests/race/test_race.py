"""
Eight processes, each with a connection of its own, book the same time again and again.

`make race` runs 1,000 rounds; `make test` a few. RACE_ROUNDS says how many.
"""

import os
import sys
from datetime import timedelta

import pytest
from django.db.models import Count

from records.appointments.models import Appointment, HeldCell
from records.appointments.services.booking import book
from tests.factories import make_patient, make_room, make_user
from tests.race.desks import FIRST, MINUTES, WAYS, House, race

DESKS = 8
ROUNDS = int(os.environ.get("RACE_ROUNDS", "20"))


@pytest.fixture
def house(desk):
    people = [make_user(f"injector{number}", is_injector=True) for number in range(DESKS)]
    patients = [make_patient(desk, f"Ann Example {number}") for number in range(DESKS)]
    own = [
        book(
            appointment=Appointment(
                practitioner=person, patient=patient, kind="call", minutes=MINUTES,
                starts_at=FIRST - timedelta(days=1),
            ),
            actor=desk,
        )
        for person, patient in zip(people, patients, strict=True)
    ]  # fmt: skip
    rooms = [make_room(f"Room {number}") for number in range(DESKS)]
    return House(desk, people, patients, rooms, own)


@pytest.mark.django_db(transaction=True)
def test_of_eight_processes_that_want_one_time_exactly_one_gets_it(house, capsys):
    outcome = race(house, ROUNDS)
    with capsys.disabled():
        sys.stdout.write(f"\n{DESKS} processes: {outcome.in_words}\n")
    assert outcome.broken == []
    assert outcome.winners == [1] * ROUNDS
    assert outcome.lost == ROUNDS * (DESKS - 1)
    booked = sum(WAYS[turn % len(WAYS)].__name__ != "moved_there" for turn in range(ROUNDS))
    assert Appointment.objects.count() == DESKS + booked
    assert not_held_as_booked() == []


def not_held_as_booked() -> list[int]:
    """Appointments whose cells are not those of their times."""
    counted = Appointment.objects.annotate(held=Count("cells"))
    wrong = [one.pk for one in counted if one.held != one.minutes // 5]
    return wrong or list(HeldCell.objects.filter(patient=None).values_list("pk", flat=True))

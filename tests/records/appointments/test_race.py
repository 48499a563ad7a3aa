"""Several people booking at the same moment."""

import threading
from datetime import UTC, datetime

import pytest
from django.db import connection

from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment
from records.appointments.services.booking import book
from tests.factories import make_patient, make_user

STARTS_AT = datetime(2026, 12, 1, 10, 0, tzinfo=UTC)
PEOPLE = 8


def at_once(acts) -> list[str]:
    """Run the acts in threads of their own, let go together; what became of each."""
    gate, outcomes = threading.Barrier(len(acts)), []

    def run(act) -> None:
        try:
            gate.wait(timeout=30)
            act()
            outcomes.append("booked")
        except TimeTaken:
            outcomes.append("refused")
        except Exception as error:  # anything else must show in the assertion, not be lost
            outcomes.append(repr(error))
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return sorted(outcomes)


def booking(patient, practitioner, desk):
    appointment = Appointment(
        patient=patient, practitioner=practitioner, kind="review", starts_at=STARTS_AT
    )
    return lambda: book(appointment=appointment, actor=desk)


@pytest.mark.django_db(transaction=True)
def test_one_of_eight_bookings_of_the_same_time_wins(desk, injector):
    patients = [make_patient(desk, f"Ann Example {number}") for number in range(PEOPLE)]
    outcomes = at_once([booking(patient, injector, desk) for patient in patients])
    assert outcomes == ["booked"] + ["refused"] * (PEOPLE - 1)
    assert Appointment.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_patient_is_booked_once_though_eight_practitioners_are_free(desk, patient):
    injectors = [make_user(f"injector{number}", is_injector=True) for number in range(PEOPLE)]
    outcomes = at_once([booking(patient, injector, desk) for injector in injectors])
    assert outcomes == ["booked"] + ["refused"] * (PEOPLE - 1)
    assert Appointment.objects.count() == 1

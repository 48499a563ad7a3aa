"""A Monday morning on which a treatment of the next day is cancelled, and people wait for it."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from records.appointments.services.states import set_state
from records.demo.clock import clock_at
from records.waiting_list.models import FreedTime, WaitingEntry
from records.waiting_list.services.entries import add_entry
from tests.factories import make_appointment, make_patient

MONDAY = date(2027, 3, 1)
TUESDAY_TEN = "2027-03-02 10:00"


def moment(text: str):
    """ "2027-03-01 09:00" by the clinic's clock."""
    return timezone.make_aware(timezone.datetime.fromisoformat(text))


@pytest.fixture
def monday():
    """It is Monday, 09:00."""
    with clock_at(moment("2027-03-01 09:00")):
        yield


@pytest.fixture
def wait(desk, monday):
    """`wait("Ann Example", days=3)`: has waited so long for a consultation."""

    def put_on_the_list(name: str, *, days: int = 1, **fields) -> WaitingEntry:
        patient = fields.pop("patient", None) or make_patient(desk, name)
        fields = {"kind": "consultation", "first_on": MONDAY, "notice_hours": 0, **fields}
        with clock_at(timezone.now() - timedelta(days=days)):
            return add_entry(entry=WaitingEntry(patient=patient, **fields), actor=desk)

    return put_on_the_list


def free(actor, practitioner, starts: str = TUESDAY_TEN, **fields) -> FreedTime:
    """Somebody books that time and cancels it."""
    patient = make_patient(actor, f"Cancels {starts}")
    appointment = make_appointment(actor, patient, practitioner, starts, **fields)
    set_state(appointment=appointment, state="cancelled", reason="Ill", actor=actor)
    return FreedTime.objects.get(appointment=appointment)


@pytest.fixture
def freed(desk, injector, monday):
    """Tuesday, 10:00 to 10:30."""
    return free(desk, injector)

"""Several people, the patient and the worker at one offer at the same moment: one outcome."""

import threading
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from records.appointments.enums import AppointmentState
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment
from records.waiting_list.errors import EntryClosed, NobodyFits, OfferClosed
from records.waiting_list.models import Offer, WaitingEntry
from records.waiting_list.services.offers import (
    accept,
    decline,
    expire_offers,
    offer_time,
    remove_entry,
)
from tests.factories import make_appointment, make_patient, make_waiting_entry, refreshed
from tests.records.waiting_list.conftest import free

pytestmark = pytest.mark.django_db(transaction=True)
REFUSALS = (OfferClosed, EntryClosed, NobodyFits, TimeTaken)


def at_once(*acts) -> list[str]:
    """Run the acts in threads of their own, let go together; what became of each, in order."""
    gate, outcomes = threading.Barrier(len(acts)), [""] * len(acts)

    def run(number, act) -> None:
        try:
            gate.wait(timeout=30)
            act()
            outcomes[number] = "done"
        except REFUSALS:
            outcomes[number] = "refused"
        except Exception as error:  # anything else must show in the assertion, not be lost
            outcomes[number] = repr(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=each) for each in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return outcomes


@pytest.fixture
def wednesday():
    """A Wednesday to come, ten o'clock: nobody has set hours, so everybody works then."""
    day = timezone.localdate() + timedelta(days=7)
    return f"{day + timedelta(days=2 - day.weekday())} 10:00"


@pytest.fixture
def freed(desk, injector, wednesday):
    return free(desk, injector, wednesday)


@pytest.fixture
def entries(desk):
    """Three who wait, in order."""
    fields = {"kind": "consultation", "notice_hours": 0}
    people = [make_patient(desk, name) for name in ("First", "Second", "Third")]
    return [make_waiting_entry(desk, patient, **fields) for patient in people]


def test_two_desks_offer_one_time_once(desk, owner, freed, entries):
    outcomes = at_once(
        *(lambda actor=actor: offer_time(freed=freed, actor=actor) for actor in (desk, owner))
    )
    assert sorted(outcomes) == ["done", "refused"]
    assert Offer.objects.get().entry == entries[0]


def test_two_desks_offer_it_to_two_people_and_one_of_them_has_it(desk, owner, freed, entries):
    outcomes = at_once(
        lambda: offer_time(freed=freed, entry=entries[1], actor=desk),
        lambda: offer_time(freed=freed, entry=entries[2], actor=owner),
    )
    assert sorted(outcomes) == ["done", "refused"]
    assert Offer.objects.count() == 1


def test_offering_and_booking_by_somebody_else_end_with_one_of_them(
    desk, injector, freed, entries, wednesday
):
    quick = make_patient(desk, "Quick")
    outcomes = at_once(
        lambda: offer_time(freed=freed, actor=desk),
        lambda: make_appointment(desk, quick, injector, wednesday),
    )
    assert sorted(outcomes) == ["done", "refused"]
    assert Appointment.objects.taking_place().count() == 1


def test_who_accepts_declines_and_ends_an_offer_at_once_agree_on_one_answer(
    desk, owner, freed, entries
):
    offer = offer_time(freed=freed, actor=desk)
    outcomes = at_once(
        lambda: accept(offer),
        lambda: accept(offer, actor=owner),
        lambda: decline(offer, actor=desk),
        lambda: expire_offers(offer.appointment.held_until),
    )
    assert set(outcomes) <= {"done", "refused"}
    stored, held = refreshed(offer), refreshed(offer.appointment)
    if stored.answer == "accepted":
        assert (held.state, outcomes[2]) == (AppointmentState.BOOKED, "refused")
        assert refreshed(entries[0]).outcome == "booked"
    else:
        assert held.state == AppointmentState.CANCELLED
        assert outcomes[:2] == ["refused", "refused"]
        assert Offer.objects.open().get().entry == entries[1]


@pytest.mark.parametrize("press", ["take", "book"])
def test_an_offer_that_has_just_ended_goes_to_one_of_those_who_want_the_time(
    desk, injector, freed, entries, wednesday, press
):
    """The patient answers, the worker ends it, a colleague books over it; its time has run out."""
    offer = offer_time(freed=freed, actor=desk)
    Appointment.objects.filter(pk=offer.appointment_id).update(held_until=timezone.now())
    quick = make_patient(desk, "Quick")
    acts = {
        "take": lambda: accept(offer),
        "book": lambda: make_appointment(desk, quick, injector, wednesday),
    }
    outcomes = at_once(expire_offers, expire_offers, acts[press])
    assert outcomes[:2] == ["done", "done"]
    assert refreshed(offer).answer == "expired"
    assert Appointment.objects.taking_place().count() == 1
    if press == "take":
        assert outcomes[2] == "refused"
    if outcomes[2] == "refused":
        assert Offer.objects.open().get().entry == entries[1]


def test_taking_somebody_off_and_offering_them_a_time_end_with_one_of_them(desk, freed, entries):
    first = entries[0]
    outcomes = at_once(
        lambda: remove_entry(entry=first, reason="Moved away", actor=desk),
        lambda: offer_time(freed=freed, entry=first, actor=desk),
    )
    assert set(outcomes) <= {"done", "refused"}
    gone = WaitingEntry.objects.standing().filter(pk=first.pk).count() == 0
    held = Offer.objects.open().filter(entry=first).exists()
    assert gone != held


def test_the_same_patient_is_booked_and_accepts_at_once(desk, injector, freed, entries, wednesday):
    offer = offer_time(freed=freed, actor=desk)
    other = wednesday.replace("10:00", "14:00")
    outcomes = at_once(
        lambda: accept(offer),
        lambda: make_appointment(desk, offer.entry.patient, injector, other),
    )
    assert outcomes[1] == "done"
    answer = {"done": "accepted", "refused": "declined"}[outcomes[0]]
    assert refreshed(offer).answer == answer
    assert refreshed(entries[0]).outcome == "booked"
    assert not Offer.objects.open().filter(entry=entries[0]).exists()

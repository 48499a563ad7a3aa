"""A time that came free is offered in order, and each offer has one outcome."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.hours.models import Absence
from clinic.policy.models import ClinicPolicy
from clinic.visit_kinds.models import VisitKind
from records.appointments.errors import AppointmentClosed, TimeTaken
from records.appointments.models import Appointment
from records.appointments.services.moving import Whereto, move
from records.appointments.services.states import set_state
from records.demo.clock import clock_at
from records.waiting_list import listeners
from records.waiting_list.errors import (
    EntryClosed,
    NobodyFits,
    OfferClosed,
    ReasonMissing,
    TooLate,
)
from records.waiting_list.models import FreedTime, Offer
from records.waiting_list.queries.matching import open_time, open_times
from records.waiting_list.services.entries import change_entry
from records.waiting_list.services.offers import (
    accept,
    decline,
    expire_offers,
    leave_time,
    offer_time,
    remove_entry,
    withdraw,
)
from tests.factories import make_appointment, make_patient, make_room, make_user, refreshed
from tests.records.waiting_list.conftest import free, moment

pytestmark = pytest.mark.django_db


def names(time) -> list[str]:
    return [match.entry.patient.full_name for match in time.matches]


def whom(offer) -> str:
    return offer.entry.patient.full_name


def now_held() -> Offer:
    return Offer.objects.open().get()


# What came free, and for whom


def test_a_cancelled_time_is_seen_with_everybody_who_fits_in_order(wait, freed):
    wait("Third", days=1)
    wait("First", days=0, is_urgent=True, urgent_reason="Wedding on Friday")
    wait("Second", days=5)
    wait("Afternoons only", days=9, part="afternoon")
    [time] = open_times()
    assert time.freed == freed
    assert names(time) == ["First", "Second", "Third"]


def test_who_gave_the_time_up_is_not_offered_it(wait, desk, injector):
    entry = wait("Wants it sooner")
    appointment = make_appointment(desk, entry.patient, injector, "2027-03-02 10:00", kind="review")
    set_state(appointment=appointment, state="cancelled", reason="Too late", actor=desk)
    assert open_times() == []


def test_a_time_that_is_left_by_moving_is_seen(wait, desk, injector, patient):
    wait("Waits")
    appointment = make_appointment(desk, patient, injector, "2027-03-02 10:00")
    there = Whereto(moment("2027-03-03 10:00"), 30, injector, None)
    move(appointment=appointment, to=there, actor=desk)
    assert [str(time.freed) for time in open_times()] == ["2027-03-02 10:00 with Ida Injector"]
    # The same place anew, as a drag that ends where it began, frees nothing.
    move(appointment=appointment, to=there, actor=desk)
    assert FreedTime.objects.count() == 1


@pytest.mark.parametrize("state", ["cancelled", "did_not_attend"])
def test_a_visit_that_falls_through_before_its_time_frees_it(
    desk, injector, patient, monday, state
):
    appointment = make_appointment(desk, patient, injector, "2027-03-01 16:00")
    set_state(appointment=appointment, state=state, reason="Called", actor=desk)
    assert FreedTime.objects.get().freed_by == desk


def test_a_time_that_has_begun_is_not_remembered(wait, desk, injector, patient):
    wait("Waits")
    appointment = make_appointment(desk, patient, injector, "2027-03-01 09:00")
    set_state(appointment=appointment, state="did_not_attend", actor=desk)
    assert not FreedTime.objects.exists()


def test_a_time_on_which_nobody_works_or_that_was_booked_again_fits_nobody(
    wait, desk, injector, freed
):
    wait("Waits")
    later = free(desk, injector, "2027-03-03 10:00")
    assert len(open_times()) == 2
    make_appointment(desk, make_patient(desk, "Quick"), injector, "2027-03-02 09:45")
    Absence.objects.create(
        person=injector, kind="leave",
        starts_at=moment("2027-03-03 00:00"), ends_at=moment("2027-03-04 00:00"),
    )  # fmt: skip
    # Of the first a quarter of an hour is left, and it goes on: the free time after it counts.
    [time] = open_times()
    assert time.freed == freed
    assert timezone.localtime(time.matches[0].starts_at).strftime("%H:%M") == "10:15"
    assert open_time(later).matches == []


def test_a_room_that_suits_is_found_with_the_time(wait, desk, injector, freed):
    room = make_room()
    kind = VisitKind.objects.create(kind="consultation", minutes=30)
    kind.rooms.add(room)
    wait("Waits")
    offer = offer_time(freed=freed, actor=desk)
    assert (offer.appointment.room, offer.appointment.site) == (room, room.site)
    decline(offer, actor=desk)
    someone = make_user("someone", is_injector=True)
    held = {"room": room, "minutes": 15}
    make_appointment(desk, make_patient(desk, "Inside"), someone, "2027-03-02 10:00", **held)
    wait("Waits too")
    assert timezone.localtime(open_time(freed).matches[0].starts_at).strftime("%H:%M") == "10:15"


def test_matching_takes_the_same_queries_for_one_and_for_three(
    wait, desk, injector, freed, django_assert_num_queries
):
    wait("One")
    with django_assert_num_queries(11) as one:
        open_times()
    for number in range(3):
        wait(f"More {number}", practitioner=injector)
        free(desk, injector, f"2027-03-0{number + 3} 11:00")
    with django_assert_num_queries(len(one)):
        assert len(open_times()) == 4


# Offering


def test_one_press_offers_it_to_the_first_and_holds_it(wait, desk, injector, freed):
    wait("Second", days=1)
    wait("First", days=2)
    heard = []
    listeners.register(heard.append)
    try:
        offer = offer_time(freed=freed, actor=desk)
    finally:
        listeners._registered.remove(heard.append)
    assert whom(offer) == "First"
    assert heard == [offer]
    held = offer.appointment
    assert (held.state, held.kind, held.minutes) == ("offered", "consultation", 30)
    assert held.held_until == moment("2027-03-01 11:00")
    told = AuditEvent.objects.filter(action="waiting_list.offered").get()
    assert (told.actor, told.patient_id) == (desk, offer.entry.patient_id)
    with pytest.raises(TimeTaken, match="is offered to somebody on the waiting list until 11:00"):
        make_appointment(desk, make_patient(desk, "Quick"), injector, "2027-03-02 10:15")
    with pytest.raises(TimeTaken, match="is offered to the patient on the waiting list"):
        make_appointment(desk, offer.entry.patient, injector, "2027-03-02 10:00", kind="review")


def test_in_the_evening_an_offer_lasts_into_the_next_morning(wait, desk, injector):
    wait("First")
    late = free(desk, injector, "2027-03-04 10:00")
    with clock_at(moment("2027-03-01 19:00")):
        held = offer_time(freed=late, actor=desk).appointment
        assert held.held_until == moment("2027-03-02 09:00")
    with clock_at(moment("2027-03-02 07:00")), pytest.raises(TimeTaken, match="until 09:00"):
        make_appointment(desk, make_patient(desk, "Quick"), injector, "2027-03-04 10:00")


def test_a_time_is_not_offered_shortly_before_it_starts(wait, desk, freed):
    wait("First")
    with clock_at(moment("2027-03-02 09:00")), pytest.raises(TooLate):
        offer_time(freed=freed, actor=desk)
    assert not Offer.objects.exists()


def test_who_needs_notice_is_held_a_time_no_longer_than_they_need_it(wait, desk, injector):
    """Tuesday at ten with a day's notice: from Monday at nine it is held for an hour, not two."""
    wait("Needs a day", days=9, notice_hours=24)
    time = free(desk, injector, "2027-03-02 10:00")
    assert offer_time(freed=time, actor=desk).appointment.held_until == moment("2027-03-01 10:00")


def test_whose_notice_leaves_no_time_to_answer_is_passed_over_and_can_still_be_called(
    wait, desk, freed
):
    """With 25 hours' notice for Tuesday at ten, Monday at nine is the last moment to hear of it."""
    no_time = wait("Hears too late", days=9, notice_hours=25)
    assert names(open_time(freed)) == ["Hears too late"]
    with pytest.raises(TooLate, match="call, and book it directly"):
        offer_time(freed=freed, actor=desk)
    wait("Second")
    with pytest.raises(TooLate):
        offer_time(freed=freed, entry=no_time, actor=desk)
    assert whom(offer_time(freed=freed, actor=desk)) == "Second"


def test_a_visit_longer_than_what_came_free_says_that_it_runs_on(wait, desk, injector, freed):
    wait("Long", days=2, minutes=45)
    wait("Short", days=1, minutes=30)
    assert [(f"{timezone.localtime(one.ends_at):%H:%M}", one.runs_on)
            for one in open_time(freed).matches] == [("10:45", True), ("10:30", False)]  # fmt: skip


def test_a_certain_one_can_be_chosen_if_they_fit(wait, desk, freed):
    wait("First", days=9)
    second, other = wait("Second"), wait("Other", last_on="2027-03-01")
    with pytest.raises(NobodyFits):
        offer_time(freed=freed, entry=other, actor=desk)
    assert whom(offer_time(freed=freed, entry=second, actor=desk)) == "Second"


def test_nobody_is_offered_two_times_at_once(wait, desk, injector, freed):
    wait("Only one")
    later = free(desk, injector, "2027-03-03 10:00")
    offer_time(freed=freed, actor=desk)
    with pytest.raises(NobodyFits):
        offer_time(freed=later, actor=desk)


# Answers


def test_who_accepts_is_booked_and_leaves_the_list(wait, desk, freed):
    entry = wait("First")
    wait("Second", days=0)
    offer = offer_time(freed=freed, actor=desk)
    accept(offer)
    accept(offer, actor=desk)  # pressed again
    entry, booked = refreshed(entry), Appointment.objects.get(pk=offer.appointment_id)
    assert (booked.state, booked.held_until) == ("booked", None)
    assert (entry.outcome, entry.appointment) == ("booked", booked)
    assert AuditEvent.objects.filter(action="waiting_list.offer_accepted").count() == 1
    assert not Offer.objects.open().exists()
    with pytest.raises(OfferClosed, match="accepted"):
        decline(offer, actor=desk)


def test_who_declines_waits_on_and_the_next_is_offered_it(wait, desk, freed):
    first = wait("First", days=2)
    wait("Second", days=1)
    decline(offer_time(freed=freed, actor=desk), actor=desk, reason="Away")
    assert refreshed(first).is_standing
    assert whom(now_held()) == "Second"
    assert now_held().offered_by is None
    decline(now_held(), actor=desk)
    # Nobody is left; the first is not asked again about the same time.
    assert not Offer.objects.open().exists()
    assert open_times() == []


def test_an_offer_that_nobody_answers_ends_and_goes_on(wait, desk, freed):
    wait("First", days=2)
    wait("Second", days=1)
    offer = offer_time(freed=freed, actor=desk)
    with clock_at(moment("2027-03-01 10:59")):
        assert expire_offers() == 0
    with clock_at(moment("2027-03-01 11:00")):
        with pytest.raises(OfferClosed, match="ended on 1 March at 11:00"):
            accept(offer)
        call_command("waiting_list_tick", stdout=StringIO())
        assert refreshed(offer).answer == "expired"
        assert whom(now_held()) == "Second"
        assert now_held().appointment.held_until == moment("2027-03-01 13:00")
        assert expire_offers() == 0


def test_the_desk_is_asked_where_the_clinic_wants_that(wait, desk, freed):
    ClinicPolicy.objects.create(offers_go_on=False)
    wait("First", days=2)
    wait("Second", days=1)
    decline(offer_time(freed=freed, actor=desk), actor=desk)
    expire_offers()
    assert not Offer.objects.open().exists()
    assert names(open_times()[0]) == ["Second"]


def test_what_stopped_half_way_goes_on_later(wait, desk, freed, monkeypatch):
    """The worker is killed between giving a time back and offering it to the next."""
    wait("First", days=2)
    wait("Second", days=1)
    offer = offer_time(freed=freed, actor=desk)
    with monkeypatch.context() as patch:
        patch.setattr("records.waiting_list.services.offers._go_on", lambda freed: None)
        decline(offer, actor=desk)
    assert not Offer.objects.open().exists()
    expire_offers()
    assert whom(now_held()) == "Second"


def test_an_offer_that_is_taken_back_goes_to_nobody(wait, desk, freed):
    wait("First", days=2)
    wait("Second", days=1)
    offer = offer_time(freed=freed, actor=desk)
    with pytest.raises(ReasonMissing):
        withdraw(offer, reason=" ", actor=desk)
    withdraw(offer, reason="The room is needed", actor=desk)
    expire_offers()
    assert not Offer.objects.open().exists()
    assert refreshed(offer.appointment).cancel_reason == "The room is needed"
    # Taken back by mistake: who was asked may be asked again.
    assert names(open_times()[0]) == ["First", "Second"]


def test_a_time_that_is_left_free_goes_to_nobody(wait, desk, freed):
    wait("First", days=2)
    wait("Second", days=1)
    offer = offer_time(freed=freed, actor=desk)
    leave_time(freed=freed, actor=desk)
    leave_time(freed=freed, actor=desk)
    assert open_times() == []
    decline(offer, actor=desk)
    expire_offers()
    assert not Offer.objects.open().exists()


def test_who_books_over_an_offer_that_ended_has_the_time(wait, desk, injector, freed):
    wait("First", days=2)
    wait("Second", days=1)
    offer = offer_time(freed=freed, actor=desk)
    with clock_at(moment("2027-03-01 11:01")):
        make_appointment(desk, make_patient(desk, "Quick"), injector, "2027-03-02 10:00")
        assert refreshed(offer).answer == "expired"
        expire_offers()
        # What is free beside it, from half past ten on, is no part of the freed time.
        assert not Offer.objects.open().exists()
        with pytest.raises(OfferClosed, match="not answered in time"):
            accept(offer)


def test_an_offered_time_is_answered_on_the_waiting_list_and_nowhere_else(wait, desk, freed):
    wait("First")
    held = offer_time(freed=freed, actor=desk).appointment
    for state in ("cancelled", "booked", "arrived", "done"):
        with pytest.raises(AppointmentClosed, match="on the waiting list"):
            set_state(appointment=held, state=state, reason="Slip", actor=desk)


# The list, meanwhile


def test_a_booking_of_the_kind_takes_the_patient_off_and_gives_an_offer_back(
    wait, desk, injector, freed
):
    first = wait("First", days=2)
    wait("Second", days=1)
    offer = offer_time(freed=freed, actor=desk)
    make_appointment(desk, first.patient, injector, "2027-03-02 14:00", kind="review")
    assert refreshed(first).is_standing
    booked = make_appointment(desk, first.patient, injector, "2027-03-02 15:00")
    assert (refreshed(first).outcome, refreshed(first).appointment) == ("booked", booked)
    assert refreshed(offer).answer == "declined"
    expire_offers()
    assert whom(now_held()) == "Second"


def test_a_booking_after_the_last_day_they_wanted_is_no_answer(wait, desk, injector):
    entry = wait("Before the wedding", last_on="2027-03-05")
    make_appointment(desk, entry.patient, injector, "2027-03-08 10:00")
    assert refreshed(entry).is_standing


def test_who_is_taken_off_is_no_longer_offered_anything(wait, desk, freed):
    first = wait("First", days=2)
    wait("Second", days=1)
    offer = offer_time(freed=freed, actor=desk)
    remove_entry(entry=first, reason="Went elsewhere", actor=desk)
    assert (refreshed(first).outcome, refreshed(first).reason) == ("gone", "Went elsewhere")
    assert (refreshed(offer).answer, whom(now_held())) == ("declined", "Second")
    with pytest.raises(EntryClosed):
        remove_entry(entry=first, reason="Again", actor=desk)


def test_an_offer_is_taken_though_what_suits_was_changed_since(wait, desk, freed):
    entry = wait("First")
    offer = offer_time(freed=freed, actor=desk)
    entry.last_on = timezone.localdate()
    change_entry(entry=entry, actor=desk)
    accept(offer, actor=desk)
    assert refreshed(entry).outcome == "booked"


def test_the_same_time_freed_again_is_the_same_time(wait, desk, injector, freed):
    wait("First")
    leave_time(freed=freed, actor=desk)
    with clock_at(timezone.now() + timedelta(minutes=5)):
        again = free(desk, injector, minutes=45)
    assert (again.pk, again.left_at, again.minutes) == (freed.pk, None, 45)


def test_a_time_freed_again_waits_for_a_press(wait, desk, injector, freed):
    wait("First", days=2)
    decline(offer_time(freed=freed, actor=desk), actor=desk)
    with clock_at(timezone.now() + timedelta(minutes=5)):
        free(desk, injector)
        wait("Second")
        expire_offers()
        assert not Offer.objects.open().exists()
        assert names(open_times()[0]) == ["Second"]

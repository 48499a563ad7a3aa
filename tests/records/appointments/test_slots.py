"""The times that fit: the clinic's hours, what is booked, rooms; the search itself: free_slots."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine

from clinic.hours.models import Absence, WorkingTime
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind
from clinic.visit_kinds.queries import visit_kind
from records.appointments.models import Appointment
from records.appointments.queries.slots import Wanted, nearest, next_days, room_that_suits, spread
from tests.factories import make_appointment, make_patient, make_room, make_user

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 12, 7)


@pytest.fixture(autouse=True)
def early_on_monday():
    with time_machine.travel(datetime(2026, 12, 7, 6, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def room(injector):
    room = make_room()
    kind = VisitKind.objects.create(
        kind="treatment", minutes=60, preparation_minutes=15, buffer_minutes=15
    )
    kind.rooms.add(room)
    for weekday in (1, 2):
        WorkingTime.objects.create(
            person=injector, site=room.site, weekday=weekday, starts=time(9), ends=time(12),
            from_on=MONDAY,
        )  # fmt: skip
    return room


def wanted(kind="treatment", **fields):
    dates = {"first": MONDAY, "last": MONDAY + timedelta(days=1)}
    return Wanted(visit_kind(AppointmentKind(kind)), **(dates | fields))


def starts(days) -> list[list[str]]:
    return [[f"{fit.starts_at:%H:%M}" for fit in one.fits] for one in days]


def test_preparation_and_buffer_lie_inside_the_working_hours(injector, room):
    """09:15 to 10:45: what needs an hour and a quarter each side, by hand."""
    days = next_days(wanted(), per_day=20)
    assert [one.day for one in days] == [MONDAY, MONDAY + timedelta(days=1)]
    assert starts(days)[0] == ["09:15", "09:30", "09:45", "10:00", "10:15", "10:30", "10:45"]
    assert {(fit.practitioner, fit.room) for one in days for fit in one.fits} == {(injector, room)}


def test_a_room_is_given_to_one_visit_at_a_time(desk, injector, room, patient):
    other = make_user("lea", is_injector=True)
    WorkingTime.objects.create(
        person=other, site=room.site, weekday=1, starts=time(9), ends=time(12), from_on=MONDAY
    )
    make_appointment(desk, patient, injector, "2026-12-07 09:30", room=room, buffer_minutes=15)
    days = next_days(wanted(only=other, last=MONDAY), per_day=20)
    assert starts(days) == [["10:30", "10:45"]], "15 min buffer of one, 15 of preparation"
    assert {fit.room for fit in days[0].fits} == {room}


def test_the_longest_visit_from_the_night_before_still_takes_its_time(
    desk, injector, room, patient
):
    """00:30 and eight hours, with two of buffer: until 10:30, and then 15 min of preparation."""
    make_appointment(
        desk, patient, injector, "2026-12-07 00:30", minutes=480, buffer_minutes=120
    )  # fmt: skip
    assert starts(next_days(wanted(last=MONDAY), per_day=20)) == [["10:45"]]


def test_a_preparation_after_the_last_hour_takes_its_time_before_it(desk, injector, room, patient):
    """From 12:30, two hours prepared: everything from 10:30 on is taken."""
    make_appointment(desk, patient, injector, "2026-12-07 12:30", preparation_minutes=120)
    assert starts(next_days(wanted(last=MONDAY), per_day=20)) == [["09:15"]]


def test_the_patient_is_not_sent_to_two_people_at_once(desk, injector, room, patient):
    lea = make_user("lea", is_injector=True)
    make_appointment(desk, patient, lea, "2026-12-07 10:00", minutes=30)
    free = starts(next_days(wanted(only=injector, patient=patient, last=MONDAY), per_day=20))
    assert free == [["10:30", "10:45"]]
    someone = make_patient(desk, "Ben Example")
    free = starts(next_days(wanted(only=injector, patient=someone, last=MONDAY), per_day=20))
    assert len(free[0]) == 7


def test_absences_of_people_and_rooms_are_left_out(injector, room):
    nine = datetime(2026, 12, 7, 9, tzinfo=UTC)
    Absence.objects.create(person=injector, starts_at=nine, ends_at=nine + timedelta(hours=1))
    assert starts(next_days(wanted(last=MONDAY), per_day=20)) == [["10:15", "10:30", "10:45"]]
    Absence.objects.create(
        room=room, kind="out_of_order", starts_at=nine, ends_at=nine + timedelta(hours=10)
    )
    assert next_days(wanted(last=MONDAY)) == []


def test_a_practitioner_who_is_away_for_weeks_is_looked_for_further_on(injector, room):
    """Mondays and Tuesdays; of the following weeks the first four days are told."""
    start = datetime(2026, 12, 7, tzinfo=UTC)
    Absence.objects.create(person=injector, starts_at=start, ends_at=start + timedelta(weeks=3))
    days = next_days(wanted(last=MONDAY + timedelta(weeks=12)), per_day=2)
    assert [one.day for one in days] == [
        date(2026, 12, 28), date(2026, 12, 29), date(2027, 1, 4), date(2027, 1, 5),
    ]  # fmt: skip
    assert starts(days) == [["09:15", "10:45"]] * 4


def test_what_is_over_is_not_offered(injector, room):
    with time_machine.travel(datetime(2026, 12, 7, 10, 20, tzinfo=UTC), tick=False):
        assert starts(next_days(wanted(last=MONDAY))) == [["10:30", "10:45"]]


def test_an_offer_that_has_ended_is_free_again(desk, injector, room, patient):
    offer = make_appointment(desk, patient, injector, "2026-12-07 10:00", minutes=60)
    until = datetime(2026, 12, 7, 5, tzinfo=UTC)
    Appointment.objects.filter(pk=offer.pk).update(state="offered", held_until=until)
    assert len(starts(next_days(wanted(last=MONDAY), per_day=20))[0]) == 7


def test_the_nearest_times_begin_with_the_first_choice(desk, injector, room, patient):
    lea = make_user("lea", is_injector=True)
    near = datetime(2026, 12, 7, 10, tzinfo=UTC)
    found = nearest(wanted("call", first_choice=lea), near)
    assert [fit.practitioner for fit in found] == [lea] * 3
    assert found[0].starts_at == near


def test_a_clinic_without_hours_or_rooms_can_book(injector):
    (day,) = next_days(wanted(last=MONDAY), per_day=100)
    assert (day.fits[0].room, f"{day.fits[0].starts_at:%H:%M}") == (None, "09:15")


def test_without_anybody_to_book_there_are_no_times(desk):
    assert next_days(wanted()) == []


def test_the_question_takes_a_constant_number_of_queries(
    desk, injector, room, patient, django_assert_max_num_queries
):
    for hour in (9, 10, 11):
        make_appointment(desk, patient, injector, f"2026-12-08 {hour:02}:00")
    question = wanted(patient=patient)
    with django_assert_max_num_queries(9):
        next_days(question)


def test_a_room_is_found_for_a_time_of_one_s_own(desk, injector, room, patient):
    starts_at = datetime(2026, 12, 7, 10, tzinfo=UTC)
    visit = Appointment(
        patient=patient, practitioner=injector, kind="treatment", starts_at=starts_at, minutes=60
    )
    kind = visit_kind(AppointmentKind.TREATMENT)
    assert room_that_suits(visit, kind) == room
    lea = make_user("lea", is_injector=True)
    make_appointment(desk, make_patient(desk, "Ben Example"), lea, "2026-12-07 10:30", room=room)
    assert room_that_suits(visit, kind) is None
    assert room_that_suits(visit, visit_kind(AppointmentKind.CALL)) is None


@pytest.mark.parametrize(
    ("count", "shown"), [(2, [0, 9]), (4, [0, 3, 6, 9]), (10, list(range(10))), (20, [*range(10)])]
)
def test_a_day_s_times_are_spread_from_the_first_to_the_last(count, shown):
    assert spread(list(range(10)), count) == shown


def test_who_loses_a_time_beyond_the_days_looked_at_is_shown_others_near_it(injector, room):
    near = datetime(2027, 12, 6, 10, tzinfo=UTC)  # a Monday
    found = nearest(wanted(), near)
    assert [fit.starts_at for fit in found][:2] == [near, near - timedelta(minutes=15)]


def test_what_is_moved_looks_for_as_much_room_as_it_was_booked_with(desk, injector, room, patient):
    booked = make_appointment(
        desk, patient, injector, "2026-12-07 09:30", minutes=60, buffer_minutes=60, kind="treatment"
    )
    days = next_days(wanted(moving=booked), per_day=20)
    assert starts(days)[0] == ["09:00", "09:15", "09:30", "09:45", "10:00"]


def test_a_series_keeps_its_room_where_that_is_free(desk, injector, room, patient):
    chosen = make_room("Room 2")
    kind = visit_kind(AppointmentKind.TREATMENT)
    kind.rooms.add(chosen)
    visit = Appointment(
        patient=patient, practitioner=injector, minutes=60, room=chosen,
        starts_at=datetime(2026, 12, 7, 10, tzinfo=UTC),
    )  # fmt: skip
    assert room_that_suits(visit, kind) == chosen
    make_appointment(
        desk, make_patient(desk, "Ben Example"), make_user("lea", is_injector=True),
        "2026-12-07 10:30", room=chosen,
    )  # fmt: skip
    assert room_that_suits(visit, kind) == room


def test_a_room_of_a_site_out_of_use_is_not_chosen(injector, room, patient):
    other = make_room("Attic", site="Aisle End")
    kind = visit_kind(AppointmentKind.TREATMENT)
    kind.rooms.set([other])
    other.site.is_active = False
    other.site.save()
    # A Wednesday, on which nobody's hours name a site.
    visit = Appointment(
        patient=patient, practitioner=injector, minutes=60,
        starts_at=datetime(2026, 12, 9, 10, tzinfo=UTC),
    )  # fmt: skip
    assert room_that_suits(visit, kind) is None

"""Booking, and what becomes of an appointment."""

import json
from datetime import UTC, date, datetime

import pytest
from django.db import IntegrityError, transaction

from clinic.audit.models import AuditEvent
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, ReasonMissing, TimeTaken
from records.appointments.models import Appointment
from records.appointments.services.states import set_state
from tests.factories import make_appointment, make_patient, make_user, refreshed

pytestmark = pytest.mark.django_db


@pytest.fixture
def other_injector(db):
    return make_user("lea", is_injector=True)


@pytest.fixture
def other_patient(desk):
    return make_patient(desk, "Ben Example")


@pytest.fixture
def booked(desk, injector, patient):
    return make_appointment(desk, patient, injector, "2026-12-01 10:00")


def test_a_booking_is_kept_and_in_the_audit_trail(desk, booked, injector, patient):
    event = AuditEvent.objects.get(action="appointment.booked")
    assert (event.actor, event.patient_id) == (desk, patient.pk)
    assert (booked.practitioner, booked.state) == (injector, AppointmentState.BOOKED)


@pytest.mark.parametrize(
    ("start", "minutes"),
    [
        ("10:00", 30),  # the same time
        ("09:45", 30),  # runs into it
        ("10:15", 10),  # inside it
        ("09:00", 180),  # round it
        ("02:15", 480),  # the longest, ending inside it
    ],
)
def test_a_practitioner_is_not_booked_twice(desk, booked, injector, other_patient, start, minutes):
    with pytest.raises(TimeTaken, match="Ida Injector has another appointment"):
        make_appointment(desk, other_patient, injector, f"2026-12-01 {start}", minutes=minutes)
    assert Appointment.objects.get() == booked


@pytest.mark.parametrize("start", ["09:30", "10:30"])
def test_appointments_may_touch(desk, booked, injector, other_patient, start):
    make_appointment(desk, other_patient, injector, f"2026-12-01 {start}")
    assert Appointment.objects.count() == 2


def test_a_patient_is_not_booked_twice(desk, booked, patient, other_injector):
    with pytest.raises(TimeTaken, match="The patient has another appointment"):
        make_appointment(desk, patient, other_injector, "2026-12-01 10:15")


@pytest.mark.parametrize("state", [AppointmentState.CANCELLED, AppointmentState.DID_NOT_ATTEND])
def test_a_time_that_was_given_up_can_be_booked(desk, booked, injector, other_patient, state):
    set_state(appointment=booked, state=state, actor=desk, reason="Has a cold")
    make_appointment(desk, other_patient, injector, "2026-12-01 10:00")
    assert Appointment.objects.taking_place().get().patient == other_patient


def test_who_comes_after_all_cannot_take_a_time_given_away(desk, booked, injector, other_patient):
    set_state(appointment=booked, state=AppointmentState.DID_NOT_ATTEND, actor=desk)
    make_appointment(desk, other_patient, injector, "2026-12-01 10:15")
    with pytest.raises(TimeTaken):
        set_state(appointment=booked, state=AppointmentState.ARRIVED, actor=desk)
    assert refreshed(booked).state == AppointmentState.DID_NOT_ATTEND


def test_who_did_not_attend_is_not_done_in_a_time_given_away(desk, booked, injector, other_patient):
    set_state(appointment=booked, state=AppointmentState.DID_NOT_ATTEND, actor=desk)
    make_appointment(desk, other_patient, injector, "2026-12-01 10:15")
    with pytest.raises(TimeTaken, match="Ida Injector has another appointment"):
        set_state(appointment=booked, state=AppointmentState.DONE, actor=desk)
    assert refreshed(booked).state == AppointmentState.DID_NOT_ATTEND


def test_cancelling_asks_why_and_keeps_the_answer(desk, booked):
    with pytest.raises(ReasonMissing):
        set_state(appointment=booked, state=AppointmentState.CANCELLED, actor=desk, reason="  ")
    set_state(
        appointment=booked, state=AppointmentState.CANCELLED, actor=desk, reason=" Has a cold "
    )
    assert refreshed(booked).cancel_reason == "Has a cold"
    event = AuditEvent.objects.get(action="appointment.cancelled")
    assert json.loads(event.data)["reason"] == "Has a cold"


@pytest.mark.parametrize("last", [AppointmentState.CANCELLED, AppointmentState.DONE])
def test_nothing_follows_on_cancelled_or_done(desk, booked, last):
    set_state(appointment=booked, state=last, actor=desk, reason="Has a cold")
    with pytest.raises(AppointmentClosed, match=f"is {last.label.lower()} already"):
        set_state(appointment=booked, state=AppointmentState.ARRIVED, actor=desk)


def test_pressing_twice_leaves_one_event(desk, booked):
    for _ in range(2):
        set_state(appointment=booked, state=AppointmentState.ARRIVED, actor=desk)
    assert AuditEvent.objects.filter(action="appointment.arrived").count() == 1


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"minutes": 0}, "appointment_takes_time"),
        ({"minutes": 485}, "appointment_ends_within_a_day"),
        ({"state": "cancelled"}, "appointment_cancelled_with_reason"),
    ],
)
def test_the_database_refuses_what_cannot_be(booked, fields, constraint):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        Appointment.objects.filter(pk=booked.pk).update(**fields)


# Source: the time zone database (Europe/London, by zoneinfo): from 10:00 to 10:00 by the clock it
# is 25 hours into 25 October 2026 and 23 into 28 March 2027.
@pytest.mark.parametrize(
    ("day", "in_utc"),
    [
        ("2026-10-24", datetime(2026, 10, 24, 9, 0, tzinfo=UTC)),
        ("2026-10-25", datetime(2026, 10, 25, 10, 0, tzinfo=UTC)),
        ("2027-03-27", datetime(2027, 3, 27, 10, 0, tzinfo=UTC)),
        ("2027-03-28", datetime(2027, 3, 28, 9, 0, tzinfo=UTC)),
    ],
)
def test_ten_o_clock_is_ten_o_clock_on_both_sides_of_a_clock_change(
    desk, injector, patient, day, in_utc
):
    appointment = make_appointment(desk, patient, injector, f"{day} 10:00")
    assert refreshed(appointment).starts_at == in_utc
    assert list(Appointment.objects.on(date.fromisoformat(day))) == [appointment]


@pytest.mark.parametrize("day", ["2026-10-25", "2027-03-28"])
def test_a_day_of_a_clock_change_holds_its_first_and_last_minutes_only(
    desk, injector, patient, day
):
    day = date.fromisoformat(day)
    inside = [
        make_appointment(desk, patient, injector, f"{day} {start}", minutes=5)
        for start in ("00:00", "23:55")
    ]
    make_appointment(desk, patient, injector, f"{date.fromordinal(day.toordinal() - 1)} 23:55",
                     minutes=5)  # fmt: skip
    make_appointment(desk, patient, injector, f"{date.fromordinal(day.toordinal() + 1)} 00:00")
    assert list(Appointment.objects.on(day)) == inside

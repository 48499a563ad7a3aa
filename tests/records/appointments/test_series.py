"""Appointments booked together, walk-ins, and patients who come late."""

from datetime import UTC, date, datetime

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, NothingToBook
from records.appointments.models import Appointment
from records.appointments.services.series import (
    MOST_IN_A_SERIES,
    SeriesTaken,
    book_series,
    cancel_following,
    repeated,
)
from records.appointments.services.states import note_late, set_state
from tests.factories import make_appointment, make_closure, make_patient, refreshed

pytestmark = pytest.mark.django_db


def first(patient, injector, starts_at=datetime(2026, 10, 20, 9, tzinfo=UTC)):
    return Appointment(
        patient=patient, practitioner=injector, kind="treatment", starts_at=starts_at, minutes=30
    )


# Source: the time zone database, Europe/London: changes on 25 October 2026 and 28 March 2027.
def test_a_series_keeps_its_time_of_the_clock_across_both_changes(desk, patient, injector):
    series = repeated(first(patient, injector), count=7, weeks=4)
    booked = book_series(appointments=series, actor=desk)
    local = [timezone.localtime(refreshed(one).starts_at) for one in booked]
    assert {f"{one:%H:%M}" for one in local} == {"10:00"}
    assert [str(one.date()) for one in local] == [
        "2026-10-20", "2026-11-17", "2026-12-15", "2027-01-12", "2027-02-09", "2027-03-09",
        "2027-04-06",
    ]  # fmt: skip
    assert [one.starts_at.hour for one in booked] == [9, 10, 10, 10, 10, 10, 9]
    assert len({one.series for one in booked}) == 1


def test_a_series_is_booked_whole_or_not_at_all(desk, patient, injector):
    other = make_patient(desk, "Ben Example")
    for day in ("2026-10-27", "2026-11-10"):
        make_appointment(desk, other, injector, f"{day} 10:15")
    with pytest.raises(SeriesTaken) as refused:
        book_series(appointments=repeated(first(patient, injector), count=4, weeks=1), actor=desk)
    assert list(refused.value.taken) == [1, 3]
    assert refused.value.taken[1].startswith("27 October 2026 at 10:00: Ida Injector has another")
    assert patient.appointments.count() == 0
    assert (
        AuditEvent.objects.filter(patient_id=patient.pk, action="appointment.booked").count() == 0
    )


@pytest.mark.parametrize("count", [0, MOST_IN_A_SERIES + 1])
def test_a_series_of_none_or_of_endless_many_is_refused(desk, patient, injector, count):
    one = first(patient, injector)
    with pytest.raises(NothingToBook):
        book_series(appointments=[one] * count, actor=desk)


def test_this_and_the_later_ones_are_cancelled_together(desk, patient, injector):
    booked = book_series(
        appointments=repeated(first(patient, injector), count=4, weeks=1), actor=desk
    )
    set_state(appointment=booked[3], state=AppointmentState.DID_NOT_ATTEND, actor=desk)
    cancel_following(appointment=booked[1], reason="Moves away", actor=desk)
    states = [refreshed(one).state for one in booked]
    assert states == ["booked", "cancelled", "cancelled", "did_not_attend"]


def test_a_series_is_asked_for_and_its_lost_times_are_named(signed_in, desk, patient, injector):
    address = f"{reverse('appointment-create')}?patient={patient.pk}"
    with time_machine.travel(datetime(2026, 12, 7, 8, tzinfo=UTC)):
        make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2026-12-15 10:00")
        fields = {
            "practitioner": injector.pk, "kind": "treatment", "day": "2026-12-08",
            "start": "10:00", "minutes": "30", "times": "3", "weeks": "1",
        }  # fmt: skip
        client = signed_in(desk)
        page = client.post(address, fields).content.decode()
        assert "Some of these times are taken; nothing was booked." in page
        assert "15 December 2026 at 10:00: Ida Injector has another appointment" in page
        answer = client.post(address, fields | {"weeks": "2"}, follow=True)
        (said,) = answer.context["messages"]
    assert str(said).endswith("with Ida Injector, and 22 December, 5 January.")
    assert patient.appointments.count() == 3


def test_a_later_day_on_which_the_clinic_is_closed_is_asked_about_once(
    signed_in, desk, patient, injector
):
    address = f"{reverse('appointment-create')}?patient={patient.pk}"
    make_closure(desk, starts_on=date(2026, 12, 15), ends_on=date(2026, 12, 15), reason="Painters")
    fields = {
        "practitioner": injector.pk, "kind": "treatment", "day": "2026-12-08",
        "start": "10:00", "times": "2", "weeks": "1",
    }  # fmt: skip
    with time_machine.travel(datetime(2026, 12, 7, 8, tzinfo=UTC)):
        client = signed_in(desk)
        answer = client.post(address, fields)
        assert "A later one: The clinic is closed on Tuesday" in answer.content.decode()
        asked = answer.context["form"].to_confirm
        assert client.post(address, fields | {"times": "3", "skips": "on"}).status_code == 302
        days = [str(one.starts_at.date()) for one in patient.appointments.order_by("starts_at")]
        assert days == ["2026-12-08", "2026-12-22"], "the closed day is left out if that is asked"
        patient.appointments.update(state="did_not_attend")
        assert client.post(address, fields | {"confirmed": asked}).status_code == 302
    assert patient.appointments.filter(state="booked").count() == 2


def test_who_walks_in_is_booked_and_here(signed_in, desk, patient, injector):
    address = f"{reverse('appointment-create')}?patient={patient.pk}&walk_in=1"
    with time_machine.travel(datetime(2026, 12, 7, 10, 13, 40, tzinfo=UTC)):
        client = signed_in(desk)
        tomorrow = client.post(address, {
            "kind": "consultation", "practitioner": injector.pk, "day": "2026-12-08",
            "start": "10:00", "slot": f"2026-12-08T10:00|{injector.pk}|",
        })  # fmt: skip
        assert "Who walks in is here today." in tomorrow.content.decode()
        form = client.get(address).context["form"]
        assert f"{form['start'].value():%H:%M}" == "10:10"
        fields = {
            "kind": "consultation", "practitioner": injector.pk, "slot": "own",
            "day": "2026-12-07", "start": "10:10",
        }  # fmt: skip
        assert client.post(address, fields).status_code == 302
    here = patient.appointments.get()
    assert (here.state, here.starts_at.minute) == ("arrived", 10)
    actions = set(AuditEvent.objects.values_list("action", flat=True))
    assert {"appointment.booked", "appointment.walked_in"} <= actions


@time_machine.travel(datetime(2026, 12, 7, 9, tzinfo=UTC))
def test_late_is_noted_and_taken_back(signed_in, desk, patient, injector):
    booked = make_appointment(desk, patient, injector, "2026-12-07 10:00")
    client, address = signed_in(desk), reverse("appointment-late", args=[booked.pk])
    client.post(address, {"minutes": "15"})
    assert refreshed(booked).late_minutes == 15
    page = client.get(reverse("appointment-detail", args=[booked.pk])).content.decode()
    assert "15 min late, as they called" in page
    assert '<option value="15" selected>' in page
    client.post(address, {"minutes": "7"})
    assert refreshed(booked).late_minutes == 15
    client.post(address, {"minutes": "0"})
    assert refreshed(booked).late_minutes == 0


def test_who_is_here_is_not_late(desk, patient, injector):
    booked = make_appointment(desk, patient, injector, "2026-12-07 10:00")
    set_state(appointment=booked, state=AppointmentState.ARRIVED, actor=desk)
    with pytest.raises(AppointmentClosed, match="arrived already"):
        note_late(appointment=booked, minutes=5, actor=desk)


@time_machine.travel(datetime(2026, 12, 7, 12, tzinfo=UTC))
def test_done_by_a_slip_is_taken_back_on_the_day(signed_in, desk, patient, injector):
    booked = make_appointment(desk, patient, injector, "2026-12-07 10:00")
    client = signed_in(desk)
    client.post(reverse("appointment-in-room", args=[booked.pk]))
    assert refreshed(booked).state == "in_room"
    client.post(reverse("appointment-done", args=[booked.pk]))
    client.post(reverse("appointment-not-done", args=[booked.pk]))
    assert refreshed(booked).state == "arrived"
    yesterday = make_appointment(desk, patient, injector, "2026-12-04 10:00")
    set_state(appointment=yesterday, state=AppointmentState.DONE, actor=desk)
    client.post(reverse("appointment-not-done", args=[yesterday.pk]))
    assert refreshed(yesterday).state == "done"


def test_the_history_of_an_appointment_tells_every_change(signed_in, desk, patient, injector):
    booked = make_appointment(desk, patient, injector, "2026-12-07 10:00")
    set_state(appointment=booked, state=AppointmentState.CANCELLED, actor=desk, reason="Has a cold")
    page = signed_in(desk).get(reverse("appointment-detail", args=[booked.pk])).content.decode()
    assert page.index("cancelled") < page.rindex("booked")
    assert "Has a cold" in page
    assert "Dora Desk" in page
    assert AuditEvent.objects.filter(action="appointment.read", patient_id=patient.pk).exists()

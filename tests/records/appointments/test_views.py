"""The day list, and saying what became of an appointment, as people use them."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.services import acting
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment, HeldCell
from records.appointments.queries.history import history_of
from records.appointments.services.booking import release_offer
from records.appointments.services.states import set_state
from tests.factories import (
    make_appointment,
    make_patient,
    make_session,
    make_waiting_entry,
    make_waiting_offer,
    refreshed,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def booked(desk, injector, patient):
    return make_appointment(desk, patient, injector, f"{timezone.localdate()} 10:00")


@pytest.mark.parametrize(
    ("route", "state"),
    [
        ("appointment-arrived", AppointmentState.ARRIVED),
        ("appointment-done", AppointmentState.DONE),
        ("appointment-did-not-attend", AppointmentState.DID_NOT_ATTEND),
    ],
)
def test_one_press_says_what_became_of_it(signed_in, desk, booked, route, state):
    answer = signed_in(desk).post(reverse(route, args=[booked.pk]), {"next": "/"})
    assert answer.headers["Location"] == "/"
    assert refreshed(booked).state == state


@pytest.mark.parametrize(
    ("route", "words", "back"),
    [
        ("appointment-done", "is done.", "Not done after all"),
        ("appointment-did-not-attend", "did not attend.", "Came after all"),
    ],
)
def test_what_leaves_the_day_is_told_with_the_way_back(signed_in, desk, booked, route, words, back):
    client = signed_in(desk)
    page = client.post(reverse(route, args=[booked.pk]), {"next": "/"}, follow=True)
    said = page.content.decode().split("data-toasts", 1)[1]
    assert booked.patient.record_number in said
    assert words in said
    way = "appointment-not-done" if route == "appointment-done" else "appointment-arrived"
    assert f'action="{reverse(way, args=[booked.pk])}"' in said
    assert back in said


def test_a_visit_that_fell_through_can_be_booked_again(signed_in, desk, booked):
    set_state(appointment=booked, state=AppointmentState.CANCELLED, actor=desk, reason="Has a cold")
    page = signed_in(desk).get(reverse("appointment-detail", args=[booked.pk])).content.decode()
    asked = f"patient={booked.patient_id}&amp;kind={booked.kind}"
    assert f"{asked}&amp;practitioner={booked.practitioner_id}" in page
    assert "Book again" in page


def test_an_arrival_can_be_taken_back(signed_in, desk, booked):
    set_state(appointment=booked, state=AppointmentState.ARRIVED, actor=desk)
    signed_in(desk).post(reverse("appointment-not-arrived", args=[booked.pk]))
    assert refreshed(booked).state == AppointmentState.BOOKED


def test_a_refused_press_says_why(signed_in, desk, booked):
    set_state(appointment=booked, state=AppointmentState.DONE, actor=desk)
    url = reverse("appointment-arrived", args=[booked.pk])
    page = signed_in(desk).post(url, follow=True).content.decode()
    assert "This appointment is done already." in page


def test_cancelling_asks_why(signed_in, desk, booked):
    client, url = signed_in(desk), reverse("appointment-cancel", args=[booked.pk])
    assert client.post(url, {"reason": "   "}).status_code == 422
    assert refreshed(booked).state == AppointmentState.BOOKED
    assert client.post(url, {"reason": "Has a cold"}).status_code == 302
    assert refreshed(booked).cancel_reason == "Has a cold"


def test_a_cancelling_names_the_patient_and_is_taken_back_while_the_time_is_free(
    signed_in, desk, injector, patient
):
    tomorrow = timezone.localdate() + timedelta(days=1)
    visit = make_appointment(desk, patient, injector, f"{tomorrow} 10:00")
    client, url = signed_in(desk), reverse("appointment-cancel", args=[visit.pk])
    page = client.post(url, {"reason": "Has a cold"}, follow=True).content.decode()
    said = page.split("data-toasts", 1)[1]
    assert "Ann Example" in said
    assert "is cancelled, and its time is free." in said
    back = reverse("appointment-not-cancelled", args=[visit.pk])
    assert f'action="{back}"' in said
    client.post(back)
    assert (refreshed(visit).state, refreshed(visit).cancel_reason) == ("booked", "")
    assert HeldCell.objects.filter(appointment=visit).exists()
    acts = [one.what for one in history_of(visit)]
    assert acts == ["Appointment not cancelled", "Appointment cancelled", "Appointment booked"]


def test_a_cancelled_time_that_was_given_away_stays_away(signed_in, desk, injector, booked):
    client = signed_in(desk)
    set_state(appointment=booked, state=AppointmentState.CANCELLED, actor=desk, reason="Has a cold")
    start = timezone.localtime(booked.starts_at)
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{start:%Y-%m-%d %H:%M}")
    url = reverse("appointment-not-cancelled", args=[booked.pk])
    page = client.post(url, follow=True).content.decode()
    assert "has another appointment" in page
    assert refreshed(booked).state == AppointmentState.CANCELLED


def test_only_a_cancelling_of_today_is_taken_back(signed_in, desk, booked):
    set_state(appointment=booked, state=AppointmentState.CANCELLED, actor=desk, reason="Has a cold")
    yesterday = timezone.now() - timedelta(days=1)
    Appointment.objects.filter(pk=booked.pk).update(changed_at=yesterday)
    page = signed_in(desk).get(reverse("appointment-detail", args=[booked.pk])).content.decode()
    assert "Not cancelled after all" not in page
    url = reverse("appointment-not-cancelled", args=[booked.pk])
    assert "cancelled already" in signed_in(desk).post(url, follow=True).content.decode()
    assert refreshed(booked).state == AppointmentState.CANCELLED


def test_an_offer_that_was_taken_back_books_nobody(signed_in, desk, injector, patient):
    offer = make_waiting_offer(desk, make_waiting_entry(desk, patient), injector)
    with acting(desk) as trail:
        release_offer(offer.appointment, trail)
    url = reverse("appointment-not-cancelled", args=[offer.appointment_id])
    signed_in(desk).post(url)
    assert refreshed(offer.appointment).state == AppointmentState.CANCELLED


@pytest.mark.parametrize("kind", ["treatment", "top_up"])
def test_a_treatment_without_a_session_is_asked_about_once(
    signed_in, desk, injector, patient, kind
):
    visit = make_appointment(desk, patient, injector, f"{timezone.localdate()} 10:00", kind=kind)
    url = reverse("appointment-done", args=[visit.pk])
    answer = signed_in(desk).post(url, {"next": "/"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "No session belongs to this visit" in page
    assert "Start session" not in page
    assert refreshed(visit).state == AppointmentState.BOOKED
    assert "Start session" in signed_in(injector).post(url).content.decode()
    answer = signed_in(desk).post(url, {"next": "/", "confirmed": "yes"})
    assert answer.headers["Location"] == "/"
    assert refreshed(visit).state == AppointmentState.DONE


def test_a_treatment_with_its_session_is_done_with_one_press(signed_in, desk, injector, patient):
    visit = make_appointment(
        desk, patient, injector, f"{timezone.localdate()} 10:00", kind="treatment"
    )
    make_session(injector, patient, appointment=visit)
    signed_in(desk).post(reverse("appointment-done", args=[visit.pk]))
    assert refreshed(visit).state == AppointmentState.DONE


def test_a_step_too_far_is_taken_back_step_by_step(signed_in, desk, booked):
    set_state(appointment=booked, state=AppointmentState.IN_ROOM, actor=desk)
    client, detail = signed_in(desk), reverse("appointment-detail", args=[booked.pk])
    assert "Not in the room" in client.get(detail).content.decode()
    client.post(reverse("appointment-arrived", args=[booked.pk]))
    client.post(reverse("appointment-not-arrived", args=[booked.pk]))
    acts = [one.what for one in history_of(booked)]
    assert acts[:3] == [
        "Appointment not arrived", "Appointment not in the room", "Appointment in room",
    ]  # fmt: skip


def test_what_a_session_hangs_on_is_not_given_up_in_passing(
    signed_in, desk, injector, booked, patient
):
    make_session(injector, patient, appointment=booked)
    page = signed_in(injector).get(reverse("appointment-detail", args=[booked.pk]))
    for words in ("Not arrived", "Not in the room", "Did not attend", "/cancel/"):
        assert words not in page.content.decode()


def test_cancelling_what_is_done_keeps_what_was_typed(signed_in, desk, booked):
    set_state(appointment=booked, state=AppointmentState.DONE, actor=desk)
    url = reverse("appointment-cancel", args=[booked.pk])
    answer = signed_in(desk).post(url, {"reason": "Has a cold"})
    page = answer.content.decode()
    assert (answer.status_code, 'value="Has a cold"' in page) == (422, True)
    assert "This appointment is done already." in page


@pytest.mark.parametrize(
    "route",
    ["appointment-arrived", "appointment-done", "appointment-did-not-attend",
     "appointment-not-arrived", "appointment-cancel", "appointment-for-patient"],
)  # fmt: skip
def test_an_unknown_number_is_not_found(signed_in, desk, route):
    client, url = signed_in(desk), reverse(route, args=[99999])
    method = client.get if route == "appointment-for-patient" else client.post
    assert method(url).status_code == 404


@pytest.mark.parametrize("route", ["appointment-arrived", "appointment-done"])
def test_looking_changes_nothing(signed_in, desk, booked, route):
    assert signed_in(desk).get(reverse(route, args=[booked.pk])).status_code == 405
    assert refreshed(booked).state == AppointmentState.BOOKED


def test_a_stranger_is_asked_to_sign_in(client, booked):
    answer = client.post(reverse("appointment-arrived", args=[booked.pk]))
    assert answer.status_code == 401
    assert refreshed(booked).state == AppointmentState.BOOKED


@pytest.mark.parametrize(
    ("asked", "shown"), [("", "/diary/"), ("?day=2026-12-01", "/diary/?day=2026-12-01")]
)
def test_the_old_address_of_a_day_leads_to_the_diary(signed_in, desk, asked, shown):
    answer = signed_in(desk).get(f"/appointments/{asked}")
    assert (answer.status_code, answer.headers["Location"]) == (302, shown)


def test_a_patient_s_appointments_are_shown_and_the_reading_is_noted(
    signed_in, desk, injector, patient, booked
):
    make_appointment(
        desk, make_patient(desk, "Ben Example"), injector, f"{timezone.localdate()} 15:55"
    )
    page = signed_in(desk).get(reverse("appointment-for-patient", args=[patient.pk]))
    assert "10:00" in page.content.decode()
    assert "15:55" not in page.content.decode()
    event = AuditEvent.objects.get(action="appointments.read")
    assert (event.actor, event.patient_id) == (desk, patient.pk)


@pytest.mark.parametrize(
    ("page", "back"),
    [("http://testserver/patients/8/", "/patients/8/"), ("https://else.test/patients/8/", "")],
)
def test_a_part_of_the_patient_s_page_leads_back_to_that_page(
    signed_in, desk, patient, booked, page, back
):
    answer = signed_in(desk).get(
        reverse("appointment-for-patient", args=[patient.pk]),
        headers={"hx-request": "true", "hx-current-url": page},
    )
    assert f'name="next" value="{back}"' in answer.content.decode()

"""The day list, and saying what became of an appointment, as people use them."""

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from tests.factories import make_appointment, make_patient, refreshed

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

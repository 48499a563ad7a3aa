"""The day list, and saying what became of an appointment, as people use them."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from tests.factories import make_appointment, make_patient, make_user, refreshed

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


def test_the_list_steps_from_day_to_day(signed_in, desk):
    page = signed_in(desk).get("/appointments/?day=2026-02-28").content.decode()
    assert "Saturday 28 February 2026" in page
    assert 'href="?day=2026-02-27"' in page
    assert 'href="?day=2026-03-01"' in page
    assert "The clinic is closed on this day" in page


@pytest.mark.parametrize("day", ["tomorrow", "2026-02-30", "0001-01-01", "9999-12-31"])
def test_a_day_that_is_none_shows_today_and_says_so(signed_in, desk, day):
    answer = signed_in(desk).get("/appointments/", {"day": day})
    assert answer.context["day"] == timezone.localdate()
    assert answer.context["form"].errors
    assert f'value="{day}"' in answer.content.decode()


def test_only_the_practitioner_is_offered_to_start_the_session(
    signed_in, injector, patient, booked
):
    start = f"{reverse('session-start', kwargs={'pk': patient.pk})}?appointment={booked.pk}"
    other = make_user("lea", is_injector=True)
    assert start in signed_in(injector).get("/appointments/").content.decode()
    assert start not in signed_in(other).get("/appointments/").content.decode()


def test_the_list_takes_as_many_queries_for_three_as_for_one(
    signed_in, desk, injector, patient, django_assert_num_queries
):
    client = signed_in(desk)
    make_appointment(desk, patient, injector, "2026-12-01 10:00")
    with CaptureQueriesContext(connection) as one:
        client.get("/appointments/?day=2026-12-01")
    for number in range(2):
        person = make_patient(desk, f"Ben Example {number}")
        make_appointment(desk, person, injector, f"2026-12-01 1{number + 1}:00")
    with django_assert_num_queries(len(one)):
        client.get("/appointments/?day=2026-12-01")


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


def test_names_are_shown_as_text(signed_in, desk, injector):
    patient = make_patient(desk, "<b>Bold</b> O'Neil")
    make_appointment(desk, patient, injector, f"{date(2026, 12, 1)} 10:00", note="<script>")
    page = signed_in(desk).get("/appointments/?day=2026-12-01").content.decode()
    assert "&lt;b&gt;Bold&lt;/b&gt; O&#x27;Neil" in page
    assert "<script>" not in page.split("<main", 1)[1].split("</main>")[0]

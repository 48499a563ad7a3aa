"""The work list and its acts, as people use them."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.states import set_state
from records.reviews.models import Review
from records.reviews.services.acts import mark_done
from tests.factories import make_appointment, make_patient, make_review, refreshed

pytestmark = pytest.mark.django_db
LIST = reverse("follow-up")
TODAY = timezone.localdate()
# A weekday to come: the default policy opens Monday to Friday.
OPEN_DAY = next(
    day for day in (TODAY + timedelta(days=count) for count in range(1, 8)) if day.weekday() < 5
)


@pytest.fixture
def review(injector, patient):
    return make_review(injector, patient, TODAY - timedelta(days=8))


def booking(injector, **fields) -> dict:
    return {
        "practitioner": injector.pk, "kind": "review", "day": OPEN_DAY.isoformat(),
        "start": "10:00", "minutes": "20", "note": "Wants the quiet room", **fields,
    }  # fmt: skip


def shown(answer) -> list[int]:
    return [row.case.pk for row in answer.context["rows"]]


def test_the_list_of_reviews_is_a_part_of_the_follow_up(signed_in, desk):
    answer = signed_in(desk).get(reverse("review-list"), {"standing": "overdue", "injector": "3"})
    assert answer.headers["Location"] == f"{LIST}?standing=overdue&injector=3"


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (("2025-10-13", "2025-10-14", "2026-12-09"), "13 Oct 2025 to 9 Dec 2026"),
        (("2026-12-29", "2026-12-30", "2027-01-05"), "29 Dec 2026 to 5 Jan 2027"),
        (("2026-10-12", "2026-10-14", "2026-10-21"), "12 Oct to 21 Oct 2026"),
        (("2026-12-30", "2026-12-30", "2027-01-05"), "until 5 Jan 2027"),
    ],
)
def test_a_window_across_two_years_names_both(signed_in, desk, injector, patient, days, words):
    first, due_on, last = map(date.fromisoformat, days)
    review = make_review(injector, patient, due_on, earliest_on=first, latest_on=last)
    client = signed_in(desk)
    for url in (
        reverse("review-detail", args=[review.pk]),
        reverse("review-for-patient", args=[patient.pk]),
    ):
        assert words in client.get(url).content.decode(), url


def test_booking_from_the_list_leads_back_to_it(signed_in, desk, injector, review):
    client, url = signed_in(desk), reverse("review-book", args=[review.pk])
    page = client.get(f"{url}?next={LIST}%3Fpage%3D2").content.decode()
    assert "The soonest: it was due on" in page
    assert f'|{injector.pk}|" checked' in page, "a time of whoever treated the patient is chosen"
    answer = client.post(url, booking(injector, next=f"{LIST}?page=2"))
    assert answer.headers["Location"] == f"{LIST}?page=2"
    booked = Appointment.objects.get()
    assert (refreshed(review).appointment, booked.patient) == (booked, review.patient)
    answer = client.get(LIST)
    assert shown(answer) == [], "nobody needs to be called for it any more"
    assert shown(client.get(LIST, {"standing": "booked"})) == [review.pk]


def test_a_time_that_is_taken_is_refused_and_what_was_typed_stays(
    signed_in, desk, injector, review
):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{OPEN_DAY} 10:00")
    url = reverse("review-book", args=[review.pk])
    answer = signed_in(desk).post(url, booking(injector))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Ida Injector has another appointment from 10:00 to 10:30." in page
    assert 'value="Wants the quiet room"' in page
    assert refreshed(review).appointment is None


def test_the_booking_page_names_the_visit_that_stands_in_the_way(signed_in, desk, injector, review):
    client, url = signed_in(desk), reverse("review-book", args=[review.pk])
    assert "It has an appointment" not in client.get(url).content.decode()
    day = TODAY - timedelta(days=1)
    review.appointment = make_appointment(desk, review.patient, injector, f"{day} 10:00")
    review.save(update_fields=["appointment"])
    page = client.get(url).content.decode()
    own_page = reverse("appointment-detail", args=[review.appointment.pk])
    assert f'{own_page}">on {day:%A}' in page
    answer = client.post(url, booking(injector))
    assert answer.status_code == 422
    assert "which has passed. On the list of that day say first" in answer.content.decode()


def test_a_closed_review_is_not_booked(signed_in, desk, injector, review):
    mark_done(review=review, actor=desk)
    url = reverse("review-book", args=[review.pk])
    answer = signed_in(desk).post(url, booking(injector))
    assert answer.status_code == 422
    assert "This review was closed already: Done." in answer.content.decode()
    assert not Appointment.objects.exists()


def test_after_the_visit_the_list_offers_to_close_the_review(signed_in, desk, injector, review):
    visit = make_appointment(desk, review.patient, injector, f"{TODAY - timedelta(days=1)} 10:00")
    review.appointment = visit
    review.save(update_fields=["appointment"])
    set_state(appointment=visit, state=AppointmentState.DONE, actor=injector)
    client = signed_in(desk)
    page = client.get(LIST).content.decode()
    assert "Review done" in page
    assert reverse("review-book", args=[review.pk]) not in page
    client.post(reverse("review-done", args=[review.pk]))
    assert refreshed(review).outcome == "done"
    assert shown(client.get(LIST)) == []


def test_a_second_press_on_done_says_why_not(signed_in, desk, review):
    client, url = signed_in(desk), reverse("review-done", args=[review.pk])
    client.post(url, {"confirmed": "yes"})
    page = client.post(url, follow=True).content.decode()
    assert "This review was closed already: Done." in page


def test_done_without_a_visit_is_asked_about_once(signed_in, desk, review):
    client, url = signed_in(desk), reverse("review-done", args=[review.pk])
    back = f"{LIST}?page=2"
    answer = client.post(url, {"next": back}, follow=True)
    assert "No visit since the treatment is on record" in answer.content.decode()
    assert refreshed(review).closed_at is None
    answer = client.post(url, {"next": back, "confirmed": "yes"})
    assert answer.headers["Location"] == back
    assert refreshed(review).outcome == "done"


def test_the_answer_to_done_names_the_record_and_takes_it_back(signed_in, desk, review):
    client = signed_in(desk)
    client.post(reverse("review-done", args=[review.pk]), {"confirmed": "yes"})
    page, undo = client.get(LIST).content.decode(), reverse("review-reopen", args=[review.pk])
    assert f"The review of {review.patient.record_number} is done." in page
    assert f'action="{undo}"' in page
    assert "Not done after all" in page
    answer = client.post(undo, {"next": LIST}, follow=True)
    assert shown(answer) == [review.pk]
    assert f"The review of {review.patient.record_number} is open again." in answer.content.decode()


def test_a_review_closed_on_an_earlier_day_is_opened_again_with_a_reason(signed_in, desk, review):
    mark_done(review=review, actor=desk)
    Review.objects.update(closed_at=timezone.now() - timedelta(days=1))
    client, url = signed_in(desk), reverse("review-reopen", args=[review.pk])
    assert 'name="reason"' in client.get(url).content.decode()
    assert client.post(url, {"reason": " "}).status_code == 422
    assert refreshed(review).outcome == "done"
    assert client.post(url, {"reason": "Another patient came"}).status_code == 302
    assert refreshed(review).closed_at is None


def test_opening_what_is_open_says_so(signed_in, desk, review):
    client, url = signed_in(desk), reverse("review-reopen", args=[review.pk])
    assert client.post(url).status_code == 422
    assert "It is open" in client.get(url).content.decode()


def test_excusing_asks_why(signed_in, desk, review):
    client, url = signed_in(desk), reverse("review-excuse", args=[review.pk])
    assert client.post(url, {"reason": " "}).status_code == 422
    assert refreshed(review).closed_at is None
    assert client.post(url, {"reason": "Moved abroad"}).headers["Location"] == LIST
    assert refreshed(review).excuse == "Moved abroad"


def test_excusing_what_is_closed_keeps_what_was_typed(signed_in, desk, review):
    mark_done(review=review, actor=desk)
    url = reverse("review-excuse", args=[review.pk])
    answer = signed_in(desk).post(url, {"reason": "Moved abroad"})
    assert answer.status_code == 422
    assert 'value="Moved abroad"' in answer.content.decode()
    assert refreshed(review).outcome == "done"


@pytest.mark.parametrize(
    "route",
    ["review-book", "review-done", "review-excuse", "review-reopen", "review-for-patient"],
)
def test_an_unknown_number_is_not_found(signed_in, desk, route):
    client, url = signed_in(desk), reverse(route, args=[99999])
    method = client.get if route == "review-for-patient" else client.post
    assert method(url).status_code == 404


def test_looking_closes_nothing(signed_in, desk, review):
    assert signed_in(desk).get(reverse("review-done", args=[review.pk])).status_code == 200
    assert refreshed(review).closed_at is None


def test_a_stranger_is_asked_to_sign_in(client, review):
    answer = client.post(reverse("review-done", args=[review.pk]))
    assert answer.status_code == 401
    assert refreshed(review).closed_at is None


def test_a_patient_s_reviews_are_shown_and_the_reading_is_noted(signed_in, desk, injector, review):
    other = make_review(injector, make_patient(desk, "Ben Example"), TODAY)
    url = reverse("review-for-patient", args=[review.patient_id])
    page = signed_in(desk).get(url).content.decode()
    assert reverse("review-done", args=[review.pk]) in page
    assert reverse("review-done", args=[other.pk]) not in page
    assert "Not done after all" not in page
    mark_done(review=review, actor=desk)
    assert reverse("review-reopen", args=[review.pk]) in signed_in(desk).get(url).content.decode()
    event = AuditEvent.objects.filter(action="reviews.read").first()
    assert (event.actor, event.patient_id) == (desk, review.patient_id)

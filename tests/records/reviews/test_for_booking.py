"""A visit that is booked elsewhere settles an open review."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine
from django.urls import reverse

from clinic.audit.services import acting
from planning.review_dates import day_in_words
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.states import set_state
from records.reviews.errors import ReviewBooked, ReviewClosed
from records.reviews.models import ReviewAsk
from records.reviews.queries.for_booking import open_reviews_for
from records.reviews.services.acts import lock_unbooked, mark_done, note_visit
from tests.factories import (
    make_appointment,
    make_event,
    make_patient,
    make_review,
    make_rule,
    refreshed,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 2)


@pytest.fixture(autouse=True)
def weeks_without_a_holiday():
    """Else a series meets a closed day, and booking asks about it."""
    with time_machine.travel(datetime.combine(TODAY, time(9), UTC)):
        yield


def link(review, appointment, actor) -> None:
    with acting(actor) as trail:
        note_visit(lock_unbooked(review), appointment, trail)


def test_the_oldest_open_review_without_a_visit_is_offered_first(desk, injector, patient):
    later, first, booked, closed = (
        make_review(injector, patient, TODAY + timedelta(days=days)) for days in (9, -9, -12, -15)
    )
    make_review(injector, make_patient(desk, "Ben Example"), TODAY)
    visit = make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=2)} 10:00")
    link(booked, visit, desk)
    mark_done(review=closed, actor=desk)
    assert list(open_reviews_for(patient)) == [first, later]
    assert refreshed(booked).booked_at is not None
    set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="A cold")
    assert list(open_reviews_for(patient)) == [booked, first, later]


def test_a_review_that_is_booked_or_closed_is_not_settled_twice(desk, injector, patient):
    review = make_review(injector, patient, TODAY)
    first, second = (
        make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=days)} 10:00")
        for days in (2, 3)
    )
    link(review, first, desk)
    with pytest.raises(ReviewBooked, match="Cancel that one first"):
        link(review, second, desk)
    mark_done(review=review, actor=desk)
    with pytest.raises(ReviewClosed):
        link(review, second, desk)
    assert refreshed(review).appointment == first


@pytest.fixture
def booking(signed_in, desk, injector, patient):
    """Books from the patient's page; the answer."""
    day = TODAY + timedelta(days=2)
    address = f"{reverse('appointment-create')}?patient={patient.pk}"

    def post(**fields):
        fields = {
            "practitioner": injector.pk, "day": day.isoformat(), "start": "10:00",
            "confirmed": day.isoformat(), **fields,
        }  # fmt: skip
        return signed_in(desk).post(address, fields)

    return post


def test_the_booking_page_ticks_the_review_that_waits_longest(signed_in, desk, injector, patient):
    review = make_review(injector, patient, TODAY)
    make_review(injector, patient, TODAY + timedelta(days=9))
    page = signed_in(desk).get(reverse("appointment-create"), {"patient": patient.pk})
    assert page.context["form"]["settles"].value() == [f"review-{review.pk}"]
    assert f"This visit settles the review due {day_in_words(TODAY)}" in page.content.decode()


@pytest.mark.parametrize("kind", ["review", "top_up"])
def test_a_visit_booked_from_the_patients_page_settles_what_is_ticked(
    booking, injector, patient, kind
):
    review, other = (make_review(injector, patient, TODAY + timedelta(days=n)) for n in (0, 9))
    assert booking(kind=kind, settles=f"review-{review.pk}").status_code == 302
    assert refreshed(review).appointment == Appointment.objects.get()
    assert refreshed(other).appointment is None


def test_a_visit_of_another_kind_settles_no_review(booking, injector, patient):
    review = make_review(injector, patient, TODAY)
    assert booking(kind="treatment", settles=f"review-{review.pk}").status_code == 302
    assert refreshed(review).appointment is None


def test_a_series_is_booked_whole_and_its_first_visit_settles(booking, injector, patient):
    review = make_review(injector, patient, TODAY)
    assert booking(kind="review", settles=f"review-{review.pk}", times="3").status_code == 302
    assert refreshed(review).appointment == Appointment.objects.order_by("starts_at").first()
    assert Appointment.objects.count() == 3


def test_a_review_that_a_colleague_booked_meanwhile_is_said_and_nothing_is_booked(
    booking, desk, injector, patient
):
    review = make_review(injector, patient, TODAY)
    other = make_review(injector, make_patient(desk, "Ben Example"), TODAY)
    visit = make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=4)} 10:00")
    link(review, visit, desk)
    for key in (review.pk, other.pk):
        answer = booking(kind="review", settles=f"review-{key}")
        assert answer.status_code == 422
        assert "What the visit was to settle is booked or closed by now." in answer.content.decode()
    assert Appointment.objects.count() == 1


def test_a_review_of_whose_visit_nobody_said_what_became_is_not_booked_again(
    booking, injector, patient
):
    """Its visit has passed, and nobody said what became of it."""
    review = make_review(injector, patient, TODAY)
    visit = make_appointment(injector, patient, injector, f"{TODAY - timedelta(days=3)} 10:00")
    link(review, visit, injector)
    answer = booking(kind="review", settles=f"review-{review.pk}")
    assert answer.status_code == 422
    assert "say first whether the patient came" in answer.content.decode()
    assert Appointment.objects.count() == 1


def test_a_complication_check_is_booked_as_one_and_the_desk_is_not_told(
    signed_in, desk, injector, patient
):
    review = make_review(injector, patient, TODAY)
    event = make_event(injector, patient)
    ReviewAsk.objects.create(review=review, session=review.session, rule=make_rule(), event=event)
    address = reverse("review-book", args=[review.pk])
    page = signed_in(injector).get(address)
    assert page.context["form"]["kind"].value() == "complication_check"
    assert "Book the complication check" in page.content.decode()
    page = signed_in(desk).get(address)
    assert page.context["form"]["kind"].value() == "review"
    assert "Book the complication check" not in page.content.decode()


def test_a_review_whose_day_has_passed_is_not_said_to_be_due_today(
    signed_in, desk, injector, patient
):
    due = TODAY - timedelta(days=120)
    review = make_review(injector, patient, due)
    page = signed_in(desk).get(reverse("review-book", args=[review.pk]))
    assert page.context["suggested"], "the soonest are shown"
    assert f"The soonest: it was due on {day_in_words(due)}" in page.content.decode()

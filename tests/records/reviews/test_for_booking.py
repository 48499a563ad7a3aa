"""A visit that is booked elsewhere settles an open review."""

from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.audit.services import acting
from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from records.reviews.errors import ReviewBooked, ReviewClosed
from records.reviews.queries.for_booking import open_reviews_for
from records.reviews.services.acts import link_open_review, mark_done
from tests.factories import make_appointment, make_patient, make_review, refreshed

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()


def link(review, appointment, actor) -> None:
    with acting(actor) as trail:
        link_open_review(review=review, appointment=appointment, trail=trail)


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

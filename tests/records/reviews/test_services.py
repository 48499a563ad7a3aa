"""Scheduling, booking and closing reviews."""

import json
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy, Closure
from clinic.review_rules.queries import rule_book
from records.appointments.enums import AppointmentState
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment, start_of
from records.appointments.services.states import set_state
from records.reviews.errors import ReasonMissing, ReviewBooked, ReviewClosed, ReviewOpen
from records.reviews.models import Review
from records.reviews.services.acts import (
    book_review,
    excuse,
    mark_done,
    reopen,
)
from tests.factories import make_appointment, make_patient, make_review, refreshed

pytestmark = pytest.mark.django_db
TOMORROW = timezone.localdate() + timedelta(days=1)


@pytest.fixture
def review(injector, patient):
    return make_review(injector, patient, TOMORROW)


def appointment(injector, *, hour: int = 10) -> Appointment:
    return Appointment(
        practitioner=injector, kind="review", minutes=20,
        starts_at=start_of(TOMORROW) + timedelta(hours=hour),
    )  # fmt: skip


# Source: python-dateutil 2.9 for the intervals, month ends and leap day included; numpy's business
# days ("following") for the roll. 25 and 28 December 2026 and 1 January 2027 are closed.
@pytest.mark.parametrize(
    ("treated", "count", "unit", "due"),
    [
        ("2026-11-14", 14, "day", "2026-11-30"),  # 28 November is a Saturday
        ("2026-10-17", 14, "day", "2026-11-02"),  # a Saturday at the end of a month
        ("2026-12-11", 14, "day", "2026-12-29"),  # closed, a weekend, closed again
        ("2026-12-18", 14, "day", "2027-01-04"),
        ("2027-02-13", 14, "day", "2027-03-01"),
        ("2026-01-31", 2, "week", "2026-02-16"),  # 14 February is a Saturday
        ("2028-01-31", 1, "month", "2028-02-29"),  # clipped to a leap day
        ("2026-01-31", 2, "month", "2026-03-31"),  # not clipped
        ("2026-11-25", 3, "month", "2027-02-25"),  # 90 days would be 23 February
        ("2026-08-31", 6, "month", "2027-03-01"),  # clipped to a Sunday, so the Monday
    ],
)
def test_the_due_date_follows_the_clinic_s_rule(treated, count, unit, due):
    ClinicPolicy.objects.create(review_count=count, review_unit=unit)
    for closed in ("2026-12-25", "2026-12-28", "2027-01-01"):
        Closure.objects.create(starts_on=closed, ends_on=closed, reason="Holiday")
    (visit,) = rule_book(on_or_after=date(2026, 1, 1)).visits([None], date.fromisoformat(treated))
    assert visit.target == date.fromisoformat(due)


def test_a_review_is_booked_with_its_appointment(desk, injector, review):
    booked = book_review(review=review, appointment=appointment(injector), actor=desk)
    assert refreshed(review).appointment == booked
    assert booked.patient == review.patient
    events = AuditEvent.objects.filter(action__in=["appointment.booked", "review.booked"])
    assert events.count() == 2


def test_a_time_that_is_taken_leaves_the_review_as_it_was(desk, injector, review):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{TOMORROW} 10:10")
    with pytest.raises(TimeTaken):
        book_review(review=review, appointment=appointment(injector), actor=desk)
    assert refreshed(review).appointment is None
    assert Appointment.objects.count() == 1


def test_a_review_is_booked_once(desk, injector, review):
    book_review(review=review, appointment=appointment(injector), actor=desk)
    with pytest.raises(ReviewBooked, match=r"at 10:00. Cancel that one first."):
        book_review(review=review, appointment=appointment(injector, hour=12), actor=desk)
    assert Appointment.objects.count() == 1


def test_a_visit_that_has_passed_and_of_which_nobody_said_anything_comes_first(
    desk, injector, review
):
    day = TOMORROW - timedelta(days=2)
    first = make_appointment(desk, review.patient, injector, f"{day} 10:00")
    Review.objects.update(appointment=first)
    with pytest.raises(ReviewBooked, match=r"which has passed\. .* whether the patient came"):
        book_review(review=review, appointment=appointment(injector), actor=desk)
    assert refreshed(review).appointment == first
    set_state(appointment=first, state=AppointmentState.DID_NOT_ATTEND, actor=desk)
    second = book_review(review=review, appointment=appointment(injector), actor=desk)
    assert refreshed(review).appointment == second


@pytest.mark.parametrize("state", [AppointmentState.CANCELLED, AppointmentState.DID_NOT_ATTEND])
def test_a_review_can_be_booked_again_when_nobody_came(desk, injector, review, state):
    first = book_review(review=review, appointment=appointment(injector), actor=desk)
    set_state(appointment=first, state=state, actor=desk, reason="Has a cold")
    second = book_review(review=review, appointment=appointment(injector, hour=12), actor=desk)
    assert refreshed(review).appointment == second


def test_a_visit_that_is_done_does_not_close_the_review(desk, injector, review):
    visit = book_review(review=review, appointment=appointment(injector), actor=desk)
    set_state(appointment=visit, state=AppointmentState.DONE, actor=desk)
    assert refreshed(review).closed_at is None


def test_a_review_that_took_place_is_closed(injector, review):
    mark_done(review=review, actor=injector)
    review = refreshed(review)
    assert (review.outcome, review.closed_by) == ("done", injector)
    assert AuditEvent.objects.get(action="review.done").patient_id == review.patient_id


def test_an_excused_review_keeps_the_reason(desk, review):
    excuse(review=review, reason=" Moved abroad ", actor=desk)
    review = refreshed(review)
    assert (review.outcome, review.excuse) == ("excused", "Moved abroad")


def test_excusing_asks_why(desk, review):
    with pytest.raises(ReasonMissing):
        excuse(review=review, reason="  ", actor=desk)
    assert refreshed(review).closed_at is None


def test_a_closed_review_stays_closed(desk, injector, review):
    mark_done(review=review, actor=desk)
    for act in (
        lambda: mark_done(review=review, actor=desk),
        lambda: excuse(review=review, reason="Moved abroad", actor=desk),
        lambda: book_review(review=review, appointment=appointment(injector), actor=desk),
    ):
        with pytest.raises(ReviewClosed, match="closed already: Done"):
            act()
    assert not Appointment.objects.exists()


@pytest.mark.parametrize(
    "close",
    [mark_done, lambda **act: excuse(reason="Moved abroad", **act)],
    ids=["done", "excused"],
)
def test_a_slip_is_taken_back_on_the_same_day(desk, injector, review, close):
    close(review=review, actor=desk)
    outcome = refreshed(review).outcome
    reopen(review=review, actor=injector)
    review = refreshed(review)
    assert (review.closed_at, review.closed_by, review.outcome, review.excuse) == (
        None, None, "", "",
    )  # fmt: skip
    event = AuditEvent.objects.get(action="review.reopened")
    assert (event.actor, event.patient_id) == (injector, review.patient_id)
    before = json.loads(event.data)["before"]
    assert (before["outcome"], before["closed_by"]) == (outcome, desk.pk)


def test_from_the_next_day_on_opening_again_takes_a_reason(desk, review):
    mark_done(review=review, actor=desk)
    Review.objects.update(closed_at=timezone.now() - timedelta(days=1))
    with pytest.raises(ReasonMissing):
        reopen(review=review, reason=" ", actor=desk)
    assert refreshed(review).outcome == "done"
    reopen(review=review, reason="Another patient came", actor=desk)
    assert refreshed(review).closed_at is None
    event = AuditEvent.objects.get(action="review.reopened")
    assert json.loads(event.data)["reason"] == "Another patient came"


def test_what_is_open_is_not_opened_again(desk, review):
    with pytest.raises(ReviewOpen):
        reopen(review=review, actor=desk)
    assert not AuditEvent.objects.filter(action="review.reopened").exists()


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"outcome": "done"}, "review_closed_with_outcome"),
        ({"closed_at": timezone.now()}, "review_closed_with_outcome"),
        (
            {"closed_at": timezone.now(), "outcome": "excused", "closed_by": 1},
            "review_excused_with_reason",
        ),
    ],
)
def test_the_database_refuses_what_cannot_be(injector, review, fields, constraint):
    if "closed_by" in fields:
        fields = fields | {"closed_by": injector}
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        Review.objects.filter(pk=review.pk).update(**fields)

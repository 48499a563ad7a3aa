"""Scheduling the reviews that sessions and adverse events ask for, each as a part of its act."""

from django.utils import timezone

from clinic.audit.services import Trail, snapshot
from clinic.review_rules.queries import rule_book
from planning.review_rules import Visit
from records.reviews.enums import DateCause
from records.reviews.models import Review, ReviewAsk, ReviewDate
from records.reviews.queries.asked import event_visit, planned_visits

DATES = ["earliest_on", "due_on", "latest_on"]


def schedule_reviews(*, session, trail: Trail) -> list[Review]:
    """
    Add the reviews that a session being signed asks for: one a visit, none if nothing was given.

    Raises:
        planning.review_dates.ReviewDateError: the clinic has no open day within a year.
    """
    return [add_review(visit, session, trail) for visit in planned_visits(session)]


def schedule_event_review(*, event, trail: Trail) -> Review | None:
    """
    Add the review that the clinic's rule asks for after an adverse event of a session; None if no
    rule does, the event is of no known session, or it has its review already.

    Raises:
        planning.review_dates.ReviewDateError: the clinic has no open day within a year.
    """
    if event.session is None or event.review_asks.exists():
        return None
    today = timezone.localdate()
    visit = event_visit(event, rule_book(on_or_after=today), today)
    return add_review(visit, event.session, trail, event=event) if visit else None


def add_review(visit: Visit, session, trail: Trail, *, event=None) -> Review:
    """Write a review with what it answers and the first row of its dates."""
    review = Review(patient_id=session.patient_id, session_id=session.pk)
    set_dates(review, visit)
    review.save()
    answer(review, visit, event=event)
    note_dates(review, DateCause.SCHEDULED, visit.words, trail)
    trail.add(
        "review.scheduled", review, patient_id=review.patient_id, after=snapshot(review, DATES)
    )
    return review


def answer(review: Review, visit: Visit, *, event=None) -> None:
    """Write down which rules the review answers."""
    ReviewAsk.objects.bulk_create(
        ReviewAsk(review=review, session_id=review.session_id, rule_id=one.key, event=event)
        for one in visit.asked
    )


def set_dates(review: Review, visit: Visit) -> None:
    """Take over the dates of a visit, unsaved."""
    review.earliest_on, review.due_on, review.latest_on = visit.earliest, visit.target, visit.latest
    review.moved_from, review.label, review.rule = visit.moved_from, visit.label, visit.words


def note_dates(review: Review, cause: DateCause, reason: str, trail: Trail) -> None:
    """Add the review's dates to their history."""
    dates = {name: getattr(review, name) for name in DATES}
    ReviewDate.objects.create(
        review=review, cause=cause, reason=reason, at=timezone.now(), by=trail.actor, **dates
    )

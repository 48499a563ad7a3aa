"""Moving an open review to another day."""

from datetime import date

from django.utils import timezone

from clinic.audit.services import acting, snapshot
from clinic.policy.queries import current_policy, open_days
from planning.review_dates import day_in_words
from records.reviews.enums import DateCause
from records.reviews.errors import DayRefused, ReasonMissing
from records.reviews.models import Review
from records.reviews.services.acts import lock_open, refuse_booked
from records.reviews.services.scheduling import DATES, note_dates

FURTHEST_YEARS = 5


def move_review(
    *, review: Review, due_on: date, reason: str, actor, cause: DateCause = DateCause.MOVED
) -> Review:
    """
    Set the day of an open review by hand. The window stretches to a day outside of it, and the
    clinic's rules no longer change the date.

    Raises:
        ReasonMissing: no reason.
        ReviewClosed: the review is done or excused.
        ReviewBooked: it has an appointment that is still to come.
        DayRefused: the day has passed, is the review's own, or the clinic is closed on it.
    """
    if not reason.strip():
        raise ReasonMissing("Say why the review is moved: the reason stays with it.")
    with acting(actor) as trail:
        stored = lock_open(review)
        refuse_booked(stored)
        refuse_day(stored, due_on)
        before = snapshot(stored, DATES)
        stored.moved_from, stored.due_on = stored.due_on, due_on
        stored.earliest_on = min(stored.earliest_on, due_on)
        stored.latest_on = max(stored.latest_on, due_on)
        stored.save(update_fields=[*DATES, "moved_from"])
        note_dates(stored, cause, reason.strip(), trail)
        trail.add(
            "review.moved",
            stored,
            patient_id=stored.patient_id,
            before=before,
            after=snapshot(stored, DATES),
            reason=reason.strip(),
        )
    return stored


def refuse_day(review: Review, day: date) -> None:
    """Raises DayRefused where the review cannot be moved to that day, in words for the person."""
    today = timezone.localdate()
    if day < today:
        raise DayRefused(f"{day_in_words(day)} has passed. Choose today or a later day.")
    if day == review.due_on:
        raise DayRefused(f"The review is due on {day_in_words(day)} already. Choose another day.")
    if day.year > today.year + FURTHEST_YEARS:
        raise DayRefused(f"{day_in_words(day)} is years away. Check the year.")
    days = open_days(current_policy(), on_or_after=today)
    if not days.is_open(day):
        raise DayRefused(f"{days.closed_in_words(day)}. Choose an open day.")

"""What the booking page asks of reviews: which are open, and that a visit settles one."""

from functools import partial

from planning.review_dates import day_in_words
from records.appointments.errors import AlreadySettled
from records.appointments.settling import Note, OpenMatter
from records.patients.models import Patient
from records.reviews.errors import ReviewBooked, ReviewClosed
from records.reviews.models import Review
from records.reviews.queries.for_booking import SETTLING, open_reviews_for
from records.reviews.services.acts import lock_unbooked, note_visit

MOST = 5


def open_reviews(patient: Patient) -> list[OpenMatter]:
    """Those that wait longest, at most MOST."""
    return [
        OpenMatter(
            key=f"review-{review.pk}",
            words=f"the {review.get_kind_display().lower()} due {day_in_words(review.due_on)}",
            kinds=SETTLING,
            hold=partial(_hold, review),
        )
        for review in open_reviews_for(patient)[:MOST]
    ]


def _hold(review: Review) -> Note:
    try:
        stored = lock_unbooked(review)
    except (ReviewBooked, ReviewClosed) as refusal:
        raise AlreadySettled(str(refusal)) from refusal
    return partial(note_visit, stored)

"""Which open reviews a visit that is being booked can settle."""

from datetime import date

from django.db.models import QuerySet
from django.utils import timezone

from clinic.visit_kinds.enums import AppointmentKind
from records.patients.models import Patient
from records.reviews.models import Review, ReviewAsk

SETTLING = (AppointmentKind.REVIEW, AppointmentKind.TOP_UP)


def open_reviews_for(patient: Patient, *, on: date | None = None) -> QuerySet[Review]:
    """
    A patient's open reviews without a visit, by their day: the first is the one that a visit of
    kind review or top-up most likely settles.
    """
    reviews = Review.objects.filter(patient=patient).still_open()
    free = reviews.not_booked(on or timezone.localdate())
    return free.order_by("due_on", "id")


def is_complication_check(review: Review) -> bool:
    """Whether it answers an adverse event that is open still."""
    asks = ReviewAsk.objects.filter(review=review, event__isnull=False)
    return asks.filter(event__closed_at__isnull=True).exists()

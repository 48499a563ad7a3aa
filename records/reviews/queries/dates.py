"""How reviews came by their dates, and whether any session lacks the review it asked for."""

from django.apps import apps
from django.db.models import Exists, OuterRef, QuerySet, Subquery
from django.utils import timezone

from records.reviews.enums import DateCause
from records.reviews.models import Review, ReviewAsk, ReviewDate


def dates_of(review: Review) -> QuerySet[ReviewDate]:
    """The history of a review's dates, the latest first."""
    return review.dates.select_related("by").order_by("-id")


def stretched_from(review: Review) -> ReviewDate | None:
    """
    The last dates that rules gave, if a person has moved an end of the window since; else None.
    """
    by_rule = next((row for row in dates_of(review) if not DateCause(row.cause).is_by_hand), None)
    if by_rule is None or (by_rule.earliest_on, by_rule.latest_on) == (
        review.earliest_on,
        review.latest_on,
    ):
        return None
    return by_rule


def open_reviews_of(session) -> QuerySet[Review]:
    """The session's open reviews that nobody has booked, by their day."""
    reviews = Review.objects.filter(session=session).still_open()
    return reviews.not_booked(timezone.localdate()).order_by("due_on", "id")


def sessions_without_review() -> QuerySet:
    """
    Signed sessions with something given and no review but those of adverse events. Whatever the
    rules of the day were, each of them asks for one: the general rule holds where no other does.
    """
    # By their names: this capability knows nothing of sessions.
    points = apps.get_model("records", "InjectionEntry").objects.standing()
    of_event = ReviewAsk.objects.filter(review=OuterRef("pk"), event__isnull=False)
    of_treatment = Review.objects.exclude(Exists(of_event))
    return (
        apps.get_model("records", "TreatmentSession")
        .objects.signed()
        .filter(Exists(points.filter(session=OuterRef("pk"))))
        .exclude(Exists(of_treatment.filter(session=OuterRef("pk"))))
        .select_related("patient")
        .order_by("id")
    )


def reviews_off_their_history() -> QuerySet[Review]:
    """Reviews whose dates are not those that their history ends with."""
    last = ReviewDate.objects.filter(review=OuterRef("pk")).order_by("-id").values("pk")[:1]
    names = ("earliest_on", "due_on", "latest_on")
    told = ReviewDate.objects.filter(
        pk=OuterRef("last_told"), **{name: OuterRef(name) for name in names}
    )
    return Review.objects.annotate(last_told=Subquery(last)).exclude(Exists(told)).order_by("id")

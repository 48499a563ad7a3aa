"""Whether reviews were done in time, and how long treatments waited for theirs, by injector."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from planning.desk_figures import ReviewCounts, review_counts
from planning.waiting_times import Wait
from records.figures.queries.asked import Asked, Bucket
from records.reviews.enums import ReviewOutcome
from records.reviews.models import Review


@dataclass
class ReviewFigures:
    """By injector and window; by month for all, with None for the injector."""

    counts: dict[tuple[int | None, Bucket], ReviewCounts] = field(
        default_factory=lambda: defaultdict(ReviewCounts)
    )
    waits: dict[tuple[int | None, Bucket], list[Wait]] = field(
        default_factory=lambda: defaultdict(list)
    )

    @property
    def injectors(self) -> set[int]:
        return {key for key, _ in [*self.counts, *self.waits] if key is not None}


def review_figures(asked: Asked) -> ReviewFigures:
    """In two queries."""
    figures = ReviewFigures()
    reviews = Review.objects.order_by()
    if asked.person_id:
        reviews = reviews.filter(session__injector=asked.person_id)
    _add_counts(figures, asked, reviews)
    _add_waits(figures, asked, reviews)
    return figures


def _add_counts(figures: ReviewFigures, asked: Asked, reviews: QuerySet) -> None:
    # One whose last day is today can still be done in time.
    last = min(asked.last, asked.today - timedelta(days=1))
    ended = reviews.filter(latest_on__gte=asked.first, latest_on__lte=last)
    for injector, latest_on, outcome, closed_at in ended.values_list(
        "session__injector_id", "latest_on", "outcome", "closed_at"
    ):
        counts = review_counts(
            is_excused=outcome == ReviewOutcome.EXCUSED,
            closed_on=closed_at and timezone.localdate(closed_at),
            latest_on=latest_on,
        )
        for bucket in asked.buckets_of(latest_on):
            for key in (None, injector):
                figures.counts[key, bucket] += counts


def _add_waits(figures: ReviewFigures, asked: Asked, reviews: QuerySet) -> None:
    of_session: dict[tuple[int, int, datetime], list[tuple[str, datetime | None]]] = defaultdict(
        list
    )
    treated = reviews.filter(**asked.within("session__started_at"))
    for session, injector, started_at, outcome, closed_at in treated.values_list(
        "session_id", "session__injector_id", "session__started_at", "outcome", "closed_at"
    ):
        of_session[session, injector, started_at].append((outcome, closed_at))
    for (_, injector, started_at), ends in of_session.items():
        treated_on = timezone.localdate(started_at)
        wait = wait_for_review(treated_on, ends, asked.today)
        for bucket in asked.buckets_of(treated_on):
            for key in (None, injector):
                figures.waits[key, bucket].append(wait)


def wait_for_review(
    treated_on: date, ends: Iterable[tuple[str, datetime | None]], today: date
) -> Wait:
    """
    How long a treatment waited for the first of its reviews to be done.

    Args:
        ends: outcome and moment of each of its reviews, "" and None for one that is open.
    """
    ends = list(ends)
    done = [at for outcome, at in ends if at and outcome == ReviewOutcome.DONE]
    if done:
        return Wait(_days(treated_on, timezone.localdate(min(done))), has_happened=True)
    called_off = [timezone.localdate(at) for _, at in ends if at]
    last = today if len(called_off) < len(ends) else max(called_off)
    return Wait(_days(treated_on, last), has_happened=False)


def _days(first: date, last: date) -> int:
    """A treatment that was written down afterwards may be younger than its review."""
    return max(0, (last - first).days)

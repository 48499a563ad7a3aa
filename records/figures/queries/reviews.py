"""Whether reviews were done in time, and how long treatments waited for theirs, by injector."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import QuerySet
from django.utils import timezone

from planning.desk_figures import Ending, ReviewCounts, ending_of
from planning.waiting_times import Wait
from records.figures.queries.asked import Asked, Bucket
from records.reviews.enums import ReviewOutcome
from records.reviews.models import Review

Key = tuple[int | None, Bucket]
"""An injector, or None for all, and where the day counts."""


@dataclass
class ReviewFigures:
    """By injector and window; by month for all."""

    endings: dict[Key, Counter[Ending]] = field(default_factory=lambda: defaultdict(Counter))
    waits: dict[Key, list[Wait]] = field(default_factory=lambda: defaultdict(list))

    @property
    def injectors(self) -> set[int]:
        return {key for key, _ in [*self.endings, *self.waits] if key is not None}

    def counts(self, key: Key) -> ReviewCounts:
        return ReviewCounts(**{str(ending): count for ending, count in self.endings[key].items()})


def review_figures(asked: Asked) -> ReviewFigures:
    """In two queries."""
    figures = ReviewFigures()
    reviews = Review.objects.order_by()
    if asked.person_id:
        reviews = reviews.filter(session__injector=asked.person_id)
    _add_endings(figures, asked, reviews)
    _add_waits(figures, asked, reviews)
    return figures


def _add_endings(figures: ReviewFigures, asked: Asked, reviews: QuerySet) -> None:
    zone = timezone.get_current_timezone()
    # One whose last day is today can still be done in time.
    last = min(asked.last, asked.today - timedelta(days=1))
    ended = reviews.filter(latest_on__gte=asked.first, latest_on__lte=last)
    for injector, latest_on, outcome, closed_at in ended.values_list(
        "session__injector_id", "latest_on", "outcome", "closed_at"
    ):
        ending = ending_of(
            is_excused=outcome == ReviewOutcome.EXCUSED,
            closed_on=closed_at and closed_at.astimezone(zone).date(),
            latest_on=latest_on,
        )
        for bucket in asked.buckets[latest_on]:
            figures.endings[None, bucket][ending] += 1
            figures.endings[injector, bucket][ending] += 1


def _add_waits(figures: ReviewFigures, asked: Asked, reviews: QuerySet) -> None:
    zone = timezone.get_current_timezone()
    treated = reviews.filter(**asked.within("session__started_at"))
    treatments: dict[tuple[int, int, datetime], list[Close]] = defaultdict(list)
    for session, injector, started_at, outcome, closed_at in treated.values_list(
        "session_id", "session__injector_id", "session__started_at", "outcome", "closed_at"
    ):
        closed_on = closed_at and closed_at.astimezone(zone).date()
        treatments[session, injector, started_at].append((outcome, closed_on))
    for (_, injector, started_at), closes in treatments.items():
        treated_on = started_at.astimezone(zone).date()
        wait = wait_for_review(treated_on, closes, asked.today)
        for bucket in asked.buckets[treated_on]:
            figures.waits[None, bucket].append(wait)
            figures.waits[injector, bucket].append(wait)


Close = tuple[str, date | None]
"""Outcome and day of a review, "" and None for one that is open."""


def wait_for_review(treated_on: date, closes: Sequence[Close], today: date) -> Wait:
    """How long a treatment waited for the first of its reviews to be done."""
    done = [day for outcome, day in closes if day and outcome == ReviewOutcome.DONE]
    if done:
        return Wait(_days(treated_on, min(done)), has_happened=True)
    called_off = [day for _, day in closes if day]
    last = today if len(called_off) < len(closes) else max(called_off)
    return Wait(_days(treated_on, last), has_happened=False)


def _days(first: date, last: date) -> int:
    """A treatment that was written down afterwards may be younger than its review."""
    return max(0, (last - first).days)

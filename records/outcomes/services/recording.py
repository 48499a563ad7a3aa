"""Writing down what was seen at a review, which closes it."""

import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from planning.atlas.regions import Region
from planning.outcomes import Improvement, Rater, Scheme, TopUp
from records.outcomes.enums import PatientAnswer
from records.outcomes.errors import OutcomeError, ReviewExcused, WhyAgainMissing
from records.outcomes.models import OwnAnswers, RegionRating, ReviewRecord
from records.reviews.enums import ReviewOutcome
from records.reviews.models import Review
from records.reviews.services.acts import mark_done

RECORD_FIELDS = [
    "seen_on", "seen", "patient_answer", "satisfaction", "has_event", "top_up",
]  # fmt: skip

Grades = Mapping[Region, Improvement]


@dataclass(frozen=True)
class Seen:
    """
    What is written down.

    Attributes:
        by_injector, by_patient: the grades each gave, by region.
        satisfaction: the patient's, 0 to 10; None where not asked.
        own_answers: what the patient answered alone, the same as `by_patient` and `satisfaction`.
        why_again: why there is a further record of the review; empty for the first.
    """

    seen_on: date
    seen: str
    has_event: bool
    top_up: TopUp
    patient_answer: PatientAnswer
    by_injector: Grades
    by_patient: Grades = field(default_factory=dict)
    satisfaction: int | None = None
    own_answers: OwnAnswers | None = None
    why_again: str = ""


def record_review(*, review: Review, what: Seen, key: uuid.UUID, actor) -> ReviewRecord:
    """
    Keep what was seen at a review, and close the review as done if it is open. The author's draft
    of it ends.

    Args:
        key: made with the page; a page that is sent again gives the record it gave before.

    Raises:
        ReviewExcused: the review was closed as not needed.
        WhyAgainMissing: it has a record, and `why_again` is empty.
        OutcomeError: the page was another review's, or somebody else sent it.
    """
    try:
        return _record(review, what, key, actor)
    except (IntegrityError, WhyAgainMissing) as error:
        sent_before = ReviewRecord.objects.filter(key=key).first()
        if sent_before is None:
            raise
        if (sent_before.review_id, sent_before.made_by_id) != (review.pk, actor.pk):
            raise OutcomeError(
                "This page was sent once before, for another review. Open it anew from the record."
            ) from error
        return sent_before


def _record(review: Review, what: Seen, key: uuid.UUID, actor) -> ReviewRecord:
    with acting(actor) as trail:
        stored = Review.objects.select_for_update().get(pk=review.pk)
        if stored.outcome == ReviewOutcome.EXCUSED:
            raise ReviewExcused("This review is excused. Open it again first.")
        if stored.records.exists() and not what.why_again:
            raise WhyAgainMissing("This review has a record already. Say why it is written again.")
        ratings = list(_ratings(what))
        record = ReviewRecord.objects.create(
            key=key,
            review=stored,
            seen_on=what.seen_on,
            seen=what.seen,
            patient_answer=what.patient_answer,
            own_answers=what.own_answers,
            satisfaction=what.satisfaction,
            has_event=what.has_event,
            top_up=what.top_up,
            why_again=what.why_again,
            rating_count=len(ratings),
            made_at=timezone.now(),
            made_by=actor,
        )
        for rating in ratings:
            rating.record = record
        RegionRating.objects.bulk_create(ratings)
        _tell(record, ratings, trail)
        stored.drafts.filter(author=actor).delete()
        if stored.closed_at is None:
            mark_done(review=stored, actor=actor)
    return record


def _ratings(what: Seen) -> Iterator[RegionRating]:
    for rater, grades in (
        (Rater.INJECTOR, what.by_injector),
        (Rater.PATIENT, what.by_patient),
    ):
        for region, grade in grades.items():
            yield RegionRating(
                region=region,
                rater=rater,
                grade=grade.number,
                label=grade.label,
                scheme=Scheme.LOW_IS_BETTER,
            )


def _tell(record: ReviewRecord, ratings: list[RegionRating], trail: Trail) -> None:
    after = snapshot(record, RECORD_FIELDS) | {"ratings": [str(rating) for rating in ratings]}
    trail.add(
        "review.written_up",
        record,
        patient_id=record.review.patient_id,
        after=after,
        reason=record.why_again,
    )

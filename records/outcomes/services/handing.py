"""The tablet in the patient's hands: what was typed before it, and what is answered on it."""

import uuid
from collections.abc import Mapping

from django.utils import timezone

from clinic.audit.services import acting
from planning.atlas.regions import Region
from planning.outcomes import Improvement
from records.outcomes.errors import OutcomeError
from records.outcomes.models import OwnAnswers
from records.reviews.models import Review


def hand_over_review(*, review: Review, typed: Mapping[str, str], actor) -> None:
    """
    Note that the tablet goes to the patient, and keep what its author typed so far.

    Args:
        typed: {field: as typed}; empty where nothing was, which ends a draft of before.
    """
    with acting(actor) as trail:
        stored = Review.objects.select_for_update().get(pk=review.pk)
        if typed:
            kept = {"typed": dict(typed), "saved_at": timezone.now()}
            stored.drafts.update_or_create(author=actor, defaults=kept)
        else:
            stored.drafts.filter(author=actor).delete()
        trail.add(
            "review.handed_over",
            stored,
            patient_id=stored.patient_id,
            after={"kept_for_later": sorted(typed)},
        )


def keep_answers(
    *,
    review: Review,
    key: uuid.UUID,
    grades: Mapping[Region, Improvement],
    satisfaction: int | None,
    actor,
) -> OwnAnswers:
    """
    Keep the patient's own answers.

    Args:
        key: made with the page; a page that is sent again gives the answers it gave before.
        actor: whose sign-in the tablet has.

    Raises:
        OutcomeError: the page was another review's.
    """
    with acting(actor) as trail:
        stored = Review.objects.select_for_update().get(pk=review.pk)
        sent_before = OwnAnswers.objects.filter(key=key).first()
        if sent_before:
            if sent_before.review_id != stored.pk:
                raise OutcomeError("This page is of another visit. Please hand the tablet back.")
            return sent_before
        answers = OwnAnswers.objects.create(
            key=key,
            review=stored,
            grades={region.value: grade.number for region, grade in grades.items()},
            satisfaction=satisfaction,
            answered_at=timezone.now(),
            tablet_of=actor,
        )
        trail.add(
            "review.answered_by_patient",
            answers,
            patient_id=stored.patient_id,
            after={"grades": answers.grades, "satisfaction": satisfaction},
        )
    return answers

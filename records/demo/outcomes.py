"""How the demo's treatments turned out: most reviews that took place are written up."""

import uuid
from itertools import cycle, islice

from django.utils import timezone

from planning.outcomes import Improvement, TopUp
from records.outcomes.enums import PatientAnswer
from records.outcomes.queries.reviews import treated_regions
from records.outcomes.services.handing import keep_answers
from records.outcomes.services.recording import Seen, record_review
from records.reviews.models import Review

# Invented: mostly good, now and then not. Patients are a little less strict than their injectors.
BY_INJECTOR = (2, 1, 2, 3, 2, 2, 4, 1, 2, 3, 2, 1, 2, 3, 5, 2)
BY_PATIENT = (1, 2, 1, 2, 3, 2, 2, 1, 2, 4, 1, 2, 3)
# Every third patient answers alone on the tablet; keys of answers are apart from those of records.
ALONE, ANSWERED = 3, 1_000_000
SEEN = (
    "Even on both sides, soft to the touch, no lump.",
    "Good position. A little less on the left than on the right, not seen at a distance.",
    "Small bruise, fading. The shape is as planned.",
    "Less of it than hoped for; the patient would like a little more.",
)


def write_up(review: Review, number: int) -> None:
    """What the injector writes of the review that is `number` in the demo's order."""
    regions = treated_regions(review.session)
    by_injector = dict(zip(regions, _grades(BY_INJECTOR, number), strict=False))
    by_patient = dict(zip(regions, _grades(BY_PATIENT, number), strict=False))
    worst = max((grade.number for grade in by_injector.values()), default=1)
    satisfaction, injector = max(2, 11 - 2 * worst + number % 2), review.session.injector
    alone = None
    if not number % ALONE:
        alone = keep_answers(
            review=review, key=_key(ANSWERED + number), grades=by_patient,
            satisfaction=satisfaction, actor=injector,
        )  # fmt: skip
    record_review(
        review=review,
        what=Seen(
            seen_on=timezone.localdate(),
            seen=SEEN[3] if worst > 3 else SEEN[number % 3],
            has_event=review.session.adverse_events.exists(),
            top_up=TopUp.TOP_UP if worst > 3 else TopUp.WAIT if worst == 3 else TopUp.NONE,
            patient_answer=PatientAnswer.TABLET if alone else PatientAnswer.ASKED,
            by_injector=by_injector,
            by_patient=by_patient,
            satisfaction=satisfaction,
            own_answers=alone,
        ),
        key=_key(number),
        actor=injector,
    )


def _key(number: int) -> uuid.UUID:
    """Of its own, so that the story's throws stay as they are."""
    return uuid.UUID(int=number + 1, version=4)


def _grades(row: tuple[int, ...], number: int) -> list[Improvement]:
    return [Improvement.of(each) for each in islice(cycle(row), number, number + len(row))]

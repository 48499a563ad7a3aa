"""Writing up a review: what is kept, what it closes, and what is refused."""

import threading
import uuid

import pytest
from django.db import connection
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.atlas.regions import Region
from planning.outcomes import Improvement, Scheme
from records.outcomes.enums import PatientAnswer
from records.outcomes.errors import OutcomeError, ReviewExcused, WhyAgainMissing
from records.outcomes.models import ReviewRecord
from records.outcomes.queries.reviews import records_of_patient, records_of_review
from records.outcomes.services.recording import RegionRating
from records.reviews.enums import ReviewOutcome
from records.reviews.services.acts import excuse, mark_done
from tests.factories import make_patient, make_product, make_review_record, refreshed

TEMPLE, CHIN = Region.TEMPLE, Region.MENTAL


def write_up(injector, review, **fields) -> ReviewRecord:
    return make_review_record(injector, review, seen_on=timezone.localdate(), **fields)


def test_both_judge_each_region_and_the_scale_goes_with_the_number(injector, review):
    record = write_up(
        injector, review, patient_answer=PatientAnswer.ASKED, satisfaction=8,
        by_injector={TEMPLE: Improvement.MUCH, CHIN: Improvement.IMPROVED},
        by_patient={TEMPLE: Improvement.VERY_MUCH},
    )  # fmt: skip
    kept = RegionRating.objects.values_list("region", "rater", "grade", "label", "scheme")
    scheme = Scheme.LOW_IS_BETTER
    assert set(kept) == {
        ("temple", "injector", 2, "Much improved", scheme),
        ("mental", "injector", 3, "Improved", scheme),
        ("temple", "patient", 1, "Very much improved", scheme),
    }
    assert record.told == (
        "Temporal region 2 much improved; Mental region 3 improved; satisfaction 8 of 10"
    )
    temple, chin = record.by_region
    assert (temple.patient.grade, chin.patient) == (1, None)


def test_writing_it_up_closes_the_review_and_tells_the_trail(injector, review, patient):
    record = write_up(injector, review, by_injector={TEMPLE: Improvement.WORSE})
    closed = refreshed(review)
    assert (closed.outcome, closed.closed_by) == (ReviewOutcome.DONE, injector)
    written = AuditEvent.objects.get(action="review.written_up")
    assert (written.patient_id, written.subject_id) == (patient.pk, str(record.pk))
    assert "Temporal region, injector: 5 worse" in written.data
    assert AuditEvent.objects.filter(action="review.done").count() == 1


def test_a_review_that_the_desk_closed_is_written_up_later(injector, desk, review):
    mark_done(review=review, actor=desk)
    write_up(injector, review)
    assert refreshed(review).closed_by == desk


def test_nobody_was_seen_at_an_excused_review(injector, desk, review):
    excuse(review=review, reason="Moved away", actor=desk)
    with pytest.raises(ReviewExcused, match="Open it again first"):
        write_up(injector, review)


def test_a_further_record_says_why_and_the_last_one_holds(injector, review, patient):
    first = write_up(injector, review, seen="Left and right mixed up.")
    with pytest.raises(WhyAgainMissing, match="Say why"):
        write_up(injector, review)
    second = write_up(injector, review, why_again="Sides were mixed up")
    assert records_of_review(review) == [second, first]
    assert records_of_patient(patient) == [second]
    assert refreshed(first).seen == "Left and right mixed up."


def test_a_page_sent_twice_is_kept_once(injector, review):
    key = uuid.uuid4()
    assert write_up(injector, review, key=key) == write_up(injector, review, key=key)
    assert ReviewRecord.objects.count() == 1


def test_a_page_of_another_review_is_refused(injector, desk, review, treat):
    key = uuid.uuid4()
    write_up(injector, review, key=key)
    other = treat(make_patient(desk, "Bea"), injector, make_product("Another filler"))
    with pytest.raises(OutcomeError, match="for another review"):
        write_up(injector, other, key=key)
    assert refreshed(other).closed_at is None


@pytest.mark.django_db(transaction=True)
def test_of_two_who_write_one_review_up_at_once_the_second_is_asked_why(injector, review):
    start, came = threading.Barrier(2), []

    def write() -> None:
        try:
            start.wait()
            came.append(write_up(injector, review))
        except WhyAgainMissing as error:
            came.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=write) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(type(one).__name__ for one in came) == ["ReviewRecord", "WhyAgainMissing"]
    assert ReviewRecord.objects.count() == 1

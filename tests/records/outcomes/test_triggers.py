"""What the database holds of review records, tried by going round the services."""

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from planning.atlas.regions import Region
from planning.outcomes import Improvement
from records.outcomes.models import (
    CarryOver,
    OwnAnswers,
    RegionRating,
    ReviewDraft,
    ReviewRecord,
)
from records.outcomes.services.handing import keep_answers
from tests.factories import make_patient, make_plan, make_product, make_review, make_review_record

pytestmark = pytest.mark.django_db


def refused(act, message: str) -> None:
    with pytest.raises(IntegrityError, match=message), transaction.atomic():
        act()


def new_record(review, **fields) -> ReviewRecord:
    today = timezone.localdate()
    values = {
        "review": review, "seen_on": today, "seen": "Soft.", "patient_answer": "none",
        "has_event": False, "top_up": "none", "made_at": timezone.now(),
        "made_by": review.session.injector, **fields,
    }  # fmt: skip
    return ReviewRecord.objects.create(**values)


@pytest.fixture
def plain(injector, patient):
    """A review of a session without points."""
    return make_review(injector, patient, timezone.localdate())


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"seen": ""}, "review_record_says_what_was_seen"),
        ({"top_up": "later"}, "review_record_top_up_is_known"),
        ({"patient_answer": "none", "satisfaction": 8}, "review_record_whose_answers"),
        ({"patient_answer": "tablet"}, "review_record_whose_answers"),
        ({"patient_answer": "guessed"}, "review_record_whose_answers"),
        (
            {"patient_answer": "asked", "satisfaction": 11},
            "review_record_satisfaction_in_range",
        ),
    ],
)
def test_what_cannot_be_a_record_is_refused(plain, fields, constraint):
    refused(lambda: new_record(plain, **fields), constraint)


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"region": "elbow"}, "region_rating_region_is_known"),
        ({"rater": "mother"}, "region_rating_rater_is_known"),
        ({"grade": 6}, "region_rating_word_of_its_scheme"),
        ({"label": "Worse"}, "region_rating_word_of_its_scheme"),
        ({"scheme": "gais_5_best"}, "region_rating_word_of_its_scheme"),
    ],
)
def test_a_number_goes_with_its_word_and_scheme(plain, fields, constraint):
    record = new_record(plain, rating_count=1)
    row = {
        "region": "temple", "rater": "injector", "grade": 2, "label": "Much improved",
        "scheme": "gais_1_best", **fields,
    }  # fmt: skip
    refused(lambda: RegionRating.objects.create(record=record, **row), constraint)


def test_a_rater_judges_a_region_once(plain):
    record = new_record(plain, rating_count=2)
    row = {
        "record": record, "region": "temple", "rater": "patient", "grade": 1,
        "label": "Very much improved", "scheme": "gais_1_best",
    }  # fmt: skip
    RegionRating.objects.create(**row)
    refused(lambda: RegionRating.objects.create(**row), "region_rating_once_a_rater|UNIQUE")


def test_a_record_stays_as_it_was_saved(injector, review):
    record = make_review_record(injector, review, by_injector={Region.TEMPLE: Improvement.MUCH})
    rating = record.ratings.get()
    refused(lambda: ReviewRecord.objects.update(seen="Else"), "append-only")
    refused(lambda: rating.delete(), "append-only")
    refused(lambda: RegionRating.objects.update(grade=1, label="Very much improved"), "append-only")
    rating.pk, rating.region = None, "mental"
    refused(lambda: rating.save(force_insert=True), "the review record is saved")


def test_a_further_record_without_a_reason_is_refused(plain):
    new_record(plain)
    refused(lambda: new_record(plain), "says why")
    assert new_record(plain, why_again="Slip of the pen").pk


@pytest.fixture
def answers(injector, plain) -> OwnAnswers:
    return keep_answers(
        review=plain, key=uuid.uuid4(), grades={}, satisfaction=9, actor=injector
    )  # fmt: skip


def test_what_a_patient_answered_stays(answers):
    refused(lambda: OwnAnswers.objects.update(satisfaction=1), "append-only")
    refused(lambda: answers.delete(), "append-only")


def test_answers_lie_on_their_scale(answers):
    answers.pk, answers.key, answers.satisfaction = None, uuid.uuid4(), 11
    refused(lambda: answers.save(force_insert=True), "own_answers_satisfaction_in_range")


def test_answers_go_as_they_are_into_records_of_their_own_review(injector, desk, plain, answers):
    tablet = {"patient_answer": "tablet", "own_answers": answers}
    refused(lambda: new_record(plain, satisfaction=10, **tablet), "gave other answers")
    refused(lambda: new_record(plain, **tablet), "gave other answers")
    day = timezone.localdate() + timedelta(days=1)
    other = make_review(injector, make_patient(desk, "Bea"), day)
    refused(lambda: new_record(other, satisfaction=9, **tablet), "of another review")
    assert new_record(plain, satisfaction=9, **tablet).own_answers == answers


def test_an_author_has_one_draft_of_a_review(injector, plain):
    row = {"review": plain, "author": injector, "typed": {}, "saved_at": timezone.now()}
    ReviewDraft.objects.create(**row)
    refused(lambda: ReviewDraft.objects.create(**row), "review_draft_one_an_author|UNIQUE")


def test_a_top_up_is_carried_over_once(injector, patient, plain):
    record = new_record(plain, top_up="top_up")
    row = {
        "record": record, "plan": make_plan(injector, patient, make_product()),
        "at": timezone.now(), "by": injector,
    }  # fmt: skip
    carried = CarryOver.objects.create(**row)
    refused(lambda: CarryOver.objects.create(**row), "carryover|UNIQUE|unique")
    refused(lambda: carried.delete(), "append-only")

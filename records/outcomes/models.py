"""How a treatment turned out: what was seen and said at its review."""

import uuid
from collections.abc import Iterable

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef, Q

from planning.atlas.regions import Region
from planning.outcomes import (
    LEAST_SATISFIED,
    MOST_SATISFIED,
    Improvement,
    Rater,
    Scheme,
    TopUp,
)
from records.outcomes.enums import PatientAnswer
from records.plans.models import Plan
from records.reviews.models import Review

_ORDER = {region.value: place for place, region in enumerate(Region)}


def _satisfaction_in_range(name: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=Q(satisfaction__isnull=True)
        | Q(satisfaction__range=(LEAST_SATISFIED, MOST_SATISFIED)),
        name=name,
    )


class OwnAnswers(models.Model):
    """
    What the patient answered alone on the tablet; kept once and never changed.

    `key` is made with the page, so that a page sent twice is kept once. `grades` is {region: grade
    of the scale}. `tablet_of` is whose sign-in the tablet had.
    """

    key = models.UUIDField(unique=True, editable=False)
    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="own_answers")
    grades = models.JSONField(default=dict)
    satisfaction = models.PositiveSmallIntegerField(null=True)
    answered_at = models.DateTimeField()
    tablet_of = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["-id"]
        constraints = [_satisfaction_in_range("own_answers_satisfaction_in_range")]

    def __str__(self) -> str:
        return f"Answers of {self.answered_at:%Y-%m-%d %H:%M}"

    @property
    def given(self) -> dict[Region, Improvement]:
        """What the patient said of each region, in the order of the atlas."""
        return {
            region: Improvement.of(self.grades[region.value])
            for region in Region
            if region.value in self.grades
        }


class ReviewDraft(models.Model):
    """
    What an injector typed of a review before the tablet went to the patient: {field: as typed}.

    It is no part of the record and for its author alone; writing the review up ends it.
    """

    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="drafts")
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    typed = models.JSONField()
    saved_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(fields=["review", "author"], name="review_draft_one_an_author"),
        ]

    def __str__(self) -> str:
        return f"Draft of {self.saved_at:%Y-%m-%d %H:%M}"


class ReviewRecordQuerySet(models.QuerySet):
    def that_hold(self):
        """The last of each review; an earlier one was written again."""
        later = ReviewRecord.objects.filter(review=OuterRef("review"), pk__gt=OuterRef("pk"))
        return self.exclude(Exists(later))

    def with_ratings(self):
        return self.select_related("made_by", "review__session__injector").prefetch_related(
            "ratings"
        )


class ReviewRecord(models.Model):
    """
    What was seen at one review. Written once and never changed: a correction is a further record of
    the same review, with why, and the last one holds.

    `key` is made with the page, so that a page sent twice is kept once. `rating_count` ratings hang
    on it, and a trigger lets no other one in. `satisfaction` is the patient's, 0 to 10.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    review = models.ForeignKey(Review, on_delete=models.PROTECT, related_name="records")
    seen_on = models.DateField("seen on")
    seen = models.TextField("what was seen")
    patient_answer = models.CharField(max_length=10, choices=PatientAnswer.choices())
    own_answers = models.ForeignKey(
        OwnAnswers, on_delete=models.PROTECT, null=True, related_name="records"
    )
    satisfaction = models.PositiveSmallIntegerField(null=True)
    has_event = models.BooleanField("adverse event")
    top_up = models.CharField(max_length=10, choices=TopUp.choices())
    why_again = models.CharField(max_length=300, blank=True)
    rating_count = models.PositiveSmallIntegerField(default=0)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    objects = ReviewRecordQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-seen_on", "-id"]
        indexes = [models.Index(fields=["seen_on"], name="review_record_by_day")]
        constraints = [
            models.CheckConstraint(condition=~Q(seen=""), name="review_record_says_what_was_seen"),
            models.CheckConstraint(
                condition=Q(top_up__in=[word.value for word in TopUp]),
                name="review_record_top_up_is_known",
            ),
            models.CheckConstraint(
                condition=Q(patient_answer=PatientAnswer.TABLET.value, own_answers__isnull=False)
                | Q(patient_answer=PatientAnswer.ASKED.value, own_answers__isnull=True)
                | Q(
                    patient_answer=PatientAnswer.NONE.value,
                    own_answers__isnull=True,
                    satisfaction__isnull=True,
                ),
                name="review_record_whose_answers",
            ),
            _satisfaction_in_range("review_record_satisfaction_in_range"),
        ]

    def __str__(self) -> str:
        return f"Review record of {self.seen_on}"

    @property
    def by_region(self) -> list["RatedRegion"]:
        """Its regions in the order of the atlas, with both ratings."""
        return rated_regions(self.ratings.all())

    @property
    def told(self) -> str:
        """ "Temporal region 2 much improved; satisfaction 8 of 10", as far as it was said."""
        parts = [
            f"{row.region.label} {row.injector.words}" for row in self.by_region if row.injector
        ]
        if self.satisfaction is not None:
            parts.append(f"satisfaction {self.satisfaction} of {MOST_SATISFIED}")
        return "; ".join(parts) or "no region judged"


class RegionRating(models.Model):
    """What one rater said of one region: the number, its word and which way it counts."""

    record = models.ForeignKey(ReviewRecord, on_delete=models.PROTECT, related_name="ratings")
    region = models.CharField(max_length=40, choices=Region.choices())
    rater = models.CharField(max_length=10, choices=Rater.choices())
    grade = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=40)
    scheme = models.CharField(max_length=20, choices=Scheme.choices())

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["record", "region", "rater"], name="region_rating_once_a_rater"
            ),
            models.CheckConstraint(
                condition=Q(region__in=[region.value for region in Region]),
                name="region_rating_region_is_known",
            ),
            models.CheckConstraint(
                condition=Q(rater__in=[rater.value for rater in Rater]),
                name="region_rating_rater_is_known",
            ),
            models.CheckConstraint(
                condition=Q(scheme=Scheme.LOW_IS_BETTER.value)
                & Q(
                    *(Q(grade=grade.number, label=grade.label) for grade in Improvement),
                    _connector=Q.OR,
                ),
                name="region_rating_word_of_its_scheme",
            ),
        ]

    def __str__(self) -> str:
        return f"{Region(self.region).label}, {self.get_rater_display().lower()}: {self.words}"

    @property
    def words(self) -> str:
        """ "2 much improved"."""
        return f"{self.grade} {self.label.lower()}"


class RatedRegion:
    """One region with what the injector and what the patient said of it; None for neither."""

    def __init__(self, region: str) -> None:
        self.region = Region(region)
        self.injector: RegionRating | None = None
        self.patient: RegionRating | None = None


def rated_regions(ratings: Iterable[RegionRating]) -> list[RatedRegion]:
    found: dict[str, RatedRegion] = {}
    for rating in sorted(ratings, key=lambda one: _ORDER[one.region]):
        row = found.setdefault(rating.region, RatedRegion(rating.region))
        if rating.rater == Rater.INJECTOR:
            row.injector = rating
        else:
            row.patient = rating
    return list(found.values())


class CarryOver(models.Model):
    """That the points of last time went into a plan, as the top-up of a record."""

    record = models.OneToOneField(
        ReviewRecord, on_delete=models.PROTECT, related_name="carried_over"
    )
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return f"Top-up of {self.record} in {self.plan}"

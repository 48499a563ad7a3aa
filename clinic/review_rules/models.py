"""The clinic's rules for reviews, and how long it reckons that an effect lasts."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from clinic.policy.models import INTERVAL_UNITS
from clinic.review_rules.enums import BACKINGS, Rolling
from planning.atlas.region_groups import RegionGroup
from planning.durations import TypicalDuration
from planning.review_dates import Interval, IntervalUnit
from planning.review_dates import ReviewRule as RuleDates
from planning.review_rules import ReviewEvent, RuleChoice
from planning.sources import Confidence, Source
from planning.vocabulary import ProductKind

LONGEST_WINDOW_DAYS = 400
ANY_KIND, ANY_PART = "Any product", "Any part of the body"


def _known(field: str, words, *, table: str, may_be_empty: bool = False) -> models.CheckConstraint:
    values = [word.value for word in words] + ([""] if may_be_empty else [])
    return models.CheckConstraint(
        condition=Q(**{f"{field}__in": values}),
        name=f"{table}_{field}_is_known",
    )


class Backed(models.Model):
    """What says where it comes from."""

    backing = models.CharField(
        "known from",
        max_length=20,
        choices=[(known.value, known.label) for known in BACKINGS],
        default=Confidence.CLINIC_POLICY,
    )
    source = models.CharField(
        "which source", max_length=200, blank=True, help_text="Needed for a published one."
    )

    class Meta:
        abstract = True

    @property
    def source_text(self) -> str:
        """As it stands beside the figure: "clinic policy", or the published source."""
        return self.source or Confidence(self.backing).words


class ReviewRule(Backed):
    """
    After which treatment a review is asked for, and when.

    An empty `kind` or `group` stands for any. A rule that is no longer used is taken out of use and
    never deleted: the reviews it asked for name it.
    """

    label = models.CharField(
        max_length=60, help_text="The front desk reads it: name the visit, not what is wrong."
    )
    kind = models.CharField("product", max_length=20, choices=ProductKind.choices(), blank=True)
    group = models.CharField(
        "part of the body", max_length=20, choices=RegionGroup.choices(), blank=True
    )
    event = models.CharField(
        "after", max_length=20, choices=ReviewEvent.choices(), default=ReviewEvent.TREATMENT
    )
    count = models.PositiveSmallIntegerField(
        "review after", validators=[MinValueValidator(1), MaxValueValidator(400)]
    )
    unit = models.CharField(max_length=10, choices=INTERVAL_UNITS, default=IntervalUnit.DAY.value)
    early_days = models.PositiveSmallIntegerField(
        "earliest", default=0, validators=[MaxValueValidator(LONGEST_WINDOW_DAYS)]
    )
    late_days = models.PositiveSmallIntegerField(
        "latest", default=7, validators=[MaxValueValidator(LONGEST_WINDOW_DAYS)]
    )
    rolling = models.CharField(
        "on a closed day", max_length=20, choices=Rolling.choices(), default=Rolling.FOLLOWING
    )
    is_active = models.BooleanField("in use", default=True)

    class Meta:
        app_label = "clinic"
        ordering = ["kind", "group", "event", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "group", "event"],
                condition=Q(is_active=True),
                name="review_rule_once_in_use",
                violation_error_message="Another rule in use is for the same product, part of the "
                "body and event. Change that one, or take it out of use first.",
            ),
            models.CheckConstraint(condition=Q(count__gte=1), name="review_rule_count_positive"),
            models.CheckConstraint(condition=~Q(label=""), name="review_rule_has_label"),
            models.CheckConstraint(
                condition=~Q(backing="published") | ~Q(source=""),
                name="review_rule_published_says_where",
                violation_error_message="Say which published source it is.",
            ),
            _known("kind", ProductKind, table="review_rule", may_be_empty=True),
            _known("group", RegionGroup, table="review_rule", may_be_empty=True),
            _known("event", ReviewEvent, table="review_rule"),
            _known("unit", IntervalUnit, table="review_rule"),
            _known("rolling", Rolling, table="review_rule"),
            _known("backing", BACKINGS, table="review_rule"),
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def dates(self) -> RuleDates:
        """Interval, window and roll, as the planning service takes them."""
        return RuleDates(
            Interval(self.count, IntervalUnit(self.unit)),
            earliest_offset_days=-self.early_days,
            latest_offset_days=self.late_days,
            roll=Rolling(self.rolling).roll,
        )

    @property
    def choice(self) -> RuleChoice:
        """What the rule is for, as the planning service takes it."""
        return RuleChoice(
            key=self.pk,
            event=ReviewEvent(self.event),
            kind=ProductKind(self.kind) if self.kind else None,
            group=RegionGroup(self.group) if self.group else None,
        )


class EffectDuration(Backed):
    """How long the clinic reckons that an effect lasts, as a range of months."""

    kind = models.CharField("product", max_length=20, choices=ProductKind.choices())
    group = models.CharField(
        "part of the body", max_length=20, choices=RegionGroup.choices(), blank=True
    )
    least_months = models.PositiveSmallIntegerField(
        "lasts at least", validators=[MinValueValidator(1), MaxValueValidator(120)]
    )
    most_months = models.PositiveSmallIntegerField(
        "lasts at most", validators=[MinValueValidator(1), MaxValueValidator(120)]
    )

    class Meta:
        app_label = "clinic"
        ordering = ["kind", "group"]
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "group"],
                name="effect_duration_once",
                violation_error_message="There is a range for this product and part of the body "
                "already: change that one.",
            ),
            models.CheckConstraint(
                condition=Q(least_months__gte=1, most_months__gte=F("least_months")),
                name="effect_duration_is_a_range",
                violation_error_message="The range starts at 1 month or more and ends no earlier.",
            ),
            models.CheckConstraint(
                condition=~Q(backing="published") | ~Q(source=""),
                name="effect_duration_published_says_where",
                violation_error_message="Say which published source it is.",
            ),
            _known("kind", ProductKind, table="effect_duration"),
            _known("group", RegionGroup, table="effect_duration", may_be_empty=True),
            _known("backing", BACKINGS, table="effect_duration"),
        ]

    def __str__(self) -> str:
        where = self.get_group_display() or ANY_PART
        return f"{self.get_kind_display()}, {where.lower()}"

    @property
    def typical(self) -> TypicalDuration:
        """As the planning service takes it."""
        return TypicalDuration(
            ProductKind(self.kind),
            RegionGroup(self.group) if self.group else None,
            self.least_months,
            self.most_months,
            Source(self.source or "The clinic's own range", str(self),
                   Confidence(self.backing)),
        )  # fmt: skip

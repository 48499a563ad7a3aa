"""
Plans: what a face is to be given, by region and side, in one session or in several.

A plan has stages, one a session; a stage has lines. The stage is taken up by the session that
treats it, and keeps its lines once that session is signed: what was planned is then compared with
what was given. Templates are the clinic's own, each named by what it treats.
"""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from clinic.products.models import Product
from planning.amounts import plain_number
from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.vocabulary import Instrument, Measure, Plane, Side, Technique
from records.patients.models import Patient
from records.plans.enums import PlanEnd

MOST_STAGES = 12
MOST_LINES = 60
_PAIRED = [region.value for region in Region if region not in MIDLINE_REGIONS]


class PlanQuerySet(models.QuerySet):
    def still_open(self):
        return self.filter(closed_at__isnull=True)


class Plan(models.Model):
    """One patient's plan. A patient has one open plan at a time: the tablet shows it."""

    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="plans")
    title = models.CharField("what it treats", max_length=120)
    note = models.TextField(
        blank=True, help_text="For the team; it is not printed for the patient."
    )
    alternatives = models.TextField(
        blank=True,
        help_text="What else was spoken of, one a line, printed for the patient. "
        "Having no treatment is always printed.",
    )
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, editable=False)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip
    end = models.CharField(max_length=12, choices=PlanEnd.choices(), blank=True, editable=False)
    end_reason = models.CharField(max_length=300, blank=True, editable=False)

    objects = PlanQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-made_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["patient"],
                condition=Q(closed_at__isnull=True),
                name="plan_one_open_per_patient",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True, closed_by__isnull=True, end="")
                | Q(closed_at__isnull=False, closed_by__isnull=False)
                & Q(end__in=[end.value for end in PlanEnd]),
                name="plan_closed_with_an_end",
            ),
            models.CheckConstraint(
                condition=~Q(end=PlanEnd.GIVEN_UP) | ~Q(end_reason=""),
                name="plan_given_up_with_reason",
                violation_error_message="Say why the plan is given up.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_open(self) -> bool:
        return self.closed_at is None


class PlanStage(models.Model):
    """
    What is to be given in one session. `weeks_after` is how long after the stage before, 0 for the
    first; `session` is the one that took it up. `units_planned` is what was to be opened when it
    was: {number of a product: units}.
    """

    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="stages")
    number = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(MOST_STAGES)]
    )
    weeks_after = models.PositiveSmallIntegerField(
        "weeks after the stage before", default=0, validators=[MaxValueValidator(260)]
    )
    # By name: the session takes up its stage, so this module knows nothing of sessions.
    session = models.OneToOneField(
        "records.TreatmentSession", on_delete=models.PROTECT, null=True, editable=False,
        related_name="plan_stage",
    )  # fmt: skip
    units_planned = models.JSONField(default=dict, editable=False)
    # A session of another purpose gave the stage back: it does not take it up again.
    given_back_by = models.ForeignKey(
        "records.TreatmentSession", on_delete=models.PROTECT, null=True, editable=False,
        related_name="+",
    )  # fmt: skip

    class Meta:
        app_label = "records"
        ordering = ["plan", "number"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "number"], name="plan_stage_number_once"),
            models.CheckConstraint(
                condition=Q(number__range=(1, MOST_STAGES)), name="plan_stage_number_in_range"
            ),
        ]

    def __str__(self) -> str:
        return f"Stage {self.number}"


class LineFields(models.Model):
    """What is planned for one region and side; `amount` is in the product's base unit."""

    region = models.CharField(max_length=40, choices=Region.choices())
    side = models.CharField(max_length=10, choices=Side.choices())
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="+")
    plane = models.CharField(max_length=20, choices=Plane.choices())
    technique = models.CharField(max_length=20, choices=Technique.choices())
    instrument = models.CharField(max_length=10, choices=Instrument.choices())
    gauge = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(14), MaxValueValidator(40)]
    )
    length_mm = models.PositiveSmallIntegerField(
        "length", null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(200)]
    )
    amount = models.PositiveBigIntegerField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        abstract = True
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="%(class)s_amount_positive"),
            models.CheckConstraint(
                condition=Q(region__in=[region.value for region in Region]),
                name="%(class)s_region_is_known",
            ),
            models.CheckConstraint(
                condition=Q(side__in=[side.value for side in Side])
                & ~Q(side=Side.MIDLINE, region__in=_PAIRED),
                name="%(class)s_side_of_its_region",
                violation_error_message="This region comes in pairs: choose left or right.",
            ),
            models.CheckConstraint(
                condition=Q(plane__in=[plane.value for plane in Plane])
                & Q(technique__in=[technique.value for technique in Technique])
                & Q(instrument__in=[instrument.value for instrument in Instrument]),
                name="%(class)s_way_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.region_label}, {self.get_side_display().lower()}"

    @property
    def measure(self) -> Measure:
        return self.product.measure

    @property
    def region_label(self) -> str:
        return Region(self.region).label

    @property
    def plain_amount(self) -> str:
        return plain_number(self.amount, self.measure)


class PlanLine(LineFields):
    """One line of a stage. Both sides of a region are two lines."""

    stage = models.ForeignKey(PlanStage, on_delete=models.PROTECT, related_name="lines")

    class Meta(LineFields.Meta):
        pass


class PlanTemplate(models.Model):
    """Lines that the clinic plans again and again, named by what they treat."""

    name = models.CharField(
        "what it treats",
        max_length=120,
        unique=True,
        error_messages={"unique": "A template of this name exists already. Name what differs."},
    )
    is_active = models.BooleanField("offered", default=True)
    saved_at = models.DateTimeField()
    saved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class TemplateLine(LineFields):
    """A line of a template; `stage` is the number of the stage it goes to."""

    template = models.ForeignKey(PlanTemplate, on_delete=models.CASCADE, related_name="lines")
    stage = models.PositiveSmallIntegerField(default=1)
    weeks_after = models.PositiveSmallIntegerField(default=0)

    class Meta(LineFields.Meta):
        pass


class PlanSummary(models.Model):
    """
    The bytes of a quote with its summary, as the patient was given it; never changed.

    `total` is in hundredths of `currency`, None where a price was missing.
    """

    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="summaries")
    number = models.PositiveSmallIntegerField()
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    total = models.PositiveBigIntegerField(null=True)
    currency = models.CharField(max_length=3)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["plan", "number"]
        constraints = [
            models.UniqueConstraint(fields=["plan", "number"], name="plan_summary_number_once")
        ]

    def __str__(self) -> str:
        return f"Summary {self.number} of plan {self.plan_id}"

"""What an injector saw, region by region, on one day."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from planning.assessment import RegionGrade, Scale
from planning.atlas.regions import MIDLINE_REGIONS, Region
from records.patients.models import Patient

_SIDES = ("left", "right", "midline")
_ORDER = {region.value: place for place, region in enumerate(Region)}


class AssessmentQuerySet(models.QuerySet):
    def with_grades(self):
        return self.select_related("made_by").prefetch_related("regions")


class Assessment(models.Model):
    """
    One assessment of one patient. It is written once and never changed: whoever sees it otherwise
    assesses again.

    `key` is made with the page, so that a page sent twice is kept once. `region_count` rows hang
    on it, and a trigger lets no other one in.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    patient = models.ForeignKey(Patient, on_delete=models.PROTECT, related_name="assessments")
    made_at = models.DateTimeField(editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, editable=False, related_name="+"
    )
    note = models.TextField(blank=True)
    region_count = models.PositiveSmallIntegerField(default=0, editable=False)

    objects = AssessmentQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["-made_at", "-id"]
        indexes = [models.Index(fields=["patient", "-made_at"], name="assessment_of_patient")]
        constraints = [
            models.CheckConstraint(
                condition=Q(region_count__gt=0) | ~Q(note=""), name="assessment_says_something"
            ),
        ]

    def __str__(self) -> str:
        return f"Assessment of {self.made_at:%Y-%m-%d}"

    @property
    def grades(self) -> tuple[RegionGrade, ...]:
        """Its regions as the computation takes them, in the order of regions."""
        rows = sorted(
            self.regions.all(), key=lambda row: (_ORDER[row.region], row.scale != "volume")
        )
        return tuple(row.grade for row in rows)


def _on_its_scale() -> Q:
    """Each grade there is lies on the scale of its row."""
    fits = Q()
    for scale in Scale:
        one = Q(scale=scale.value)
        for side in _SIDES:
            one &= Q(**{f"{side}__isnull": True}) | Q(**{f"{side}__lte": scale.most})
        fits |= one
    return fits


class GradedRegion(models.Model):
    """One region on one scale: both sides or, where it crosses the midline, the whole."""

    assessment = models.ForeignKey(Assessment, on_delete=models.PROTECT, related_name="regions")
    region = models.CharField(max_length=40, choices=Region.choices())
    scale = models.CharField(max_length=10, choices=Scale.choices())
    left = models.PositiveSmallIntegerField(null=True, blank=True)
    right = models.PositiveSmallIntegerField(null=True, blank=True)
    midline = models.PositiveSmallIntegerField("whole", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["assessment", "region", "scale"], name="graded_region_once"
            ),
            models.CheckConstraint(
                condition=Q(region__in=[region.value for region in Region]),
                name="graded_region_is_known",
            ),
            models.CheckConstraint(condition=_on_its_scale(), name="graded_on_its_scale"),
            models.CheckConstraint(
                condition=Q(midline__isnull=True)
                | Q(
                    left__isnull=True,
                    right__isnull=True,
                    region__in=sorted(region.value for region in MIDLINE_REGIONS),
                ),
                name="graded_whole_or_by_sides",
            ),
            models.CheckConstraint(
                condition=Q(left__isnull=False)
                | Q(right__isnull=False)
                | Q(midline__isnull=False)
                | ~Q(note=""),
                name="graded_or_noted",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_region_display()}, {self.get_scale_display().lower()}"

    @property
    def grade(self) -> RegionGrade:
        return RegionGrade(
            region=Region(self.region),
            scale=Scale(self.scale),
            left=self.left,
            right=self.right,
            midline=self.midline,
            note=self.note,
        )

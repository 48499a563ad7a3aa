"""Marks on photographs, and the sheets that were printed of comparisons."""

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import F, Q

from clinic.pictures.cleaning import MOST_PIXELS
from planning.landmarks import Landmark
from planning.vocabulary import Side
from records.photographs.enums import Use
from records.photographs.models import Photograph


class PhotographMark(models.Model):
    """
    Where one landmark lies on a photograph, in its pixels from the top-left corner.

    Set once and used by every comparison; it may be moved, and the trail says from where.
    """

    photograph = models.ForeignKey(Photograph, on_delete=models.PROTECT, related_name="marks")
    landmark = models.CharField(max_length=20, choices=Landmark.choices())
    x = models.PositiveIntegerField(validators=[MaxValueValidator(MOST_PIXELS)])
    y = models.PositiveIntegerField(validators=[MaxValueValidator(MOST_PIXELS)])
    placed_at = models.DateTimeField()
    placed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["photograph", "landmark"], name="photograph_mark_once_a_landmark"
            ),
            models.CheckConstraint(
                condition=Q(landmark__in=[landmark.value for landmark in Landmark]),
                name="photograph_mark_landmark_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_landmark_display()} at {self.x}, {self.y}"


class ComparisonSheet(models.Model):
    """
    The bytes of a printed comparison: never made twice, never changed.

    Of two photographs, or of one whose other side is mirrored onto the treated `side`. `digest` is
    the SHA-256 of `pdf`, and stands in the audit trail too.
    """

    first = models.ForeignKey(Photograph, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(Photograph, on_delete=models.PROTECT, null=True, related_name="+")
    side = models.CharField(max_length=10, choices=Side.choices(), blank=True)
    use = models.CharField(max_length=12, choices=Use.choices())
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(second__isnull=False, side="")
                | Q(second__isnull=True, side__in=[Side.RIGHT.value, Side.LEFT.value]),
                name="comparison_sheet_of_two_or_of_a_side",
            ),
            models.CheckConstraint(
                condition=~Q(first=F("second")), name="comparison_sheet_of_two_photographs"
            ),
            models.CheckConstraint(
                condition=Q(use__in=[use.value for use in Use]),
                name="comparison_sheet_use_is_known",
            ),
        ]

    def __str__(self) -> str:
        return f"Comparison for {self.get_use_display().lower()} ({self.made_at:%Y-%m-%d})"

    @property
    def photographs(self) -> list[Photograph]:
        """One or two."""
        return [photograph for photograph in (self.first, self.second) if photograph is not None]

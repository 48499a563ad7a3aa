"""Whether the telling worked, and the report that closes the case."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.recalls.enums import CheckResult
from records.recalls.models.cases import RecallCase
from records.recalls.models.people import CasePatient


class CaseCheck(models.Model):
    """One patient of the sample; the result is empty until somebody has asked."""

    person = models.OneToOneField(
        CasePatient, on_delete=models.PROTECT, related_name="effectiveness"
    )
    position = models.PositiveIntegerField(help_text="In the order of the draw.")
    result = models.CharField(max_length=15, choices=CheckResult.choices(), blank=True)
    note = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField(null=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        app_label = "records"
        ordering = ["position"]
        constraints = [
            models.CheckConstraint(
                condition=Q(result__in=["", *(result.value for result in CheckResult)]),
                name="recall_check_result_is_known",
            ),
            models.CheckConstraint(
                condition=Q(result="", at__isnull=True, by__isnull=True)
                | ~Q(result="") & Q(at__isnull=False, by__isnull=False),
                name="recall_check_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"Check {self.position}"


class CaseReport(models.Model):
    """The closing report as it was given out, byte by byte. Never changed."""

    case = models.OneToOneField(RecallCase, on_delete=models.PROTECT, related_name="report")
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    class Meta:
        app_label = "records"

    def __str__(self) -> str:
        return f"Report of case {self.case_id}"

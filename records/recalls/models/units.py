"""What became of each unit that was still in the house."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.stock.enums import UnitState
from clinic.stock.models import StockMovement, UnitOfStock
from records.recalls.models.cases import RecallCase


class CaseUnitQuerySet(models.QuerySet):
    def still_here(self):
        """In the stock, or opened with something left."""
        is_not_empty = Q(unit__content__gt=F("unit__drawn") + F("unit__wasted"))
        return self.filter(
            Q(unit__state=UnitState.IN_STOCK) | Q(unit__state=UnitState.OPENED) & is_not_empty
        )


class CaseUnit(models.Model):
    """
    A unit to be pulled: set apart by somebody, then returned or destroyed before a witness.

    `movement` is the row of the ledger by which it left; empty in a drill, and while it lies apart.
    """

    case = models.ForeignKey(RecallCase, on_delete=models.PROTECT, related_name="units")
    unit = models.ForeignKey(UnitOfStock, on_delete=models.PROTECT, related_name="recalls")
    pulled_at = models.DateTimeField(null=True)
    pulled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    not_found = models.CharField(
        max_length=300, blank=True, help_text="Where it was looked for, if it was not there."
    )
    movement = models.OneToOneField(
        StockMovement, on_delete=models.PROTECT, null=True, related_name="+"
    )

    objects = CaseUnitQuerySet.as_manager()

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["case", "unit"], name="recall_unit_once"),
            models.CheckConstraint(
                condition=Q(pulled_at__isnull=True, pulled_by__isnull=True)
                | Q(pulled_at__isnull=False, pulled_by__isnull=False),
                name="recall_unit_pulled_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(pulled_at__isnull=True) | Q(not_found=""),
                name="recall_unit_apart_or_not_found",
                violation_error_message="A unit is set apart or was not there, not both.",
            ),
            models.CheckConstraint(
                condition=Q(movement__isnull=True) | Q(pulled_at__isnull=False),
                name="recall_unit_leaves_from_apart",
                violation_error_message="Set the unit apart before it leaves.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.case_id}: unit {self.unit_id}"

"""What the clinic has stopped: a lot, or a product's lots or serial numbers from one to another."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from clinic.products.models import Product


class QuarantineQuerySet(models.QuerySet):
    def standing(self):
        """Those that were not lifted."""
        return self.filter(lifted_at__isnull=True)


class Quarantine(models.Model):
    """
    One act of stopping, and its lifting.

    Numbers are inclusive. Without lot numbers it reaches every lot of the product; with serial
    numbers only the units that carry one inside. What it holds is written to the lots and units
    themselves (`Lot.quarantined_at`, `UnitOfStock.quarantined_at`), where opening looks.
    """

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="quarantines")
    lot_first = models.CharField("lots from", max_length=20, blank=True)
    lot_last = models.CharField("to", max_length=20, blank=True)
    serial_first = models.CharField("serial numbers from", max_length=20, blank=True)
    serial_last = models.CharField("to", max_length=20, blank=True)
    reason = models.CharField(max_length=300)
    placed_at = models.DateTimeField()
    placed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    lifted_at = models.DateTimeField(null=True, editable=False)
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    lift_reason = models.CharField(max_length=300, blank=True)

    objects = QuarantineQuerySet.as_manager()

    class Meta:
        app_label = "clinic"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="quarantine_has_a_reason"),
            models.CheckConstraint(
                condition=Q(lot_first="", lot_last="") | ~Q(lot_first="") & ~Q(lot_last=""),
                name="quarantine_lots_whole",
                violation_error_message="Give the first and the last lot number.",
            ),
            models.CheckConstraint(
                condition=Q(serial_first="", serial_last="")
                | ~Q(serial_first="") & ~Q(serial_last=""),
                name="quarantine_serials_whole",
                violation_error_message="Give the first and the last serial number.",
            ),
            models.CheckConstraint(
                condition=Q(lifted_at__isnull=True, lifted_by__isnull=True, lift_reason="")
                | Q(lifted_at__isnull=False, lifted_by__isnull=False) & ~Q(lift_reason=""),
                name="quarantine_lifted_by_somebody",
            ),
        ]
        indexes = [
            models.Index(
                fields=["product"], condition=Q(lifted_at__isnull=True), name="quarantine_standing"
            )
        ]

    def __str__(self) -> str:
        return f"{self.product} {self.span}"

    @property
    def is_lifted(self) -> bool:
        return self.lifted_at is not None

    def stood_at(self, moment) -> bool:
        return self.placed_at <= moment and not (self.lifted_at and self.lifted_at <= moment)

    @property
    def is_by_serial(self) -> bool:
        return bool(self.serial_first)

    @property
    def span(self) -> str:
        """ "lot 7741", "lots A1 to A9, serial numbers 10 to 20" or "every lot"."""
        parts = [_span("lot", self.lot_first, self.lot_last) or "every lot"]
        if serials := _span("serial number", self.serial_first, self.serial_last):
            parts.append(serials)
        return ", ".join(parts)


def _span(noun: str, first: str, last: str) -> str:
    if first == last:
        return f"{noun} {first}" if first else ""
    return f"{noun}s {first} to {last}"

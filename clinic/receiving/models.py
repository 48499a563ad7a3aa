"""What was taken into stock in one act: a delivery, or a list of what was there before."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clinic.stock.models import unit_label


class Receipt(models.Model):
    """
    One act of receiving, by a key that whoever sends it again sends again.

    The key of a delivery is made with its form, that of a list is the digest of what it says. The
    units are those whose running numbers lie from `first_number` to `last_number`: an act takes its
    numbers in one piece.
    """

    key = models.CharField(max_length=64, unique=True)
    lines = models.PositiveIntegerField(help_text="Lots, or rows of a list.")
    first_number = models.PositiveBigIntegerField()
    last_number = models.PositiveBigIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "clinic"
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(key=""), name="receipt_has_a_key"),
            models.CheckConstraint(
                condition=Q(last_number__gte=F("first_number"), lines__gt=0),
                name="receipt_brings_something",
            ),
        ]

    def __str__(self) -> str:
        return f"Receipt {self.pk}"

    @property
    def units(self) -> int:
        return self.last_number - self.first_number + 1

    @property
    def first_label(self) -> str:
        return unit_label(self.first_number)

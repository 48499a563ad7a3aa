"""The pause before the first point, in which what matters is said aloud."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.time_out.enums import Item


class TimeOutCheck(models.Model):
    """
    One item of one time-out. Those of one time-out share `key`, made at the touch that ended it.

    An item is confirmed, or says why it is not: nobody has to confirm what is not so. `facts` is
    what stood beside it on the screen.
    """

    key = models.UUIDField(editable=False)
    session = models.ForeignKey(
        "records.TreatmentSession", on_delete=models.PROTECT, related_name="time_out_checks"
    )
    item = models.CharField(max_length=12, choices=Item.choices())
    is_confirmed = models.BooleanField("confirmed")
    note = models.CharField(max_length=300, blank=True)
    facts = models.CharField(max_length=1000, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["key", "item"], name="time_out_item_once"),
            models.CheckConstraint(
                condition=Q(item__in=[item.value for item in Item]),
                name="time_out_item_is_known",
            ),
            models.CheckConstraint(
                condition=Q(is_confirmed=True) | ~Q(note=""),
                name="time_out_says_why_not",
            ),
        ]

    def __str__(self) -> str:
        return f"Time-out: {self.get_item_display()}"

"""What is added to a signed session."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.sessions.models.points import InjectionEntry
from records.sessions.models.sittings import TreatmentSession


class Addendum(models.Model):
    """What is added to a signed session: who, when, why. Never changed."""

    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="addenda")
    point = models.ForeignKey(
        InjectionEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="addenda",
        help_text="The point it concerns, if it is about one.",
    )  # fmt: skip
    reason = models.CharField(max_length=300, help_text="Why the note needs it.")
    text = models.TextField()
    written_at = models.DateTimeField()
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        app_label = "records"
        ordering = ["id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(reason="") & ~Q(text=""), name="addendum_says_what_and_why"
            )
        ]

    def __str__(self) -> str:
        return f"Addendum {self.written_at:%Y-%m-%d %H:%M}"

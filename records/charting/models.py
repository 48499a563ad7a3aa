"""
What tablets sent, once each.

An operation is one act, its id made at the touch. The row is written in the same transaction as
what the act changed, so it is the proof that the act was stored: sent again, it changes nothing.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q

from records.charting.enums import KEPT, Kind, Outcome
from records.sessions.models import TreatmentSession


class Operation(models.Model):
    """
    An operation that was applied or given up. Rows are only added.

    `author` acted, `sent_by` was signed in when it arrived; they differ when it was handed over.
    `made_at` is the tablet's clock as it was, `skew_ms` how far the clinic's clock was ahead of it.
    Order is by `device` and `sequence`, never by a clock. `session` is empty when it never came to
    be. An act given up before it arrived has neither device nor digest.
    """

    id = models.UUIDField(primary_key=True, help_text="Made at the touch.")
    session = models.ForeignKey(
        TreatmentSession, on_delete=models.PROTECT, null=True, related_name="operations"
    )
    session_key = models.UUIDField()
    kind = models.CharField(max_length=20, choices=Kind.choices(), blank=True)
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    device = models.UUIDField(null=True)
    sequence = models.PositiveBigIntegerField(default=0)
    made_at = models.DateTimeField()
    received_at = models.DateTimeField()
    skew_ms = models.BigIntegerField(default=0)
    handed_over = models.BooleanField(default=False)
    body_digest = models.CharField(
        max_length=64, blank=True, help_text="SHA-256 of what was sent, in canonical JSON."
    )
    outcome = models.CharField(
        max_length=10,
        choices=[(word.value, word.label) for word in KEPT],
        default=Outcome.APPLIED.value,
    )

    class Meta:
        app_label = "records"
        ordering = ["received_at"]
        constraints = [
            models.CheckConstraint(
                condition=Q(outcome__in=[word.value for word in KEPT]),
                name="operation_outcome_is_kept",
            ),
        ]
        indexes = [
            models.Index(fields=["session", "received_at"], name="operation_by_session"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.id}"

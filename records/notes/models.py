"""The printed chart notes of signed sessions, kept as they were first given out."""

from django.db import models

from records.sessions.models import TreatmentSession


class ChartNote(models.Model):
    """
    The bytes of a note, by the number of addenda it holds. Never rendered twice, never changed.

    `digest` is the SHA-256 of `pdf`, and stands in the audit trail too.
    """

    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="notes")
    addenda = models.PositiveSmallIntegerField()
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(fields=["session", "addenda"], name="note_once_per_addendum")
        ]

    def __str__(self) -> str:
        return f"Note of session {self.session_id} with {self.addenda} addenda"

"""The printed chart notes of signed sessions, kept as they were first given out."""

from django.db import models

from records.sessions.models import TreatmentSession


class ChartNote(models.Model):
    """
    The bytes of a note, by the number of addenda it holds and by what came after the treatment
    (`records.notes.afterwards.edition_of`). Never rendered twice, never changed.

    `digest` is the SHA-256 of `pdf`, and stands in the audit trail too.
    """

    session = models.ForeignKey(TreatmentSession, on_delete=models.PROTECT, related_name="notes")
    addenda = models.PositiveSmallIntegerField()
    edition = models.CharField(max_length=64, blank=True)
    pdf = models.BinaryField()
    digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    class Meta:
        app_label = "records"
        constraints = [
            models.UniqueConstraint(
                fields=["session", "addenda", "edition"], name="note_once_per_edition"
            )
        ]

    def __str__(self) -> str:
        return f"Note of session {self.session_id} with {self.addenda} addenda"
